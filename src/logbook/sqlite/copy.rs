//! Whole copies of a logbook: beside it before it gets a new form, in memory to be read, and elsewhere on request.

use std::ffi::{OsStr, OsString};
use std::fs;
use std::io::{self, Read};
use std::path::Path;
use std::time::Duration;

use rusqlite::backup::Backup;
use rusqlite::{Connection, ErrorCode};
use tempfile::Builder;

use super::error::sqlite;
use super::form2;
use super::schema::FORM;
use crate::logbook::error::{FileError, LogbookError};
use crate::logbook::files::{beside, text_of};

/// Pages copied between two looks whether another program wants to write.
const PAGES_AT_ONCE: i32 = 1000;

/// How long others then have for it.
const PAUSE: Duration = Duration::from_millis(1);

fn copy_pages(from: &Connection, to: &mut Connection) -> rusqlite::Result<()> {
    Backup::new(from, to)?.run_to_completion(PAGES_AT_ONCE, PAUSE, None)
}

/// The same logbook in memory, in the form that this program knows.
pub fn in_memory(from: &Connection, path: &Path) -> Result<Connection, LogbookError> {
    let failed = |error| sqlite(path, error);
    let mut memory = Connection::open_in_memory().map_err(failed)?;
    copy_pages(from, &mut memory).map_err(failed)?;
    memory.pragma_update(None, "foreign_keys", false).map_err(failed)?;
    let form: i64 = memory.query_row("PRAGMA user_version", [], |row| row.get(0)).map_err(failed)?;
    if form < FORM {
        let transaction = memory.transaction().map_err(failed)?;
        form2::from_form_1(&transaction, path)?;
        transaction.commit().map_err(failed)?;
    }
    Ok(memory)
}

/// Copies a logbook as it is beside itself, named after its form. A copy that is already there is never written over; where
/// it is another one, the new one gets a further number.
pub fn beside_as_it_is(from: &Connection, path: &Path, form: i64) -> Result<(), LogbookError> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let full = |error: &io::Error| matches!(error.kind(), io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded);
    let no_room = || FileError::NoRoomForCopy { megabytes: size(path).div_ceil(1_000_000) }.at(path);
    let refused = |error: io::Error| if full(&error) { no_room() } else { LogbookError::io(path, error) };
    let begun = name_of(path, &format!(".form{form}-being-copied-"));
    sweep(folder, &begun);
    let mut copy = Builder::new().prefix(&begun).tempfile_in(folder).map_err(refused)?;
    let copied = Connection::open(copy.path()).and_then(|mut to| copy_pages(from, &mut to));
    copied.map_err(|error| match error.sqlite_error_code() {
        Some(ErrorCode::DiskFull | ErrorCode::SystemIoFailure) => no_room(),
        _ => sqlite(path, error),
    })?;
    copy.as_file().sync_all().map_err(refused)?;
    for nth in 1.. {
        let further = if nth == 1 { String::new() } else { format!("-{nth}") };
        let name = beside(path, &format!(".form{form}{further}"));
        if same_content(copy.path(), &name) {
            return Ok(());
        }
        match copy.persist_noclobber(&name) {
            Ok(_) => return Ok(()),
            Err(refusal) if refusal.error.kind() == io::ErrorKind::AlreadyExists => copy = refusal.file,
            Err(refusal) => return Err(refused(refusal.error)),
        }
    }
    Ok(())
}

fn name_of(path: &Path, ending: &str) -> OsString {
    beside(path, ending).file_name().unwrap_or_default().to_owned()
}

/// Removes what a program that was killed while it copied has left.
fn sweep(folder: &Path, begun: &OsStr) {
    let names = fs::read_dir(folder).into_iter().flatten().filter_map(|entry| Some(entry.ok()?.file_name()));
    for name in names.filter(|name| name.as_encoded_bytes().starts_with(begun.as_encoded_bytes())) {
        // one that stays is in nobody's way
        let _ = fs::remove_file(folder.join(name));
    }
}

fn size(path: &Path) -> u64 {
    fs::metadata(path).map_or(0, |found| found.len())
}

fn same_content(one: &Path, other: &Path) -> bool {
    let read = |path: &Path| {
        let mut content = Vec::new();
        fs::File::open(path).and_then(|mut file| file.read_to_end(&mut content)).map(|_| content)
    };
    size(one) == size(other) && matches!((read(one), read(other)), (Ok(one), Ok(other)) if one == other)
}

/// Copies everything into a file that is not there yet, whole or not at all, readable by its owner only.
pub fn elsewhere(from: &Connection, target: &Path) -> Result<(), LogbookError> {
    let refused = |error: io::Error| LogbookError::io(target, error);
    if target.symlink_metadata().is_ok() {
        return Err(FileError::CopyExists.at(target));
    }
    let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let begun = name_of(target, "-being-copied-");
    let copy = Builder::new().prefix(&begun).tempfile_in(folder).map_err(refused)?;
    let name = text_of(copy.path())?;
    from.execute("VACUUM INTO ?1", [name]).map_err(|error| sqlite(target, error))?;
    copy.as_file().sync_all().map_err(refused)?;
    match copy.persist_noclobber(target) {
        Ok(_) => Ok(()),
        Err(refusal) if refusal.error.kind() == io::ErrorKind::AlreadyExists => Err(FileError::CopyExists.at(target)),
        Err(refusal) => Err(refused(refusal.error)),
    }
}
