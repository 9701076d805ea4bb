//! Which lenses to stack for a wanted power, from those that are free.
//!
//! What a stack costs is counted in lenses ([`cost`]), and the cheapest that reaches the wanted power comes first. The search
//! is exact under the full step-along model: within the lenses, cells and whole-degree axes that are allowed, nothing cheaper
//! is left out. It goes through the ways to use the cells from the cheapest on, until no further one can cost less than what
//! is found; within each, all lenses but one are tried, and the last is looked up. A search that would take too long stops,
//! and says what it cannot rule out ([`Found::bound`]).
//!
//! - [`cost`]: what a stack costs, by its parts;
//! - `rising`, `catalogue`: the free pieces by power; `slots`: a stack as it is built;
//! - `space`: cells, distances and the wanted power, as numbers; `work`: how much may be looked at;
//! - `arc`: ranges of vergence that know of foci; `span`: what lenses make that are not turned yet; `meridians`: what is needed of them;
//! - `patterns`: the ways to use the cells;
//! - `coaxial`: stacks whose cylinders share one axis (`common_axis`); `halves`: the same, of many lenses from a box with many;
//! - `choosing`: lenses chosen before any cylinder is turned;
//! - `crossed`: stacks whose cylinders stand at different axes; `many_axes`: at more than two;
//! - `ranking`: what comes first;
//! - `options`: what a search may use; `search`: the order in which these are asked;
//! - `pairs`: both eyes from one box;
//! - [`loose_halving`]: what a lens is, by what is held against it;
//! - `propose`: which pieces a stack is made of; [`proposal`]: what is handed out; [`moves`]: the movements of the hand, in a safe order; [`reason`]: why; `sureness`: what a hand may spoil.

mod arc;
mod catalogue;
mod choosing;
mod coaxial;
mod common_axis;
pub mod cost;
mod crossed;
mod halves;
pub mod loose_halving;
mod many_axes;
mod meridians;
pub mod moves;
mod options;
mod pairs;
mod patterns;
pub mod proposal;
mod propose;
mod ranking;
pub mod reason;
mod rising;
mod search;
mod slots;
mod space;
mod span;
mod spent;
mod sureness;
mod work;

pub use cost::Cost;
pub use options::{REACHES_WITHIN_D, SearchOptions, USUAL_MOST_LENSES};
pub use proposal::{Arrangement, Found, PlacedLens, Proposal};
pub use propose::{propose, propose_both};
pub use search::Stacker;
pub use work::MOST_STEPS;
