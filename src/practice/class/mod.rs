//! A class: one short code for the same eyes on every machine, and what students hand in.
//!
//! - [`symbols`]: the alphabet of a code and its groups; [`check`]: the symbols that find a mistyped one;
//! - [`fingerprint`]: short hashes of a box, a frame and what is built in; [`code`]: what a code holds;
//! - [`seal`], [`hand_in`]: what a student hands in; [`marks`]: what it came to.

pub mod check;
pub mod code;
pub mod fingerprint;
pub mod hand_in;
pub mod marks;
pub mod seal;
pub mod symbols;

pub use code::{ClassCode, CodeError, Misfit};
pub use hand_in::HandIn;
