//! The boxes that come with the program, as templates and for trying it out, and how a box is found by its name.

use std::path::Path;

use super::declared::DeclaredBox;
use super::document::Faults;
use super::document::load::{name_of, read_or_shipped};
use super::file::parse_box;

/// The box files that come with the program: their names in `kits/boxes` and their texts.
pub const BOXES: [(&str, &str); 4] = [
    ("outreach.yaml", include_str!("../../kits/boxes/outreach.yaml")),
    ("full.yaml", include_str!("../../kits/boxes/full.yaml")),
    ("spheres.yaml", include_str!("../../kits/boxes/spheres.yaml")),
    ("reduced-aperture.yaml", include_str!("../../kits/boxes/reduced-aperture.yaml")),
];

/// Reads a box file; `kits/boxes/NAME` is one that comes with the program, where no such file stands.
///
/// # Errors
/// All faults of the file, each with its place.
pub fn read_box(path: &Path) -> Result<DeclaredBox, Faults> {
    parse_box(&name_of(path), &read_or_shipped(path, "boxes", &BOXES)?)
}

/// The box to try the program with: a small one that lacks lenses.
///
/// # Errors
/// None in a tested build: every shipped box is read by the tests.
pub fn demo_box() -> Result<DeclaredBox, Faults> {
    let (name, text) = BOXES[0];
    parse_box(name, text)
}

/// Names of the boxes that come with the program, as templates.
pub fn templates() -> impl Iterator<Item = &'static str> {
    BOXES.iter().map(|(name, _)| name.trim_end_matches(".yaml"))
}

/// A box that comes with the program, by its name as a template; `None` where there is none of that name.
///
/// # Errors
/// None in a tested build: every shipped box is read by the tests.
pub fn template(named: &str) -> Result<Option<DeclaredBox>, Faults> {
    let found = BOXES.iter().find(|(name, _)| name.trim_end_matches(".yaml") == named);
    found.map(|(name, text)| parse_box(name, text)).transpose()
}

/// The full box that comes with the program.
///
/// # Errors
/// None in a tested build: every shipped box is read by the tests.
pub fn full_box() -> Result<DeclaredBox, Faults> {
    let (name, text) = BOXES[1];
    parse_box(name, text)
}
