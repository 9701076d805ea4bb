//! What a box file looks like, as types and as a JSON Schema for editors.

use schemars::{JsonSchema, schema_for};
use serde::Deserialize;

use super::document::name::LONGEST_NAME;
use super::file::kind_words;
use crate::optics::bounds;

/// A box of trial lenses for Dioptray.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoxFile {
    /// The name of the box.
    #[serde(rename = "box")]
    #[schemars(length(min = 1, max = LONGEST_NAME))]
    pub name: String,
    /// By what the logbook knows the box: letters a to z, digits and hyphens. Without one, its name serves.
    #[schemars(length(min = 1, max = LONGEST_NAME), regex(pattern = "^[A-Za-z0-9-]+$"))]
    pub id: Option<String>,
    /// What is to be remembered of it.
    pub note: Option<String>,
    /// How the maker computed the marks; thin when left out.
    pub lens_form: Option<LensFormFile>,
    /// How the box marks the sign of its lenses on their rims, if it does.
    pub rims: Option<RimsFile>,
    /// The lenses of the box, line by line.
    #[schemars(length(min = 1))]
    pub lenses: Vec<LineFile>,
    /// Lenses that are not there, like "+3.25 sphere", or "-1.50 sphere x2" for two of them.
    pub missing: Option<Vec<String>>,
    /// Lenses that were measured and have another power than their mark.
    pub measured: Option<Vec<MeasuredFile>>,
    /// The rows in which the lenses lie, from the top; what is in none lies in rows by kind and sign after them.
    pub tray: Option<Vec<TrayRowFile>>,
}

/// How the maker of a box computed its marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum LensFormFile {
    /// Each lens has its mark as its own power.
    Thin,
    /// Marks add up in the frame.
    Additive,
}

/// Words for the rims.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RimsFile {
    /// The rim of a plus lens.
    pub plus: Option<String>,
    /// The rim of a minus lens.
    pub minus: Option<String>,
}

/// Lenses of one kind.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LineFile {
    /// The kind of lens.
    #[schemars(extend("enum" = kind_words()))]
    pub kind: String,
    /// Powers and series of powers, for a kind that has them: "±0.12", "-0.25 to -2.00 by 0.25"; no sign for a prism or a cross
    /// cylinder.
    #[schemars(length(min = 1))]
    pub powers: Option<Vec<PowerFile>>,
    /// The name of an accessory whose kind is `accessory`.
    pub name: Option<String>,
    /// Whether an accessory of the box's own covers the eye; no when left out.
    pub covers: Option<bool>,
    /// Whether an accessory of the box's own is turned to a direction; no when left out.
    pub turns: Option<bool>,
    /// How many there are of each.
    #[schemars(range(min = bounds::EACH.least, max = bounds::EACH.most))]
    pub each: u8,
}

/// A power or a series, with or without quotes.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum PowerFile {
    /// A power without quotes.
    Number(f64),
    /// A power or a series.
    Text(String),
}

/// A lens with its measured power.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeasuredFile {
    /// Which lens, with its number among those marked alike: "-6.00 sphere #1".
    pub lens: String,
    /// The measured power in dioptres, in prism dioptres for a prism.
    #[schemars(range(min = bounds::POWER.least, max = bounds::POWER.most))]
    pub power: f64,
    /// Why, or by whom.
    pub note: Option<String>,
    /// Whether a power far from the mark, or of the other sign, is as it was measured.
    pub sure: Option<bool>,
}

/// A row of the tray.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TrayRowFile {
    /// What it is called.
    pub row: String,
    /// Its lenses from left to right: lenses, "+1.00 sphere", or series with their kind, "+0.25 to +4.00 by 0.25 sphere".
    #[schemars(length(min = 1))]
    pub lenses: Vec<String>,
}

/// The JSON Schema of a box file.
pub fn box_schema() -> serde_json::Value {
    schema_for!(BoxFile).to_value()
}
