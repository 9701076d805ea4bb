//! From the reversals of two meridians to a power.
//!
//! The *swept* meridian is the one in which the light moves and in which the neutralising power acts; the streak lies
//! across it.

use thiserror::Error;

use super::power::Power;
use super::quantity::{Axis, Dioptres};

/// A reversal: the swept meridian and the power that brought it about, working distance included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reversal {
    /// The swept meridian.
    pub meridian: Axis,
    /// The gross power that acts in it.
    pub gross: Dioptres,
}

/// Two meridians that are not at right angles: two sphero-cylinders and more would fit them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("meridians {0} and {1} are not at right angles: with {0} goes {across}", across = .0.perpendicular())]
pub struct NotPerpendicular(Axis, Axis);

/// The gross power of two reversals in perpendicular meridians, working distance still in it.
///
/// # Errors
/// [`NotPerpendicular`] when the meridians are not at right angles.
pub fn gross_power(first: Reversal, second: Reversal) -> Result<Power, NotPerpendicular> {
    if first.meridian.perpendicular() != second.meridian {
        return Err(NotPerpendicular(first.meridian, second.meridian));
    }
    Ok(Power::principal(f64::from(first.meridian.degrees()), first.gross, second.gross))
}

/// The working lens for a distance in metres: what neutralises an eye with no error from there, 1/d (2/3 m: +1.50 D).
pub fn working_lens(distance_m: f64) -> Dioptres {
    Dioptres(1.0 / distance_m)
}

/// The eye's power from the gross one: less the working lens, sphere only.
pub fn less_working_lens(gross: Power, distance_m: f64) -> Power {
    gross - Power::sphere(working_lens(distance_m))
}
