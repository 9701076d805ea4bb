//! The box and frame files that were used last, for a start without any being named.

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use rusqlite::OptionalExtension as _;

use super::error::LogbookError;
use super::store::Logbook;

/// The files that were used last.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LastUsed {
    /// The box file.
    pub box_file: Option<PathBuf>,
    /// The frame file.
    pub frame_file: Option<PathBuf>,
}

impl Logbook {
    /// The box and frame files that were used last.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn last_used(&self) -> Result<LastUsed, LogbookError> {
        let file = |kind: &str| {
            let sql = "SELECT file FROM last_used WHERE kind = ?1";
            let found = self.connection.query_row(sql, [kind], |row| row.get::<_, String>(0)).optional();
            found.map(|file| file.map(PathBuf::from)).map_err(|error| self.failed(error))
        };
        Ok(LastUsed { box_file: file("box")?, frame_file: file("frame")? })
    }

    /// Remembers the files in use; one that is `None` stays as remembered.
    ///
    /// # Errors
    /// When a path is not text, or the file cannot be written.
    pub fn remember_last_used(&mut self, used: &LastUsed, at: Timestamp) -> Result<(), LogbookError> {
        let named = [("box", &used.box_file), ("frame", &used.frame_file)];
        self.write(|transaction, path| {
            for (kind, file) in named.into_iter().filter_map(|(kind, file)| Some((kind, file.as_deref()?))) {
                let file = text_of(file)?;
                let sql = "INSERT INTO last_used (kind, file, at) VALUES (?1, ?2, ?3)
                           ON CONFLICT (kind) DO UPDATE SET file = excluded.file, at = excluded.at";
                transaction
                    .execute(sql, (kind, file, at.to_string()))
                    .map_err(|error| LogbookError::sqlite(path, error))?;
            }
            Ok(())
        })
    }
}

fn text_of(file: &Path) -> Result<&str, LogbookError> {
    file.to_str().ok_or_else(|| LogbookError::NotStorable {
        what: format!("the path {}", file.display()),
        reason: "its name is not valid UTF-8".to_owned(),
    })
}
