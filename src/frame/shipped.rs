//! The frames that come with the program, as templates and for trying it out, and how a frame is found by its name.

use std::path::Path;

use super::declared::DeclaredFrame;
use super::file::parse_frame;
use crate::kit::document::Faults;
use crate::kit::document::load::{name_of, read_or_shipped};

/// The frame files that come with the program: their names in `kits/frames` and their texts.
pub const FRAMES: [(&str, &str); 3] = [
    ("four-cell.yaml", include_str!("../../kits/frames/four-cell.yaml")),
    ("turning-ring.yaml", include_str!("../../kits/frames/turning-ring.yaml")),
    ("half-eye.yaml", include_str!("../../kits/frames/half-eye.yaml")),
];

/// Reads a frame file; `kits/frames/NAME` is one that comes with the program, where no such file stands.
///
/// # Errors
/// All faults of the file, each with its place.
pub fn read_frame(path: &Path) -> Result<DeclaredFrame, Faults> {
    parse_frame(&name_of(path), &read_or_shipped(path, "frames", &FRAMES)?)
}

/// Names of the frames that come with the program, as templates.
pub fn frame_templates() -> impl Iterator<Item = &'static str> {
    FRAMES.iter().map(|(name, _)| name.trim_end_matches(".yaml"))
}

/// A frame that comes with the program, by its name as a template; `None` where there is none of that name.
///
/// # Errors
/// None in a tested build: every shipped frame is read by the tests.
pub fn frame_template(named: &str) -> Result<Option<DeclaredFrame>, Faults> {
    let found = FRAMES.iter().find(|(name, _)| name.trim_end_matches(".yaml") == named);
    found.map(|(name, text)| parse_frame(name, text)).transpose()
}

/// The frame to try the program with: four cells, the two outer ones turning.
///
/// # Errors
/// None in a tested build: every shipped frame is read by the tests.
pub fn demo_frame() -> Result<DeclaredFrame, Faults> {
    let (name, text) = FRAMES[0];
    parse_frame(name, text)
}
