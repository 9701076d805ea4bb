//! From the reversals of two meridians to a power.
//!
//! The *swept* meridian is the one in which the light moves and in which the neutralising power acts; the streak lies
//! across it. Two reversals at right angles are an optical cross ([`super::cross`]), working distance still in it.

use super::power::Power;
use super::quantity::Dioptres;

/// The working lens for a distance in metres: what neutralises an eye with no error from there, 1/d (2/3 m: +1.50 D).
pub fn working_lens(distance_m: f64) -> Dioptres {
    Dioptres(1.0 / distance_m)
}

/// The eye's power from the gross one: less the working lens, sphere only.
pub fn less_working_lens(gross: Power, distance_m: f64) -> Power {
    gross - Power::sphere(working_lens(distance_m))
}
