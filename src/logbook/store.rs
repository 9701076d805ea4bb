//! An open logbook.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use etcetera::BaseStrategy as _;

use super::engine::Engine;
use super::error::LogbookError;
use super::files::beside;
use super::network::network_folder;
use super::sqlite::{FolderKind, Ground, SqliteFile};

/// An open logbook.
#[derive(Debug)]
pub struct Logbook {
    pub(super) engine: Box<dyn Engine>,
}

impl Logbook {
    /// Where the logbook lies unless a file is named: in the user's data folder.
    ///
    /// # Errors
    /// When the user has no home folder.
    pub fn default_path() -> Result<PathBuf, LogbookError> {
        let places = etcetera::choose_base_strategy().map_err(|_| LogbookError::NoHome)?;
        Ok(places.data_dir().join("dioptray").join("logbook.db"))
    }

    /// Opens a logbook for reading and writing; makes the file, and its folder, when they are not there. One of an older
    /// form is copied beside itself and brought to this program's form; one in a network folder is only read.
    ///
    /// What is made is for its owner only: file mode 0600, folder mode 0700; SQLite gives its companion files (`-wal`,
    /// `-shm`) the mode of the file.
    ///
    /// # Errors
    /// When the file is not a sound logbook, is newer than this program, or cannot be written, or a new one would be made in
    /// a network folder; it is left as it was.
    pub fn open(path: &Path) -> Result<Self, LogbookError> {
        Self::open_where(path, &network_folder)
    }

    /// The same, with other knowledge of which folders are network folders: the function gives the name of their kind.
    ///
    /// # Errors
    /// As [`Logbook::open`].
    pub fn open_where(path: &Path, network: FolderKind<'_>) -> Result<Self, LogbookError> {
        Self::open_on(path, Ground { network, sync: Arc::new(File::sync_data) })
    }

    /// The same, on other ground: also with another way to the disk.
    ///
    /// # Errors
    /// As [`Logbook::open`].
    pub fn open_on(path: &Path, ground: Ground<'_>) -> Result<Self, LogbookError> {
        let mut logbook = Self { engine: Box::new(SqliteFile::open(path, ground)?) };
        logbook.note_what_was_found()?;
        Ok(logbook)
    }

    /// Opens a logbook for reading only; never writes to it, not even to bring an older one up to date.
    ///
    /// # Errors
    /// When there is no such file, or it is not a sound logbook of a form that this program knows.
    pub fn open_read_only(path: &Path) -> Result<Self, LogbookError> {
        let file = SqliteFile::open_read_only(path, &network_folder).map_err(LogbookError::in_reading)?;
        Ok(Self { engine: Box::new(file) })
    }

    /// The file, with links resolved.
    pub fn path(&self) -> &Path {
        self.engine.path()
    }

    /// The file beside it that holds what was added last, until it is folded into the logbook itself.
    pub fn log_path(&self) -> PathBuf {
        beside(self.path(), "-wal")
    }

    /// Whether the logbook can only be read.
    pub fn is_read_only(&self) -> bool {
        self.engine.is_read_only()
    }

    /// Whether the program that had it last was killed, and the log with what it had added is not there: that is missing.
    pub fn lacks_its_log(&self) -> bool {
        self.engine.lacks_its_log()
    }

    /// What the disk said when it did not take what was kept, once it did not: a power cut may take that. It is known a
    /// moment after something was kept.
    pub fn disk_failure(&self) -> Option<String> {
        self.engine.disk_failure()
    }

    /// Has somebody told once [`Logbook::disk_failure`] has something to say, from another thread; at once where it has.
    pub fn when_the_disk_fails(&self, tell: Box<dyn FnOnce() + Send>) {
        self.engine.when_the_disk_fails(tell);
    }

    /// Looks through the whole file, however large, and whether every entry follows the one before it and every closed exam
    /// is as it was closed.
    ///
    /// # Errors
    /// [`FileError::Damaged`](super::FileError::Damaged), with what was found.
    pub fn check(&self) -> Result<(), LogbookError> {
        self.engine.check()
    }

    /// Copies the whole logbook into a file that is not there yet, in this program's form, whole or not at all.
    ///
    /// # Errors
    /// When there is something already, or it cannot be written.
    pub fn copy_to(&self, target: &Path) -> Result<(), LogbookError> {
        self.engine.copy_to(target)
    }
}
