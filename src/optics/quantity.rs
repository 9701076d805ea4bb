//! One type per quantity, so that a millimetre is never taken for a dioptre or a right eye for a left one.

use std::fmt;

use serde::{Deserialize, Serialize};

/// Power or vergence in dioptres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Dioptres(pub f64);

/// Distance in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Millimetres(pub f64);

impl Millimetres {
    /// The same distance in metres, as the formulas want it.
    pub fn metres(self) -> f64 {
        self.0 / 1000.0
    }
}

/// Amount of a prism in prism dioptres: centimetres of deviation at one metre.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct PrismDioptres(pub f64);

/// A whole-degree axis, 1 to 180, as a turning cell is set.
///
/// 0 and every other angle fold onto it: 0 is 180, 190 is 10.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Axis(u8);

impl Axis {
    /// The horizontal axis, also the one written for no cylinder.
    pub const HORIZONTAL: Self = Self(180);

    /// Folds any whole number of degrees onto 1 to 180.
    pub fn folded(degrees: i32) -> Self {
        let folded = degrees.rem_euclid(180);
        if folded == 0 { Self::HORIZONTAL } else { Self(folded as u8) }
    }

    /// The nearest whole degree to any finite angle.
    pub fn nearest(degrees: f64) -> Self {
        Self::folded(degrees.rem_euclid(180.0).round() as i32)
    }

    /// The axis in degrees, 1 to 180.
    pub fn degrees(self) -> u8 {
        self.0
    }

    /// The axis turned anticlockwise by a number of degrees, as the examiner sees it.
    #[must_use]
    pub fn turned(self, degrees: i32) -> Self {
        Self::folded(i32::from(self.0) + degrees)
    }

    /// The meridian at right angles.
    #[must_use]
    pub fn perpendicular(self) -> Self {
        self.turned(90)
    }
}

impl Default for Axis {
    fn default() -> Self {
        Self::HORIZONTAL
    }
}

impl fmt::Display for Axis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// Which eye of the patient. The right eye stands on the left of the screen, as the examiner sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Eye {
    /// The patient's right eye.
    Right,
    /// The patient's left eye.
    Left,
}

impl Eye {
    /// Right first, the order of every table.
    pub const BOTH: [Self; 2] = [Self::Right, Self::Left];

    /// The fellow eye.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Right => Self::Left,
            Self::Left => Self::Right,
        }
    }
}

impl fmt::Display for Eye {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Right => "right",
            Self::Left => "left",
        })
    }
}
