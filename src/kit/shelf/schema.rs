//! What a shelf file looks like, as types and as a JSON Schema for editors.

use schemars::{JsonSchema, schema_for};
use serde::Deserialize;

use crate::kit::document::name::LONGEST_NAME;
use crate::kit::schema::PowerFile;
use crate::optics::bounds;

/// A shelf of ready-made pairs for Dioptray.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShelfFile {
    /// The name of the shelf; by it the logbook counts what was given out.
    #[schemars(length(min = 1, max = LONGEST_NAME))]
    pub shelf: String,
    /// What is to be remembered of it.
    pub note: Option<String>,
    /// The pairs, line by line.
    #[schemars(length(min = 1))]
    pub pairs: Vec<PairsFile>,
}

/// Pairs of some powers and centre distances.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PairsFile {
    /// For what they are.
    #[serde(rename = "for")]
    pub use_for: UseFile,
    /// Powers and series of powers: "+1.00", "-0.50 to -3.00 by 0.25"; plus alone for reading.
    #[schemars(length(min = 1))]
    pub powers: Vec<PowerFile>,
    /// How far the centres of the two lenses stand apart, in millimetres: each power is there with each of them.
    #[schemars(length(min = 1), inner(range(min = bounds::PD_MM.least, max = bounds::PD_MM.most)))]
    pub centres_mm: Vec<f64>,
    /// How many pairs there ever were of each power with each centre distance.
    #[schemars(range(min = bounds::SHELF_EACH.least, max = bounds::SHELF_EACH.most))]
    pub each: u32,
}

/// For what pairs are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum UseFile {
    /// Far away.
    Distance,
    /// Reading, and all that is near.
    Reading,
}

/// The JSON Schema of a shelf file.
pub fn shelf_schema() -> serde_json::Value {
    schema_for!(ShelfFile).to_value()
}
