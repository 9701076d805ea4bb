//! What a lesson file looks like, as types and as a JSON Schema for editors.

use schemars::{JsonSchema, schema_for};
use serde::Deserialize;

use super::file::drill_words;
use crate::kit::document::name::LONGEST_NAME;
use crate::optics::bounds;

/// A lesson for Dioptray: an order of eyes and drills with a few sentences between.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LessonFile {
    /// The name of the lesson.
    #[schemars(length(min = 1, max = LONGEST_NAME))]
    pub lesson: String,
    /// What it teaches, in plain words.
    #[schemars(length(min = 1))]
    pub note: Option<String>,
    /// The teacher's pass line of its eyes, in dioptres: the most that may be left in any meridian.
    #[schemars(range(min = bounds::PASS_LINE_D.least, max = bounds::PASS_LINE_D.most))]
    pub pass_d: Option<f64>,
    /// How long an eye may take, in minutes; as long as it takes when left out.
    #[schemars(range(min = bounds::STATION_MINUTES.least, max = bounds::STATION_MINUTES.most))]
    pub minutes: Option<f64>,
    /// What comes after what.
    #[schemars(length(min = 1))]
    pub steps: Vec<StepFile>,
}

/// A step: one of `say`, `drill`, `eye` and `drawn`.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StepFile {
    /// A few sentences.
    #[schemars(length(min = 1))]
    pub say: Option<String>,
    /// A drill by its name.
    #[schemars(extend("enum" = drill_names()))]
    pub drill: Option<String>,
    /// A case that comes with the program by its name, or the file of one of your own.
    #[schemars(length(min = 1))]
    pub eye: Option<String>,
    /// Somebody drawn as hard as this, 1 to 3.
    #[schemars(range(min = bounds::LEVEL.least, max = bounds::LEVEL.most))]
    pub drawn: Option<u8>,
    /// How hard the items of the drill are, 1 to 3; 1 when left out.
    #[schemars(range(min = bounds::LEVEL.least, max = bounds::LEVEL.most))]
    pub level: Option<u8>,
    /// How many items of the drill; 10 when left out.
    #[schemars(range(min = bounds::DRILL_ITEMS.least, max = bounds::DRILL_ITEMS.most))]
    pub items: Option<u32>,
    /// The seed by which everybody has the same person; another person each time when left out.
    #[schemars(range(min = bounds::SEED.least, max = bounds::SEED.most))]
    pub seed: Option<u32>,
    /// How long this eye may take, in minutes; as the lesson says when left out.
    #[schemars(range(min = bounds::STATION_MINUTES.least, max = bounds::STATION_MINUTES.most))]
    pub minutes: Option<f64>,
}

/// The JSON Schema of a lesson file.
pub fn lesson_schema() -> serde_json::Value {
    schema_for!(LessonFile).to_value()
}

fn drill_names() -> Vec<&'static str> {
    drill_words().iter().map(|(name, _)| *name).collect()
}
