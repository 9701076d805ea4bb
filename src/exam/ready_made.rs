//! Ready-made pairs as an exam knows them: which pair was given, and by which limits it was held.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::kit::shelf::ShelfPair;

/// What two eyes may have for the same sphere before both to serve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReadyMadeLimits {
    /// Cylinder to 0.75, equivalents to 0.50 apart.
    #[default]
    Common,
    /// Cylinder to 1.25, equivalents to 1.50 apart.
    Wider,
}

impl ReadyMadeLimits {
    /// Both, the common ones first.
    pub const ALL: [Self; 2] = [Self::Common, Self::Wider];

    /// Where both come from: under the common ones 62.8 to 64.0 % of people could wear a ready-made pair, under the wider about
    /// 87 %.
    pub const SOURCE: &str = "PMC6678143";

    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Common => "common",
            Self::Wider => "wider",
        }
    }

    /// The most cylinder of an eye, in dioptres, without its sign ([`ReadyMadeLimits::SOURCE`]).
    pub const fn cylinder_d(self) -> f64 {
        match self {
            Self::Common => 0.75,
            Self::Wider => 1.25,
        }
    }

    /// How far the spherical equivalents of both eyes may be apart, in dioptres ([`ReadyMadeLimits::SOURCE`]).
    pub const fn apart_d(self) -> f64 {
        match self {
            Self::Common => 0.50,
            Self::Wider => 1.50,
        }
    }
}

/// In words: `cylinder to 0.75, equivalents to 0.50 apart`.
impl fmt::Display for ReadyMadeLimits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "cylinder to {:.2}, equivalents to {:.2} apart", self.cylinder_d(), self.apart_d())
    }
}

/// What is known of a pair that was given off a shelf, beside its sphere and its use.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GivenPair {
    /// What the shelf is called.
    pub shelf: String,
    /// How far the centres of its lenses stand apart, in millimetres.
    pub centres_mm: f64,
    /// By which limits the eyes were held against it.
    pub limits: ReadyMadeLimits,
    /// Whether nothing spoke against it.
    pub meets: bool,
}

/// A pair off a shelf, as the logbook counts it.
#[derive(Debug, Clone, PartialEq)]
pub struct OffTheShelf {
    /// What the shelf is called.
    pub shelf: String,
    /// The kind of pair.
    pub pair: ShelfPair,
}
