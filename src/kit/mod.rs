//! The box of trial lenses: what was declared, and what became of every piece.
//!
//! - [`lens`]: what a lens is and how it is marked;
//! - [`declared`]: a box as its file declares it;
//! - [`mark`]: the power marked on a lens;
//! - [`document`]: YAML with the place of every word, for box and frame files;
//! - [`series`] and [`mod@file`]: the door through which a box file comes in;
//! - [`schema`]: what a box file looks like, for editors;
//! - [`shipped`]: the boxes that come with the program;
//! - [`stock`]: every physical piece, in one place at a time.

pub mod declared;
pub mod document;
pub mod file;
pub mod lens;
pub mod mark;
pub mod schema;
pub mod series;
pub mod shipped;
pub mod stock;

pub use declared::{DeclaredBox, LensForm, LensLine, Measured, Rims};
pub use file::{parse_box, read_box};
pub use lens::{Lens, Piece};
pub use mark::Mark;
pub use stock::{BoxChange, Place, Stock, StockError, StockedPiece};
