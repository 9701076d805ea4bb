//! Keeping a box: what its lenses are really worth, and what they make.
//!
//! - [`held_together`]: which lenses are off their mark, by holding them together in pairs;
//! - [`unknown_lens`]: what a lens without a mark is, by the lenses that neutralise it.

pub mod held_together;
pub mod unknown_lens;
