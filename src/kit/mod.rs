//! The box of trial lenses: what was declared, and what became of every piece.
//!
//! - [`lens`]: what a lens is and how it is marked; [`accessory`]: what has no power;
//! - [`declared`]: a box as its file declares it;
//! - [`mark`]: the power marked on a lens; [`direction`]: how it is turned;
//! - [`document`]: YAML with the place of every word, for box and frame files;
//! - [`series`] and [`mod@file`]: how a box file is read;
//! - [`schema`]: what a box file looks like, for editors;
//! - [`shipped`]: the boxes that come with the program;
//! - [`pieces`]: every physical piece, in one place at a time; [`change`]: what can happen to it; [`stock`]: what becomes of it;
//! - [`loose`]: what can be held in a hand; [`not_free`]: why a lens cannot be taken; [`motion`]: how a line moves behind lenses;
//! - [`tray`]: the rows in which they lie; [`stock_take`]: counting them;
//! - [`shelf`]: glasses that are made beforehand.

pub mod accessory;
pub mod bag;
pub mod change;
pub mod declared;
pub mod direction;
pub mod document;
pub mod file;
pub mod lens;
pub mod loose;
pub mod mark;
pub mod motion;
pub mod not_free;
pub mod own_marks;
pub mod pieces;
pub mod schema;
pub mod series;
pub mod shelf;
pub mod shipped;
pub mod stock;
pub mod stock_take;
pub mod tray;

pub use accessory::Accessory;
pub use change::{BoxChange, Further, Measurement, SettledAt};
pub use declared::{DeclaredBox, LensForm, LensLine, Measured, Rims, TrayRow};
pub use direction::Direction;
pub use file::parse_box;
pub use lens::{Lens, Piece, PoweredKind};
pub use loose::LooseSpheres;
pub use mark::{Doubt, Mark};
pub use motion::Motion;
pub use not_free::{NoneFree, NotFree};
pub use own_marks::OwnMarks;
pub use pieces::{Pieces, Place, StockedPiece};
pub use shipped::read_box;
pub use stock::{Effect, Stock, StockError};
pub use stock_take::StockTake;
pub use tray::Tray;
