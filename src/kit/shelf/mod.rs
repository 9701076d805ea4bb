//! A shelf of ready-made pairs: glasses with the same sphere before both eyes, made beforehand.
//!
//! - [`declared`]: a shelf as its file declares it; [`mod@file`]: how the file is read; [`schema`]: what it looks like, for editors;
//! - [`shipped`]: the shelf that comes with the program.

pub mod declared;
pub mod file;
pub mod schema;
pub mod shipped;

pub use declared::{DeclaredShelf, ShelfLine, ShelfPair};
pub use file::parse_shelf;
pub use shipped::read_shelf;
