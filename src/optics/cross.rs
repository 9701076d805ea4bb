//! The optical cross: the powers along two meridians at right angles, and the prescription that they make.

use thiserror::Error;

use super::power::{Power, fold_axis};
use super::quantity::{Axis, Dioptres};

/// One arm of an optical cross: a meridian and the power that acts in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeridianPower {
    /// The meridian in which the power acts (not the axis of a cylinder, which lies across it).
    pub meridian: Axis,
    /// The power along it.
    pub power: Dioptres,
}

/// Two meridians that are not at right angles: two sphero-cylinders and more would fit them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("meridians {0} and {1} are not at right angles: with {0} goes {across}", across = .0.perpendicular())]
pub struct NotPerpendicular(Axis, Axis);

/// The power that has these two powers along their meridians: the sphere is the power along one, the cylinder what the other
/// has more, its axis along the first.
///
/// # Errors
/// [`NotPerpendicular`] when the meridians are not at right angles.
pub fn power_of(first: MeridianPower, second: MeridianPower) -> Result<Power, NotPerpendicular> {
    if first.meridian.perpendicular() != second.meridian {
        return Err(NotPerpendicular(first.meridian, second.meridian));
    }
    Ok(Power::principal(f64::from(first.meridian.degrees()), first.power, second.power))
}

/// The optical cross of a power: its meridian of most plus, where the sphere of the minus-cylinder form acts alone, and the
/// one across, as degrees above 0 and up to 180 with dioptres. A sphere is drawn along 180 and 90.
pub fn of_power(power: Power) -> [(f64, Dioptres); 2] {
    let form = power.minus_form();
    [(form.axis, Dioptres(form.sphere)), (fold_axis(form.axis + 90.0), Dioptres(form.sphere + form.cylinder))]
}
