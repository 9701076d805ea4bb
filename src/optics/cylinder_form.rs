//! Which sign written cylinders have. One power has two forms, and on one screen or record only one of them is used.

use serde::{Deserialize, Serialize};

use super::power::{Power, SpheroCylinder};

/// How cylinders are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum CylinderForm {
    /// With minus cylinders.
    #[default]
    Minus,
    /// With plus cylinders.
    Plus,
}

impl CylinderForm {
    /// A power written in this form.
    pub fn of(self, power: Power) -> SpheroCylinder {
        match self {
            Self::Minus => power.minus_form(),
            Self::Plus => power.plus_form(),
        }
    }

    /// A prescription that somebody wrote in either form, written in this one; the same glasses either way.
    pub fn write(self, written: SpheroCylinder) -> SpheroCylinder {
        if self.has_sign_of(written.cylinder) { written } else { written.transposed() }
    }

    /// Whether a cylinder of this power, in dioptres, has the sign of this form; none has either.
    pub fn has_sign_of(self, cylinder: f64) -> bool {
        match self {
            Self::Minus => cylinder <= 0.0,
            Self::Plus => cylinder >= 0.0,
        }
    }

    /// The form with the cylinder of the other sign.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Minus => Self::Plus,
            Self::Plus => Self::Minus,
        }
    }
}
