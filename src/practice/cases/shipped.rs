//! The cases that come with the program, and how a case is found by the name of its file.

use std::path::Path;

use super::declared::Case;
use super::file::parse_case;
use crate::kit::document::Faults;
use crate::kit::document::load::{name_of, read_or_shipped};

/// Writes the list of the files in `kits/eyes` with their texts.
macro_rules! shipped {
    ($($name:literal),+ $(,)?) => {
        /// The case files that come with the program: their names in `kits/eyes` and their texts.
        pub const CASES: &[(&str, &str)] =
            &[$(($name, include_str!(concat!("../../../kits/eyes/", $name)))),+];
    };
}

shipped![
    "simple-myope.yaml",
    "with-the-rule.yaml",
    "against-the-rule.yaml",
    "oblique.yaml",
    "mixed-astigmatism.yaml",
    "presbyope.yaml",
    "unequal-eyes.yaml",
    "high-myope.yaml",
    "latent-hyperope.yaml",
    "near-chart.yaml",
    "frame-off-centre.yaml",
    "tired.yaml",
    "always-better.yaml",
    "haze.yaml",
    "amblyope.yaml",
];

/// Reads a case file; `kits/eyes/NAME` is one that comes with the program, where no such file stands.
///
/// # Errors
/// All faults of the file, each with its place.
pub fn read_case(path: &Path) -> Result<Case, Faults> {
    parse_case(&name_of(path), &read_or_shipped(path, "eyes", CASES)?)
}

/// All shipped cases, the easier ones first.
///
/// # Errors
/// None in a tested build: every shipped case is read by the tests.
pub fn cases() -> Result<Vec<Case>, Faults> {
    CASES.iter().map(|(name, text)| parse_case(name, text)).collect()
}
