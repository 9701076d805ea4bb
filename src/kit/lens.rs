//! A lens as the box knows it: its kind, its mark and its number among its equals.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use thiserror::Error;

use crate::optics::bounds;
use crate::optics::notation::eighth_of_mark;

/// The accessories that a box may declare by their plain name; `kind: accessory` with a `name` declares any other.
pub const ACCESSORIES: [&str; 9] =
    ["occluder", "pinhole", "slit", "maddox rod", "red", "green", "cross lines", "frosted", "flipper"];

/// The power that is marked on a lens, in thousandths of a dioptre (of a prism dioptre for a prism).
///
/// Marks show two places but are cut to eighths: 0.12, 0.37, 0.62 and 0.87 stand for 0.125, 0.375, 0.625 and 0.875.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Mark(i32);

impl Mark {
    /// The mark nearest to a power in dioptres, with the two-place marks of eighths taken for eighths.
    pub fn nearest(dioptres: f64) -> Self {
        Self((eighth_of_mark(dioptres) * 1000.0).round() as i32)
    }

    /// The true power in dioptres (prism dioptres for a prism).
    pub fn dioptres(self) -> f64 {
        f64::from(self.0) / 1000.0
    }

    /// The mark without its sign, as a prism or a cross cylinder carries it.
    pub fn unsigned(self) -> String {
        // eighths are cut, not rounded, to two places: 0.125 is marked 0.12
        let hundredths = self.0.abs() / 10;
        format!("{}.{:02}", hundredths / 100, hundredths % 100)
    }

    /// Whether this is the mark of no power.
    pub fn is_plano(self) -> bool {
        self.0 == 0
    }
}

impl fmt::Display for Mark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_plano() {
            return f.pad("plano");
        }
        let sign = if self.0 < 0 { '-' } else { '+' };
        f.pad(&format!("{sign}{}", self.unsigned()))
    }
}

/// A kind of lens with its mark: what a place in the box is labelled with.
///
/// Written and read as `+3.25 sphere`, `-0.75 cylinder`, `3 prism`, `0.25 cross cylinder`, `occluder`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Lens {
    /// A sphere; a mark of zero is a plano lens.
    Sphere(Mark),
    /// A plano-cylinder, turned to any axis.
    Cylinder(Mark),
    /// A prism, its base turned to any direction.
    Prism(Mark),
    /// A cross cylinder: plus and minus of this power at right angles, held by its handle.
    CrossCylinder(Mark),
    /// An occluder, a pinhole, a slit or another piece without power.
    Accessory(Arc<str>),
}

/// A lens label that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "`{text}` names no lens: write it like `+3.25 sphere`, `-0.75 cylinder`, `3 prism`, `0.25 cross cylinder` or `occluder`"
)]
pub struct LensLabelError {
    text: String,
}

impl Lens {
    /// The word for the kind, as a box file writes it.
    pub fn kind(&self) -> &str {
        match self {
            Self::Sphere(_) => "sphere",
            Self::Cylinder(_) => "cylinder",
            Self::Prism(_) => "prism",
            Self::CrossCylinder(_) => "cross cylinder",
            Self::Accessory(name) => name,
        }
    }

    /// The mark, for the kinds that have one.
    pub fn mark(&self) -> Option<Mark> {
        match self {
            Self::Sphere(mark) | Self::Cylinder(mark) | Self::Prism(mark) | Self::CrossCylinder(mark) => Some(*mark),
            Self::Accessory(_) => None,
        }
    }

    /// Whether this accessory covers the eye, so that no power can be told.
    pub fn occludes(&self) -> bool {
        matches!(self, Self::Accessory(name) if &**name == "occluder")
    }

    /// Whether the lens only works in a cell that turns, where its axis can be set and read.
    pub fn needs_turning_cell(&self) -> bool {
        matches!(self, Self::Cylinder(_) | Self::CrossCylinder(_))
    }

    /// Whether the lens has a direction that a turning cell sets: an axis, a base or a slit.
    pub fn has_direction(&self) -> bool {
        match self {
            Self::Cylinder(_) | Self::Prism(_) | Self::CrossCylinder(_) => true,
            Self::Accessory(name) => matches!(&**name, "slit" | "maddox rod"),
            Self::Sphere(_) => false,
        }
    }
}

impl fmt::Display for Lens {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = match self {
            Self::Sphere(mark) | Self::Cylinder(mark) => format!("{mark} {}", self.kind()),
            Self::Prism(mark) => format!("{} prism", mark.dioptres()),
            Self::CrossCylinder(mark) => format!("{} cross cylinder", mark.unsigned()),
            Self::Accessory(name) => name.to_string(),
        };
        f.pad(&text)
    }
}

impl FromStr for Lens {
    type Err = LensLabelError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let refused = || LensLabelError { text: text.to_owned() };
        let text = text.trim();
        let Some((power, kind)) = text.split_once(char::is_whitespace) else {
            return if text.is_empty() || text.starts_with(|c: char| !c.is_alphabetic()) {
                Err(refused())
            } else {
                Ok(Self::Accessory(text.into()))
            };
        };
        let kind = kind.trim();
        let Some(mark) = parse_mark(power) else {
            return if power.starts_with(char::is_alphabetic) && power != "plano" {
                Ok(Self::Accessory(text.into()))
            } else {
                Err(refused())
            };
        };
        match kind {
            "sphere" => Ok(Self::Sphere(mark)),
            "cylinder" => Ok(Self::Cylinder(mark)),
            "prism" => Ok(Self::Prism(mark)),
            "cross cylinder" => Ok(Self::CrossCylinder(mark)),
            _ => Err(refused()),
        }
    }
}

fn parse_mark(text: &str) -> Option<Mark> {
    if text == "plano" {
        return Some(Mark::default());
    }
    let plain = text.replace('\u{2212}', "-");
    let value: f64 = plain.parse().ok()?;
    bounds::POWER.contains(value).then(|| Mark::nearest(value))
}

/// One physical lens: a lens and its number among those that are marked alike, counted from 1.
///
/// Written and read as `-6.00 sphere #1`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Piece {
    /// What it is.
    pub lens: Lens,
    /// Which of its equals, from 1.
    pub number: u8,
}

impl fmt::Display for Piece {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} #{}", self.lens, self.number)
    }
}

impl FromStr for Piece {
    type Err = LensLabelError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let refused = || LensLabelError { text: text.to_owned() };
        let (lens, number) = text.rsplit_once('#').ok_or_else(refused)?;
        let number = number.trim().parse().map_err(|_| refused())?;
        Ok(Self { lens: lens.trim().parse()?, number })
    }
}

macro_rules! serde_as_text {
    ($($name:ty),*) => {$(
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }
        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
            }
        }
    )*};
}
serde_as_text!(Lens, Piece);
