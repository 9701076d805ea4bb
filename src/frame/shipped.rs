//! The frames that come with the program, as templates and for trying it out.

use super::declared::DeclaredFrame;
use super::file::parse_frame;
use crate::kit::document::Faults;

/// The frame files that come with the program: their names in `kits/frames` and their texts.
pub const FRAMES: [(&str, &str); 3] = [
    ("four-cell.yaml", include_str!("../../kits/frames/four-cell.yaml")),
    ("turning-ring.yaml", include_str!("../../kits/frames/turning-ring.yaml")),
    ("half-eye.yaml", include_str!("../../kits/frames/half-eye.yaml")),
];

/// The frame to try the program with: four cells, the two outer ones turning.
///
/// # Errors
/// None in a tested build: every shipped frame is read by the tests.
pub fn demo_frame() -> Result<DeclaredFrame, Faults> {
    let (name, text) = FRAMES[0];
    parse_frame(name, text)
}
