//! The lists that a keeper prints, fills in and signs, each as one table ([`Table`](crate::export::table::Table)).
//!
//! - [`OfBox`]: the box that they are of; what they have in common stands beside it;
//! - [`SheetKind`]: which there are, with their names;
//! - [`order`]: what to buy; [`pick`]: what to take out; [`check_in`]: what has to come back; [`loans`]: who has what;
//! - [`labels`]: what stands on the rows of the tray; [`stock_take`]: a count on paper;
//! - [`day`]: a day on one page; [`glasses`]: the glasses to order;
//! - [`verification`]: what was measured, and what to measure; [`keeper`]: one page for the next keeper.

mod check_in;
pub mod day;
pub mod glasses;
mod keeper;
mod kind;
mod labels;
mod loans;
mod of_box;
mod order;
mod pick;
mod stock_take;
mod verification;

pub use check_in::check_in;
pub use keeper::{Handover, keeper};
pub use kind::SheetKind;
pub use labels::labels;
pub use loans::loans;
pub use of_box::OfBox;
pub use order::{Further, order, with_what_was_lost};
pub use pick::pick;
pub use stock_take::{KNOWN, ROW, stock_take};
pub use verification::{Limits, verification};
