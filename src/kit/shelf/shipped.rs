//! The shelf that comes with the program, as a template and for trying it out.

use std::path::Path;

use super::declared::DeclaredShelf;
use super::file::parse_shelf;
use crate::kit::document::Faults;
use crate::kit::document::load::{name_of, read_or_shipped};

/// The shelf files that come with the program: their names in `kits/shelf` and their texts.
pub const SHELVES: [(&str, &str); 1] = [("demo.yaml", include_str!("../../../kits/shelf/demo.yaml"))];

/// Reads a shelf file; `kits/shelf/NAME` is one that comes with the program, where no such file stands.
///
/// # Errors
/// All faults of the file, each with its place.
pub fn read_shelf(path: &Path) -> Result<DeclaredShelf, Faults> {
    parse_shelf(&name_of(path), &read_or_shipped(path, "shelf", &SHELVES)?)
}
