//! The file of a logbook and its companions, for their owner only.

use std::fs::{self, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};

use super::error::{FileError, LogbookError};

/// Makes the file and its folder, for their owner only, when they are not there.
pub fn make_file(path: &Path) -> Result<(), LogbookError> {
    match fs::metadata(path) {
        Ok(found) => return refuse_unless_file(path, &found),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {}
        Err(error) => return Err(LogbookError::io(path, error)),
    }
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty() && !folder.exists()) {
        let mut builder = fs::DirBuilder::new();
        builder.recursive(true);
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(folder).map_err(|error| LogbookError::io(folder, error))?;
    }
    match owner_only().write(true).create_new(true).open(path) {
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => Err(LogbookError::io(path, error)),
        _ => Ok(()),
    }
}

/// Options under which a file that is made is readable by its owner only.
pub fn owner_only() -> OpenOptions {
    let mut options = OpenOptions::new();
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

/// Refuses a folder or a device.
pub fn refuse_unless_file(path: &Path, found: &fs::Metadata) -> Result<(), LogbookError> {
    if found.is_file() {
        return Ok(());
    }
    let found = if found.is_dir() { "a folder" } else { "a device or a pipe" };
    Err(FileError::NotAFile { found }.at(path))
}

/// Takes a file that others can read away from them. By name, not by an open file: closing that would drop the locks
/// that SQLite holds on it in this process (<https://www.sqlite.org/howtocorrupt.html>, 2.2).
#[cfg(unix)]
pub fn keep_to_owner(path: &Path) -> Result<(), LogbookError> {
    use std::os::unix::fs::PermissionsExt as _;
    for file in [path.to_owned(), beside(path, "-wal"), beside(path, "-shm")] {
        let narrowed = fs::metadata(&file).and_then(|found| match found.permissions().mode() & 0o077 {
            0 => Ok(()),
            _ => fs::set_permissions(&file, fs::Permissions::from_mode(0o600)),
        });
        match narrowed {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(LogbookError::io(&file, error)),
            _ => {}
        }
    }
    Ok(())
}

#[cfg(not(unix))]
pub fn keep_to_owner(_path: &Path) -> Result<(), LogbookError> {
    Ok(())
}

/// A companion of the logbook: its path with an ending.
pub fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// The small file whose lock is the claim on a box; by number, for the name of a box need not be fit for a file.
pub fn lock_file(path: &Path, in_box: i64) -> PathBuf {
    beside(path, &format!("-box-{in_box}.lock"))
}

/// The name of this computer or container, where the system says it in a file.
pub fn host_name() -> Option<String> {
    let name = fs::read_to_string("/proc/sys/kernel/hostname").ok()?;
    let name = name.trim();
    (!name.is_empty()).then(|| name.to_owned())
}

/// A path as text, as it can be kept.
pub fn text_of(path: &Path) -> Result<&str, LogbookError> {
    path.to_str().ok_or_else(|| LogbookError::NotStorable {
        what: format!("the path {}", path.display()),
        reason: "its name is not valid UTF-8".to_owned(),
    })
}
