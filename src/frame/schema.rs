//! What a frame file looks like, as types and as a JSON Schema for editors.

use schemars::{JsonSchema, schema_for};
use serde::Deserialize;

use crate::kit::document::name::LONGEST_NAME;
use crate::optics::bounds;

/// A trial frame for Dioptray.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FrameFile {
    /// The name of the frame.
    #[schemars(length(min = 1, max = LONGEST_NAME))]
    pub frame: String,
    /// Distance in millimetres from the cornea to the back vertex of the lens in the first cell.
    #[schemars(range(min = bounds::VERTEX_MM.least, max = bounds::VERTEX_MM.most))]
    pub vertex_mm: f64,
    /// The pupillary distances to which the frame can be set, both eyes together, in millimetres.
    pub pd_mm: Option<PdFile>,
    /// Degrees between the marks of the dial; they must come out even at 180. 5 when left out.
    #[schemars(range(min = bounds::AXIS_MARKS.least, max = bounds::AXIS_MARKS.most))]
    pub axis_marks_deg: Option<u8>,
    /// The cells before each eye, from the eye outward.
    #[schemars(length(min = 1, max = super::declared::MOST_CELLS))]
    pub cells: Vec<CellFile>,
}

/// A range of pupillary distances in millimetres.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PdFile {
    /// The least.
    #[schemars(range(min = bounds::PD_MM.least, max = bounds::PD_MM.most))]
    pub least: f64,
    /// The most, above the least.
    #[schemars(range(min = bounds::PD_MM.least, max = bounds::PD_MM.most))]
    pub most: f64,
}

/// A place for one lens.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CellFile {
    /// What the cell is called; each has its own name.
    #[schemars(length(min = 1, max = LONGEST_NAME))]
    pub name: String,
    /// Distance in millimetres from the cell before it; needed for every cell but the first, which has none.
    #[schemars(range(min = bounds::GAP_MM.least, max = bounds::GAP_MM.most))]
    pub gap_mm: Option<f64>,
    /// Whether a lens in it can be turned to an axis; no when left out.
    pub turns: Option<bool>,
    /// The cells with the same ring turn together and hold one axis.
    #[schemars(length(min = 1))]
    pub ring: Option<String>,
}

/// The JSON Schema of a frame file.
pub fn frame_schema() -> serde_json::Value {
    schema_for!(FrameFile).to_value()
}
