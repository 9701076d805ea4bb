//! Keeping a box: what it makes, what to buy for it, what to pack of it; which of its lenses are off their mark.
//!
//! A prescription is *made* when a stack of at most [`MOST_LENSES`] lenses of the box reaches it, as stacking counts reaching:
//! within [`REACHES_WITHIN_D`](crate::stacking::REACHES_WITHIN_D) of it, stepped along through the distances between the cells.
//! Thousands of prescriptions are asked for at once, so nothing here calls the search for stacks; the powers themselves are
//! looked up. Which prescription can be made does not depend on its axis; it is taken to be 180.
//!
//! - [`Holdings`]: the lenses that may be stacked, by their power; [`Cells`]: where they may stand;
//! - [`Wanted`]: prescriptions, and the grid of them; [`People`]: how common each is;
//! - [`for_the_hand`]: what the hand needs in an exam, kept back on request;
//! - `passage`, `rising`: vergence through spheres, and values found by what is needed;
//! - `one_axis`: stacks whose cylinders share an axis; `crossed`: two cylinders at different axes; `search`: by number of lenses;
//! - `sink`: what is asked of the stacks that are found; `fewest`: the fewest lenses;
//! - `needs`: what each prescription needs of a set of lenses; `choosing`: the best choice of them; `bound`: a proven bound on it;
//! - [`pack`], [`losses`], [`advise`]: the best bag, what a lost lens costs, what to buy; [`declared_bag`]: a bag as a box of its own;
//! - [`read_price_list`]: what can be bought, and for how much;
//! - [`held_together`]: which lenses are off their mark, by holding them together in pairs; [`unknown_lens`]: what a lens
//!   without a mark is, by the lenses that neutralise it;
//! - [`Coverage`]: what a box makes, and the shares of people; [`CoverageMap`]: the same as rows of figures.

mod advice;
mod bag_box;
mod bound;
mod cells;
mod choosing;
mod coverage;
mod crossed;
mod fewest;
pub mod held_together;
mod holdings;
mod map;
mod needs;
mod one_axis;
mod packing;
mod passage;
mod people;
mod price_list;
mod reserve;
mod rising;
mod search;
mod sink;
pub mod unknown_lens;
mod wanted;

pub use advice::{Advice, Means, NOTICED, Offer, Purchase, advise, offers_of};
pub use bag_box::{declared_bag, marks_in_the_bag, pieces_for};
pub use cells::Cells;
pub use coverage::{Asked, Coverage, Made, Shares, made, percent};
pub use holdings::{Holding, Holdings, TypeId};
pub use map::{CoverageMap, MapEyes, MapFigure, Zoom};
pub use needs::MOST_LENSES_WEIGHED;
pub use packing::{Bag, BagFor, Loss, SoFar, losses, pack, pack_for_share, shares};
pub use people::{People, PeopleFault};
pub use price_list::{PriceFaults, read_price_list};
pub use reserve::{Needed, for_the_hand};
pub use sink::MOST_LENSES;
pub use wanted::Wanted;
