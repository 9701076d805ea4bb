//! How far the room was heard to know this logbook, beside it: so that what is not sent yet is known while the room is away. It
//! may be deleted.

use std::ffi::OsString;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use crate::sharing::Heads;

/// What the file's name begins with, before the name of the logbook.
const BEFORE_ITS_NAME: &str = "sent-";

/// The file.
pub struct Sent;

fn file_of(logbook: &Path) -> PathBuf {
    let mut name = OsString::from(BEFORE_ITS_NAME);
    name.push(logbook.file_stem().unwrap_or_default());
    name.push(".json");
    logbook.with_file_name(name)
}

impl Sent {
    /// What the room was heard to know; nothing where that is not known.
    pub fn of(logbook: &Path) -> Heads {
        let text = fs::read(file_of(logbook)).unwrap_or_default();
        serde_json::from_slice(&text).unwrap_or_default()
    }

    /// Notes it, where it is other than before. That it could not be noted is no harm: it is asked for again.
    pub fn note(logbook: &Path, known: &Heads) {
        if Self::of(logbook) == *known {
            return;
        }
        let path = file_of(logbook);
        let folder = path.parent().unwrap_or(Path::new("")).to_owned();
        let written = NamedTempFile::new_in(folder).and_then(|mut file| {
            file.write_all(&serde_json::to_vec(known)?)?;
            file.persist(&path)?;
            Ok(())
        });
        if let Err(error) = written {
            tracing::debug!(%error, "what was sent is not noted");
        }
    }

    /// Forgets it.
    pub fn forget(logbook: &Path) {
        let _ = fs::remove_file(file_of(logbook));
    }
}
