//! Which room a logbook joined, in a small file beside it.

use std::env;
use std::ffi::OsString;
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use tempfile::NamedTempFile;

use super::address::Address;
use super::error::RoomError;
use crate::sharing::SeatName;

/// Names another address of the room that was joined: where it moved, or is reached from elsewhere.
pub const ADDRESS: &str = "DIOPTRAY_ROOM";

/// What the file's name begins with, before the name of the logbook.
const BEFORE_ITS_NAME: &str = "room-";

/// As it stands in the file.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Kept {
    room: String,
    seat: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    site: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    certificate: Option<PathBuf>,
    #[serde(default)]
    calls_in: bool,
}

/// A room that a logbook joined.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Joined {
    /// Where it is.
    pub address: Address,
    /// What the logbook is called there.
    pub seat: SeatName,
    /// Of which site it is.
    pub site: Option<String>,
    /// The file that shows who answers is the room.
    pub certificate: Option<PathBuf>,
    /// Whether it calls in now and then and hangs up: nothing of an open exam is sent, and no lens before an eye is told.
    pub calls_in: bool,
}

fn file_of(logbook: &Path) -> PathBuf {
    let mut name = OsString::from(BEFORE_ITS_NAME);
    name.push(logbook.file_stem().unwrap_or_default());
    name.push(".yaml");
    logbook.with_file_name(name)
}

impl Joined {
    /// The room that a logbook joined, if any.
    ///
    /// # Errors
    /// When the file beside it cannot be read.
    pub fn of(logbook: &Path) -> Result<Option<Self>, RoomError> {
        let path = file_of(logbook);
        let failed = |reason: String| RoomError::File { path: path.clone(), reason };
        let text = match fs::read_to_string(&path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            read => read.map_err(|error| failed(error.to_string()))?,
        };
        let kept: Kept = serde_yaml::from_str(&text).map_err(|error| failed(error.to_string()))?;
        let elsewhere = env::var(ADDRESS).ok().filter(|address| !address.is_empty());
        Ok(Some(Self {
            address: elsewhere.unwrap_or(kept.room).parse()?,
            seat: SeatName::new(&kept.seat)?,
            site: kept.site,
            certificate: kept.certificate,
            calls_in: kept.calls_in,
        }))
    }

    /// Keeps it beside a logbook.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn keep(&self, logbook: &Path) -> Result<(), RoomError> {
        let path = file_of(logbook);
        let failed = |reason: String| RoomError::File { path: path.clone(), reason };
        let kept = Kept {
            room: self.address.to_string(),
            seat: self.seat.to_string(),
            site: self.site.clone(),
            certificate: self.certificate.clone(),
            calls_in: self.calls_in,
        };
        let text = serde_yaml::to_string(&kept).map_err(|error| failed(error.to_string()))?;
        // whole or not at all, and for its owner only
        let folder = path.parent().unwrap_or(Path::new(""));
        let written = NamedTempFile::new_in(folder).and_then(|mut file| {
            file.write_all(text.as_bytes())?;
            file.persist(&path)?;
            Ok(())
        });
        written.map_err(|error| failed(error.to_string()))
    }

    /// Forgets it.
    ///
    /// # Errors
    /// When the file cannot be removed.
    pub fn forget(logbook: &Path) -> Result<(), RoomError> {
        let path = file_of(logbook);
        fs::remove_file(&path).map_err(|error| RoomError::File { path, reason: error.to_string() })
    }
}
