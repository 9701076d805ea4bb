//! The trial frame: its cells, what stands in them, what the hand holds in front, and the moves that change it.
//!
//! - [`declared`]: a frame as its file declares it;
//! - [`mod@file`]: how a frame file is read; [`written`]: how it is written;
//! - [`draft`]: how a keeper makes one of a template;
//! - [`schema`]: what a frame file looks like, for editors;
//! - [`shipped`]: the frames that come with the program;
//! - [`fitted`]: a frame with a box beside it: the one place that knows what is before each eye;
//! - [`sureness`]: what a person's hand may spoil of a stack;
//! - [`moves`]: what a hand can do, and whether it can be done now.

pub mod declared;
pub mod draft;
pub mod file;
pub mod fitted;
pub mod moves;
pub mod schema;
pub mod shipped;
pub mod sureness;
pub mod written;

pub use declared::{CellSpec, DeclaredFrame, PdRange};
pub use draft::{DraftFault, FrameDraft, FrameQuestion};
pub use file::parse_frame;
pub use fitted::{EyePower, FittedFrame, Held, InCell};
pub use moves::{Move, MoveError};
pub use shipped::read_frame;
pub use written::write_frame;
