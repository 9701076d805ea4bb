//! The file of a logbook and its companions, for their owner only.

use std::fs::{self, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};

use super::error::{FileError, LogbookError};

/// Makes the file and its folder, for their owner only, when they are not there; says whether it made the file.
pub fn make_file(path: &Path) -> Result<bool, LogbookError> {
    match fs::metadata(path) {
        Ok(found) => return refuse_unless_file(path, &found).map(|()| false),
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
        made => Ok(made.is_ok()),
    }
}

/// Removes a file in which nothing stands, unless its log already holds something.
pub fn remove_if_empty(path: &Path) {
    let is_empty = |file: &Path| fs::metadata(file).map_or(true, |found| found.len() == 0);
    if is_empty(path) && is_empty(&beside(path, "-wal")) {
        // one that stays is in nobody's way
        let _ = fs::remove_file(path);
    }
}

/// Which file stands under a name, whatever is in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FileIdentity {
    device: u64,
    number: u64,
}

impl FileIdentity {
    /// Of the file that stands there now, if one does.
    #[cfg(unix)]
    pub fn of(path: &Path) -> Option<Self> {
        use std::os::unix::fs::MetadataExt as _;
        fs::metadata(path).ok().map(|found| Self { device: found.dev(), number: found.ino() })
    }

    /// Where an open file can be neither removed nor replaced, it stays the same.
    #[cfg(not(unix))]
    pub fn of(_path: &Path) -> Option<Self> {
        Some(Self { device: 0, number: 0 })
    }
}

/// Whether this user may write the file.
#[cfg(unix)]
pub fn can_be_written(path: &Path) -> bool {
    rustix::fs::access(path, rustix::fs::Access::WRITE_OK).is_ok()
}

#[cfg(not(unix))]
pub fn can_be_written(path: &Path) -> bool {
    fs::metadata(path).is_ok_and(|found| !found.permissions().readonly())
}

/// Whether this user may read the file.
#[cfg(unix)]
pub fn can_be_read(path: &Path) -> bool {
    rustix::fs::access(path, rustix::fs::Access::READ_OK).is_ok()
}

#[cfg(not(unix))]
pub fn can_be_read(_path: &Path) -> bool {
    true
}

const COMPANIONS: [&str; 2] = ["-wal", "-shm"];

/// Lets the owner write companions again that were left while the file itself could only be read. One that is another
/// user's stays as it is.
#[cfg(unix)]
pub fn widen_companions(path: &Path) {
    use std::os::unix::fs::PermissionsExt as _;
    for file in COMPANIONS.map(|ending| beside(path, ending)) {
        let mode = fs::metadata(&file).map_or(0o600, |found| found.permissions().mode());
        if mode & 0o600 != 0o600 {
            let _ = fs::set_permissions(&file, fs::Permissions::from_mode(mode & 0o777 | 0o600));
        }
    }
}

#[cfg(not(unix))]
pub fn widen_companions(_path: &Path) {}

/// Names the companion where it is one that this user may not write and the logbook cannot be opened for want of rights.
pub fn refuse_companions_of_others(path: &Path, error: LogbookError) -> LogbookError {
    let companions = COMPANIONS.map(|ending| beside(path, ending));
    let another = companions.into_iter().find(|file| file.exists() && !can_be_written(file));
    match another.filter(|_| error.is_of_room_or_rights()) {
        Some(companion) => FileError::CompanionOfAnother { companion }.at(path),
        None => error,
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

/// The most that is written at once to the file or its log, in bytes.
#[cfg(unix)]
const WRITTEN_AT_ONCE: u64 = 1 << 17;

/// Whether the file or its log has come to the limit that is set on the size of files (`ulimit -f`).
#[cfg(unix)]
pub fn may_not_grow(path: &Path) -> bool {
    let limit = rustix::process::getrlimit(rustix::process::Resource::Fsize).current;
    let size = |file: PathBuf| fs::metadata(file).map_or(0, |found| found.len());
    limit.is_some_and(|limit| ["", "-wal"].iter().any(|ending| size(beside(path, ending)) + WRITTEN_AT_ONCE > limit))
}

#[cfg(not(unix))]
pub fn may_not_grow(_path: &Path) -> bool {
    false
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
