//! The box of trial lenses: what was declared, and what became of every piece.
//!
//! - [`lens`]: what a lens is and how it is marked;
//! - [`declared`]: a box as its file declares it;
//! - [`stock`]: every physical piece, in one place at a time.

pub mod declared;
pub mod lens;
pub mod stock;

pub use declared::{DeclaredBox, LensForm, LensLine, Measured, Rims};
pub use lens::{Lens, Mark, Piece};
pub use stock::{BoxChange, Place, Stock, StockError, StockedPiece};
