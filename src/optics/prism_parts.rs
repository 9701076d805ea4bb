//! A prism in its horizontal and its vertical part, as glasses are ordered and as people say it.

use std::fmt;

use serde::Serialize;

use super::prism::{Base, Prism};
use super::quantity::Eye;

/// One part of a prism, along the horizontal or the vertical.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PrismPart {
    /// Prism dioptres, above zero.
    pub amount: f64,
    /// Up, down, in or out.
    pub base: Base,
}

impl PrismPart {
    /// The parts of a prism before an eye of at least `least` prism dioptres, horizontal first.
    pub fn of(prism: Prism, eye: Eye, least: f64) -> Vec<Self> {
        let inward = prism.base_in(eye);
        let horizontal = Self { amount: inward.abs(), base: if inward > 0.0 { Base::In } else { Base::Out } };
        let vertical = Self { amount: prism.y.abs(), base: if prism.y > 0.0 { Base::Up } else { Base::Down } };
        [horizontal, vertical].into_iter().filter(|part| part.amount >= least).collect()
    }

    /// Whether it lies along the horizontal: its base is in or out.
    pub fn is_horizontal(&self) -> bool {
        match self.base {
            Base::In | Base::Out => true,
            Base::Up | Base::Down | Base::Degrees(_) => false,
        }
    }
}

/// The direction in a word, an angle in degrees: `in`, `36°`.
impl fmt::Display for Base {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Up => f.write_str("up"),
            Self::Down => f.write_str("down"),
            Self::In => f.write_str("in"),
            Self::Out => f.write_str("out"),
            Self::Degrees(degrees) => write!(f, "{degrees}°"),
        }
    }
}
