//! What a case file looks like, as types and as a JSON Schema for editors.

use schemars::{JsonSchema, schema_for};
use serde::Deserialize;

use super::file::{COMPLAINTS, HABITS, care_words, law_words};
use crate::kit::document::name::LONGEST_NAME;
use crate::optics::bounds;

/// A practice case for Dioptray: one invented person with two eyes.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CaseFile {
    /// The name of the case.
    #[schemars(length(min = 1, max = LONGEST_NAME))]
    pub case: String,
    /// What it teaches, in plain words.
    #[schemars(length(min = 1))]
    pub note: Option<String>,
    /// Age in years.
    #[schemars(range(min = bounds::AGE_YEARS.least, max = bounds::AGE_YEARS.most))]
    pub age: u8,
    /// The right eye.
    pub right: EyeFile,
    /// The left eye.
    pub left: EyeFile,
    /// What the person complains of; it follows from what the eyes see without lenses when left out.
    #[schemars(extend("enum" = names(&COMPLAINTS)))]
    pub complaint: Option<String>,
    /// With how much care the person compares; typical when left out.
    #[schemars(extend("enum" = names(&care_words())))]
    pub care: Option<String>,
    /// By which law the person sees and answers; written when left out.
    #[schemars(extend("enum" = names(&law_words())))]
    pub law: Option<String>,
    /// Whether the person answers what is asked; answers when left out.
    #[schemars(extend("enum" = names(&HABITS)))]
    pub habit: Option<String>,
    /// How far one reading lies from another: a standard deviation, in letters. 2.5 when left out.
    #[schemars(range(min = bounds::READING_LETTERS.least, max = bounds::READING_LETTERS.most))]
    pub reading_letters: Option<f64>,
    /// Accommodation in dioptres that is not relaxed when the exam begins; none when left out.
    #[schemars(range(min = bounds::TONE_D.least, max = bounds::TONE_D.most))]
    pub tone_d: Option<f64>,
    /// Pupillary distance of each eye from the middle of the nose, in millimetres; 31.5 when left out.
    pub pd_mm: Option<PdsFile>,
    /// To what the frame is set for each eye, in millimetres; to the eye's own distance when left out.
    pub frame_pd_mm: Option<PdsFile>,
    /// How far the chart is, in metres; 6 when left out.
    #[schemars(range(min = bounds::CHART_M.least, max = bounds::CHART_M.most))]
    pub chart_m: Option<f64>,
    /// How far print is held, in metres; 0.4 when left out.
    #[schemars(range(min = bounds::NEAR_M.least, max = bounds::NEAR_M.most))]
    pub near_m: Option<f64>,
    /// How far the retinoscope is, in metres; two thirds of a metre when left out.
    #[schemars(range(min = bounds::WORKING_M.least, max = bounds::WORKING_M.most))]
    pub working_m: Option<f64>,
}

/// One eye.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EyeFile {
    /// The power that it needs in cell 1 of the frame to see far, like "-4.25/-0.75x180".
    #[schemars(length(min = 1))]
    pub needs: String,
    /// The best that it reads with lenses, like "6/6" or "20/80"; 6/5 when left out.
    #[schemars(length(min = 1))]
    pub best: Option<String>,
}

/// A pupillary distance for each eye, from the middle of the nose, in millimetres.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PdsFile {
    /// The right eye's.
    #[schemars(range(min = bounds::MONOCULAR_PD_MM.least, max = bounds::MONOCULAR_PD_MM.most))]
    pub right: f64,
    /// The left eye's.
    #[schemars(range(min = bounds::MONOCULAR_PD_MM.least, max = bounds::MONOCULAR_PD_MM.most))]
    pub left: f64,
}

/// The JSON Schema of a case file.
pub fn case_schema() -> serde_json::Value {
    schema_for!(CaseFile).to_value()
}

/// The names of words, without what they stand for.
fn names<T>(words: &[(&'static str, T)]) -> Vec<&'static str> {
    words.iter().map(|(name, _)| *name).collect()
}
