//! The box and frame files that were used last, for a start without any being named.

use std::path::PathBuf;

use jiff::Timestamp;

use super::engine::Remembered;
use super::error::LogbookError;
use super::files::text_of;
use super::store::Logbook;

/// The files that were used last.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LastUsed {
    /// The box's file by its absolute path; `None` when no file was used yet.
    pub box_file: Option<PathBuf>,
    /// The frame's file by its absolute path; `None` when no file was used yet.
    pub frame_file: Option<PathBuf>,
}

impl Logbook {
    /// The box and frame files that were used last.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn last_used(&self) -> Result<LastUsed, LogbookError> {
        let file = |what| self.engine.remembered(what).map(|file| file.map(PathBuf::from));
        Ok(LastUsed { box_file: file(Remembered::Box)?, frame_file: file(Remembered::Frame)? })
    }

    /// Remembers the files in use; one that is `None` stays as remembered.
    ///
    /// # Errors
    /// When a path is not text, or the file cannot be written.
    pub fn remember_last_used(&mut self, used: &LastUsed, at: Timestamp) -> Result<(), LogbookError> {
        let named = [(Remembered::Box, &used.box_file), (Remembered::Frame, &used.frame_file)];
        let mut files = Vec::new();
        for (what, file) in named.into_iter().filter_map(|(what, file)| Some((what, file.as_deref()?))) {
            files.push((what, text_of(file)?));
        }
        self.engine.remember(&files, &at.to_string())
    }
}
