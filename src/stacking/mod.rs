//! Which lenses to stack for a wanted power, from those that are free.
//!
//! The search is exact under the full step-along model: within the lenses, cells and whole-degree axes that are allowed,
//! nothing better is left out. Cylinders share one axis where that reaches the wanted power; they are crossed only when
//! nothing simpler reaches it. On a frame with many cells that turn separately, crossings at so many axes that the choices
//! would be beyond counting in a second are left out; two axes on a frame with two such cells never are.
//!
//! - `catalogue`: the free pieces by power;
//! - `space`: cells, distances and the wanted power, as numbers;
//! - `coaxial`: stacks whose cylinders share one axis;
//! - `crossed`: stacks whose cylinders stand at different axes;
//! - `ranking`: what comes first;
//! - `search`: the order in which these are asked;
//! - `pairs`: both eyes from one box;
//! - [`proposal`]: what is handed out; [`moves`]: the movements of the hand, in a safe order; [`reason`]: why.

mod catalogue;
mod coaxial;
mod crossed;
pub mod moves;
mod pairs;
pub mod proposal;
mod ranking;
pub mod reason;
mod search;
mod space;

pub use pairs::Pair;
pub use proposal::{PlacedLens, Proposal};
pub use search::Stacker;

use crate::frame::FittedFrame;
use crate::optics::{Eye, Eyes, Power};

/// A stack reaches the wanted power when it misses by at most this, in dioptres: half an eighth, rounded down.
pub const REACHES_WITHIN_D: f64 = 0.06;

/// The most lenses that are stacked unasked from a box of any size; a box with few lenses is searched for more.
pub const USUAL_MOST_LENSES: usize = 4;

/// What a search may use and how much it hands out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// The most lenses before one eye; when not said, as many as the frame has cells, but at most [`USUAL_MOST_LENSES`] from a
    /// box with many.
    pub max_lenses: Option<usize>,
    /// The most proposals.
    pub limit: usize,
    /// The greatest miss, in dioptres, that still counts as reached.
    pub within_d: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self { max_lenses: None, limit: 5, within_d: REACHES_WITHIN_D }
    }
}

/// Proposals for one eye, best first. Lenses before the other eye or in the hand stay there.
pub fn propose(fitted: &FittedFrame, eye: Eye, wanted: Power, options: &Options) -> Vec<Proposal> {
    Stacker::for_eye(fitted, eye).propose(eye, wanted, options)
}

/// Proposals for both eyes, right first, best pair first; no piece is used twice.
pub fn propose_both(fitted: &FittedFrame, wanted: Eyes<Power>, options: &Options) -> Vec<Pair> {
    Stacker::for_both_eyes(fitted).propose_both(wanted, options)
}
