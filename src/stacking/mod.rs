//! Which lenses to stack for a wanted power, from those that are free.
//!
//! The search is exact under the full step-along model: within the lenses, cells and whole-degree axes that are allowed,
//! nothing better is left out. Cylinders share one axis where that reaches the wanted power; they are crossed only when
//! nothing simpler reaches it. On a frame with many cells that turn separately, crossings at more axes than can be
//! looked through in a second are left out; two axes on a frame with two such cells never are.
//!
//! - `catalogue`: the free pieces by power;
//! - `space`: cells, distances and the wanted power, as numbers;
//! - `coaxial`: stacks whose cylinders share one axis;
//! - `crossed`: stacks whose cylinders stand at different axes;
//! - `ranking`: what comes first;
//! - `options`: what a search may use; `search`: the order in which these are asked;
//! - `pairs`: both eyes from one box;
//! - `propose`: which pieces a stack is made of; [`proposal`]: what is handed out; [`moves`]: the movements of the hand, in a safe order; [`reason`]: why; `sureness`: what a hand may spoil.

mod catalogue;
mod coaxial;
mod crossed;
pub mod moves;
mod options;
mod pairs;
pub mod proposal;
mod propose;
mod ranking;
pub mod reason;
mod search;
mod space;
mod sureness;

pub use options::{REACHES_WITHIN_D, SearchOptions, USUAL_MOST_LENSES};
pub use proposal::{PlacedLens, Proposal};
pub use propose::{propose, propose_both};
pub use search::Stacker;
