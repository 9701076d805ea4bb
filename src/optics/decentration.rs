//! Prism from lenses that are not looked through at their centre, between two eyes, and split between them.
//!
//! Places are in millimetres as the examiner sees them: x to the examiner's right, y up, the same for both eyes.
//! [`Prism::induced`] is Prentice's rule as a matrix, P = F c, with c from the pupil to the lens's optical centre: the base
//! of a plus lens points to its centre.

use super::power::Power;
use super::prism::Prism;
use super::quantity::Millimetres;

/// The prism that a lens gives where it is looked through at (`x`, `y`) from its optical centre: the centre then stands at
/// (−x, −y) from the pupil. Below the centre of a plus lens the base is up.
pub fn looked_through_at(lens: Power, x: Millimetres, y: Millimetres) -> Prism {
    Prism::induced(lens, Millimetres(-x.0), Millimetres(-y.0))
}

/// What the prism before one eye does against the prism before the other: both written as the examiner sees them, the
/// same direction before both moves what both see alike, and what is left over must be made up by the eyes.
///
/// Bases in add up, since they point opposite ways; a base up is taken off by a base up before the other eye.
pub fn between_eyes(before: Prism, before_other: Prism) -> Prism {
    before - before_other
}

/// A prism before one eye split in halves between both: in and out stay what they are before the other eye, up becomes down,
/// so that [`between_eyes`] of the two halves is the whole. This eye's half first.
pub fn split_in_halves(prism: Prism) -> [Prism; 2] {
    let half = Prism { x: prism.x / 2.0, y: prism.y / 2.0 };
    [half, -half]
}
