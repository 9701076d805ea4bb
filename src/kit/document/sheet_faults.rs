//! Faults of a sheet in CSV, each with its line.

use std::path::Path;

use thiserror::Error;

use super::fault::shown;
use super::load::name_of;

/// The most faults that are listed.
const MOST_FAULTS: usize = 100;

/// What is wrong with a sheet, line by line.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{}", self.said())]
pub struct SheetFaults {
    file: String,
    faults: Vec<(u64, String)>,
}

impl SheetFaults {
    /// No faults yet of a sheet by its name.
    pub fn of_sheet(file: &str) -> Self {
        Self { file: file.to_owned(), faults: Vec::new() }
    }

    /// No faults yet of a table that is read another way.
    pub fn of_file(path: &Path) -> Self {
        Self { file: name_of(path), faults: Vec::new() }
    }

    /// Notes a fault. What a message shows below its first line, the text with a mark under the place, is left out: the fault
    /// says its line.
    pub fn add(&mut self, line: u64, what: impl std::fmt::Display) {
        let what = what.to_string();
        self.faults.push((line, what.lines().next().unwrap_or_default().to_owned()));
    }

    /// Whether there are none yet.
    pub fn is_empty(&self) -> bool {
        self.faults.is_empty()
    }

    /// All faults, if there are any.
    ///
    /// # Errors
    /// The faults.
    pub fn found(self) -> Result<(), Self> {
        if self.faults.is_empty() { Ok(()) } else { Err(self) }
    }

    /// All of them, one beside the other.
    pub fn in_a_line(&self) -> String {
        self.said().replace('\n', "; ")
    }

    fn said(&self) -> String {
        let mut faults = self.faults.clone();
        faults.sort_by_key(|(line, _)| *line);
        let mut lines: Vec<String> = faults
            .iter()
            .take(MOST_FAULTS)
            .map(|(line, what)| {
                format!("{}:{line}: {}", self.file, what.split('\n').map(shown).collect::<Vec<_>>().join(" "))
            })
            .collect();
        if let Some(more) = faults.len().checked_sub(MOST_FAULTS).filter(|more| *more > 0) {
            lines.push(format!("{}: {more} more lines are at fault: mend these first", self.file));
        }
        lines.join("\n")
    }
}
