//! Where the stacks go that are found.

use super::holdings::TypeId;
use crate::stacking::{REACHES_WITHIN_D, USUAL_MOST_LENSES};

/// The most lenses of a stack here, as many as stacking proposes by default.
pub const MOST_LENSES: usize = USUAL_MOST_LENSES;

/// Slack for sums of powers that reach: as stacking has it.
const SLACK_D: f64 = 1e-9;
/// Twice the square of the miss that reaches.
pub(super) const REACHES: f64 = 2.0 * (REACHES_WITHIN_D + SLACK_D) * (REACHES_WITHIN_D + SLACK_D);

/// Takes the stacks that are found.
pub(super) trait Sink {
    /// Up to which doubled squared miss, in square dioptres, stacks of a prescription are wanted; negative when none are.
    fn wants(&self, number: usize) -> f64;
    /// Takes a stack for a prescription, with the doubled square of its miss; there are pieces enough for it.
    fn offer(&mut self, number: usize, doubled_square: f64, types: &[TypeId]);
    /// All stacks of that many lenses were offered.
    fn end_of(&mut self, lenses: usize);
}
