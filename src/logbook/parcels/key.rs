//! The key by which a seat signs: a file of its own beside the logbook, so that whoever has a copy of the logbook alone cannot
//! sign as it.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::error::{ParcelError, ParcelFault};
use crate::logbook::error::LogbookError;
use crate::logbook::files::beside;
use crate::sharing::{Hash, SeatKey};

/// What the file begins with, before 64 hexadecimal digits.
const HEADING: &str = "Dioptray seat key 1";

/// The file with the key of the seat that a logbook is.
pub fn key_file(logbook: &Path) -> PathBuf {
    beside(logbook, ".key")
}

/// The key of the seat that a logbook is; a new one, kept from now on, where there is none.
///
/// # Errors
/// When others can read it, it is not one, or it cannot be read or written.
pub fn key_of(logbook: &Path) -> Result<SeatKey, ParcelError> {
    let path = key_file(logbook);
    match read(&path)? {
        Some(key) => Ok(key),
        None => make(&path),
    }
}

fn read(path: &Path) -> Result<Option<SeatKey>, ParcelError> {
    let failed = |error| LogbookError::io(path, error);
    let found = match fs::metadata(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        found => found.map_err(failed)?,
    };
    if !found.is_file() {
        return Err(ParcelFault::NotAKey.at(path));
    }
    if is_open_to_others(&found) {
        return Err(ParcelFault::KeyOpenToOthers.at(path));
    }
    let text = fs::read_to_string(path).map_err(failed)?;
    let secret = text.strip_prefix(HEADING).and_then(|secret| Hash::from_text(secret.trim()));
    // 32 bytes in hexadecimal digits, which is how a hash is written too
    let secret = secret.ok_or_else(|| ParcelFault::NotAKey.at(path))?;
    Ok(Some(SeatKey::from_secret(secret.as_bytes())))
}

#[cfg(unix)]
fn is_open_to_others(found: &fs::Metadata) -> bool {
    std::os::unix::fs::PermissionsExt::mode(&found.permissions()) & 0o077 != 0
}

/// Elsewhere the rights are those of the folder, which is the user's own.
#[cfg(not(unix))]
fn is_open_to_others(_found: &fs::Metadata) -> bool {
    false
}

fn make(path: &Path) -> Result<SeatKey, ParcelError> {
    let failed = |error| LogbookError::io(path, error);
    let mut secret = [0; 32];
    getrandom::fill(&mut secret).map_err(|error| failed(io::Error::other(error.to_string())))?;
    let text = Hash::from_bytes(&secret).map(|secret| format!("{HEADING}\n{secret}\n")).unwrap_or_default();
    // whole or not at all, and readable by its owner only from the first byte on
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = NamedTempFile::new_in(folder).map_err(failed)?;
    file.write_all(text.as_bytes()).and_then(|()| file.as_file().sync_all()).map_err(failed)?;
    match file.persist_noclobber(path) {
        Ok(_) => Ok(SeatKey::from_secret(&secret)),
        // another program has made one meanwhile
        Err(persist) if persist.error.kind() == io::ErrorKind::AlreadyExists => {
            read(path)?.ok_or_else(|| failed(persist.error).into())
        }
        Err(persist) => Err(failed(persist.error).into()),
    }
}
