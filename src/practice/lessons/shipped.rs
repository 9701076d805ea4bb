//! The lessons that come with the program, and how a lesson is found by the name of its file.

use std::path::Path;

use super::declared::Lesson;
use super::file::parse_lesson;
use crate::kit::document::Faults;
use crate::kit::document::load::{name_of, read_or_shipped};

/// Writes the list of the files in `kits/lessons` with their texts.
macro_rules! shipped {
    ($($name:literal),+ $(,)?) => {
        /// The lesson files that come with the program: their names in `kits/lessons` and their texts.
        pub const LESSONS: &[(&str, &str)] =
            &[$(($name, include_str!(concat!("../../../kits/lessons/", $name)))),+];
    };
}

shipped!["first-spheres.yaml", "astigmatism.yaml", "near-and-refer.yaml"];

/// Reads a lesson file; `kits/lessons/NAME` is one that comes with the program, where no such file stands.
///
/// # Errors
/// All faults of the file, each with its place.
pub fn read_lesson(path: &Path) -> Result<Lesson, Faults> {
    parse_lesson(&name_of(path), &read_or_shipped(path, "lessons", LESSONS)?)
}

/// Whether a file means to declare a lesson, where it can be read at all: a case file is read otherwise.
pub fn is_lesson_file(path: &Path) -> bool {
    let text = read_or_shipped(path, "lessons", LESSONS);
    text.is_ok_and(|text| text.lines().any(|line| ["lesson:", "steps:"].iter().any(|key| line.starts_with(key))))
}

/// All shipped lessons, the easier ones first.
///
/// # Errors
/// None in a tested build: every shipped lesson is read by the tests.
pub fn lessons() -> Result<Vec<Lesson>, Faults> {
    LESSONS.iter().map(|(name, text)| parse_lesson(name, text)).collect()
}
