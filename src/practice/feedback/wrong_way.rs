//! A power of the other sign, an axis across or mirrored: what is written against what is needed.

use serde::Serialize;

use crate::practice::off::{AXIS_FROM_D, Off, between_axes_deg};

/// How an axis is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Axis {
    /// At right angles to where it belongs.
    Across,
    /// On the other side of the vertical: 150 for 30.
    Mirrored,
}

/// An equivalent from here on has a sign to speak of, in dioptres.
const SIGN_FROM_D: f64 = 0.50;
/// From here on an axis is rather across than turned, in degrees.
const ACROSS_FROM_DEG: f64 = 65.0;
/// A mirrored axis lies within this of the mirror image, and at least so far from where it belongs, in degrees.
const MIRRORED_WITHIN_DEG: f64 = 8.0;
const MIRRORED_FROM_DEG: f64 = 20.0;

/// Whether an equivalent of the other sign is written.
pub(super) fn wrong_sign(off: &Off) -> bool {
    let (needed, written) = (off.needs.m, off.written.power().m);
    needed.abs() >= SIGN_FROM_D && written.abs() >= SIGN_FROM_D && needed.signum() != written.signum()
}

/// Whether the axis of a cylinder that matters is across or mirrored.
pub(super) fn wrong_axis(off: &Off) -> Option<Axis> {
    let by_deg = off.axis_deg().filter(|_| off.written.cylinder.abs() >= AXIS_FROM_D)?;
    let mirror = 180.0 - off.needs.minus_form().axis;
    if by_deg >= ACROSS_FROM_DEG {
        return Some(Axis::Across);
    }
    let is_mirrored = between_axes_deg(off.written.axis, mirror).abs() <= MIRRORED_WITHIN_DEG;
    (by_deg >= MIRRORED_FROM_DEG && is_mirrored).then_some(Axis::Mirrored)
}
