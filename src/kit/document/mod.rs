//! YAML documents with the place of every word, so that each fault of a file can say where it is.
//!
//! Box and frame files come in through the same [`Reader`]: text becomes a tree of located nodes, and typed reading takes
//! values out of the tree, noting faults and going on. Nothing is guessed: what is not plainly right is a fault.
//!
//! - [`fault`]: what is wrong, where, what is allowed;
//! - [`load`]: a file becomes text;
//! - [`name`]: what things are called;
//! - [`notes`]: the faults so far;
//! - [`tree`]: text becomes located nodes;
//! - [`reader`]: nodes become values.

pub mod fault;
pub mod load;
pub mod name;
pub mod notes;
pub mod reader;
mod sheet_faults;
pub mod tree;

pub use fault::{Fault, Faults, Position, Refusal};
pub use reader::{Fields, Reader};
pub use sheet_faults::SheetFaults;
pub use tree::{Entry, Node, Value};
