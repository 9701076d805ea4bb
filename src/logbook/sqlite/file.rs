//! Opening the file, and refusing what is not a sound logbook without touching it.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags, Transaction, TransactionBehavior};

use super::copy;
use super::disk::DiskSync;
use super::error::{BUSY_TIMEOUT, sqlite};
use super::form2;
use super::schema::{self, FORM, Identity};
use super::writers;
use crate::logbook::error::{FileError, LogbookError};
use crate::logbook::files::{beside, keep_to_owner, make_file, refuse_unless_file};

/// How long a file may stand empty while another program makes a logbook of it.
const BEING_MADE: Duration = Duration::from_millis(500);

/// What an empty file is called.
const EMPTY_FILE: &str = "an empty file";

/// A file up to this size is looked through whole when it is opened: some ten milliseconds at most.
const CHECKED_AT_OPENING_BYTES: u64 = 8 << 20;

/// Says the kind of the network folder that a file is in, if it is in one.
pub type FolderKind<'a> = &'a dyn Fn(&Path) -> Option<&'static str>;

/// What may be done with the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Access {
    Writing,
    Reading,
    /// Reading, because it is in a network folder of this kind.
    OnNetwork(&'static str),
}

/// A logbook in one SQLite file.
#[derive(Debug)]
pub struct SqliteFile {
    pub(super) connection: Connection,
    path: PathBuf,
    access: Access,
    disk: Option<DiskSync>,
}

impl SqliteFile {
    /// Opens a logbook for reading and writing; makes the file, and its folder, when they are not there. One in a network
    /// folder is only read.
    ///
    /// # Errors
    /// When the file is not a sound logbook, is newer than this program, or cannot be written, or a new one would be made in
    /// a network folder; it is left as it was.
    pub fn open(path: &Path, network: FolderKind<'_>) -> Result<Self, LogbookError> {
        if let Some(kind) = network(path) {
            return match Self::open_read_only(path, network) {
                Err(error) if error.is_missing() => Err(FileError::NewOnNetwork { kind }.at(path)),
                opened => opened,
            };
        }
        make_file(path)?;
        let path = fs::canonicalize(path).map_err(|error| LogbookError::io(path, error))?;
        let connection = connect(&path, OpenFlags::SQLITE_OPEN_READ_WRITE).map_err(|error| sqlite(&path, error))?;
        let mut file = Self { connection, path, access: Access::Writing, disk: None };
        file.refuse_unless_ours()?;
        file.prepare()?;
        Ok(file)
    }

    /// Opens a logbook for reading only; never writes to it, not even to bring an older one up to date: that is done to a
    /// copy in memory.
    ///
    /// # Errors
    /// When there is no such file, or it is not a sound logbook of a form that this program knows.
    pub fn open_read_only(path: &Path, network: FolderKind<'_>) -> Result<Self, LogbookError> {
        let since = Instant::now();
        loop {
            match Self::open_read_only_now(path, network) {
                // another program may have made the file a moment ago and be about to fill it
                Err(error) if error.found_instead() == Some(EMPTY_FILE) && since.elapsed() < BEING_MADE => {
                    std::thread::sleep(Duration::from_millis(5));
                }
                result => return result,
            }
        }
    }

    fn open_read_only_now(path: &Path, network: FolderKind<'_>) -> Result<Self, LogbookError> {
        match fs::metadata(path) {
            Ok(found) => refuse_unless_file(path, &found)?,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Err(FileError::Missing.at(path)),
            Err(error) => return Err(LogbookError::io(path, error)),
        }
        let path = fs::canonicalize(path).map_err(|error| LogbookError::io(path, error))?;
        if let Some(kind) = network(&path) {
            return Self::read_from_network(path, kind);
        }
        let reading = |connection| Self { connection, path: path.clone(), access: Access::Reading, disk: None };
        let refused = |error| sqlite(&path, error);
        let file = reading(connect(&path, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(refused)?);
        match file.refuse_unless_ours() {
            // SQLite cannot make the companions of a WAL file in a folder where nothing can be made. With no WAL left
            // behind, the file alone is the whole logbook.
            Err(error) if error.is_of_permissions() && !has_wal(&path) => {
                let immutable = PathBuf::from(format!("file:{}?immutable=1", percent_encoded(&path)));
                let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
                let file = reading(connect(&immutable, flags).map_err(refused)?);
                let form = file.refuse_unless_ours()?;
                file.in_this_form(form)
            }
            checked => file.in_this_form(checked?),
        }
    }

    /// The locks and the shared memory of SQLite do not work across computers, so that nothing of it is used there: the file
    /// and what lies beside it are copied first.
    fn read_from_network(path: PathBuf, kind: &'static str) -> Result<Self, LogbookError> {
        let folder = tempfile::tempdir().map_err(|error| LogbookError::io(&std::env::temp_dir(), error))?;
        let here = folder.path().join("logbook.db");
        for ending in ["", "-wal"] {
            match fs::copy(beside(&path, ending), beside(&here, ending)) {
                Err(error) if !(ending == "-wal" && error.kind() == io::ErrorKind::NotFound) => {
                    return Err(LogbookError::io(&path, error));
                }
                _ => {}
            }
        }
        let connection = connect(&here, OpenFlags::SQLITE_OPEN_READ_WRITE).map_err(|error| sqlite(&path, error))?;
        let mut copied = Self { connection, path, access: Access::OnNetwork(kind), disk: None };
        copied.refuse_unless_ours()?;
        copied.connection = copy::in_memory(&copied.connection, &copied.path)?;
        Ok(copied)
    }

    /// The same in the form that this program knows.
    fn in_this_form(mut self, form: i64) -> Result<Self, LogbookError> {
        if form < FORM {
            self.connection = copy::in_memory(&self.connection, &self.path)?;
        }
        Ok(self)
    }

    /// The file, with links resolved.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether nothing can be written.
    pub fn is_read_only(&self) -> bool {
        match self.access {
            Access::Writing => false,
            Access::Reading | Access::OnNetwork(_) => true,
        }
    }

    /// Whether SQLite finds the whole file sound.
    pub fn check(&self) -> Result<(), LogbookError> {
        self.run_check("PRAGMA integrity_check(1)")?;
        let astray = self.connection.prepare("PRAGMA foreign_key_check").and_then(|mut rows| rows.exists([]));
        if astray.map_err(|error| sqlite(&self.path, error))? {
            return Err(
                FileError::Damaged { detail: "a row refers to one that is not there".to_owned() }.at(&self.path)
            );
        }
        Ok(())
    }

    fn run_check(&self, pragma: &str) -> Result<(), LogbookError> {
        let found: String =
            self.connection.query_row(pragma, [], |row| row.get(0)).map_err(|error| sqlite(&self.path, error))?;
        if found == "ok" { Ok(()) } else { Err(FileError::Damaged { detail: found }.at(&self.path)) }
    }

    /// Does something in one transaction: all of it is in the file afterwards, or nothing.
    pub fn write<T>(
        &mut self,
        work: impl FnOnce(&Transaction<'_>, &Path) -> Result<T, LogbookError>,
    ) -> Result<T, LogbookError> {
        match self.access {
            Access::Writing => {}
            Access::Reading => return Err(FileError::OpenedForReading.at(&self.path)),
            Access::OnNetwork(kind) => return Err(FileError::OnNetwork { kind }.at(&self.path)),
        }
        let failed = |error| sqlite(&self.path, error);
        // Immediate: a transaction that reads first and then wants to write could be refused without any waiting.
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let done = work(&transaction, &self.path)?;
        transaction.commit().map_err(failed)?;
        if let Some(disk) = &self.disk {
            disk.wake();
        }
        Ok(done)
    }

    /// Refuses what is not a sound logbook that this program knows; writes nothing. Gives the form.
    fn refuse_unless_ours(&self) -> Result<i64, LogbookError> {
        let refused = |error: FileError| Err(error.at(&self.path));
        let form = match schema::identify(&self.connection).map_err(|error| sqlite(&self.path, error))? {
            Identity::Logbook(form) if form > FORM => return refused(FileError::Newer { found: form, known: FORM }),
            Identity::Empty if self.is_read_only() => return refused(FileError::NotALogbook { found: EMPTY_FILE }),
            Identity::Foreign => return refused(FileError::NotALogbook { found: "an SQLite file of another program" }),
            Identity::Logbook(form) => form,
            Identity::Empty => 0,
        };
        let size = fs::metadata(&self.path).map_err(|error| LogbookError::io(&self.path, error))?.len();
        if size <= CHECKED_AT_OPENING_BYTES {
            self.run_check("PRAGMA quick_check(1)")?;
        }
        Ok(form)
    }

    /// Makes a file that is ours ready for writing.
    fn prepare(&mut self) -> Result<(), LogbookError> {
        let failed = |error| sqlite(&self.path, error);
        if self.connection.is_readonly("main").map_err(failed)? {
            return Err(FileError::ReadOnly.at(&self.path));
        }
        keep_to_owner(&self.path)?;
        use_wal(&self.connection).map_err(failed)?;
        // NORMAL: a commit does not wait for the disk, and still outlives a killed program; see `disk` for power cuts.
        self.connection.pragma_update(None, "synchronous", "NORMAL").map_err(failed)?;
        // Bringing an older file to this form makes tables again that others refer to.
        self.connection.pragma_update(None, "foreign_keys", false).map_err(failed)?;
        // Also shows at once whether anything can be written.
        self.write(|transaction, path| {
            bring_up_to_date(transaction, path)?;
            writers::be_one(transaction, path)
        })?;
        self.connection.pragma_update(None, "foreign_keys", true).map_err(|error| sqlite(&self.path, error))?;
        let log = beside(&self.path, "-wal");
        self.disk = Some(DiskSync::of(&log).map_err(|error| LogbookError::io(&log, error))?);
        let fold = self.connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false);
        fold.map(|_| ()).map_err(|error| sqlite(&self.path, error))
    }
}

/// Brings an empty or older file to [`FORM`], whole or not at all; an older one is copied first.
fn bring_up_to_date(transaction: &Transaction<'_>, path: &Path) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let form: i64 = transaction.query_row("PRAGMA user_version", [], |row| row.get(0)).map_err(failed)?;
    match form {
        // Two programs may start on one file at once: the second finds the work done.
        FORM => Ok(()),
        0 => schema::make(transaction, |_| Ok(())).map_err(failed),
        older => {
            form2::refuse_while_in_use(transaction, path)?;
            let as_it_is = connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(failed)?;
            copy::beside_as_it_is(&as_it_is, path, older)?;
            form2::from_form_1(transaction, path)
        }
    }
}

fn connect(path: &Path, access: OpenFlags) -> rusqlite::Result<Connection> {
    let connection = Connection::open_with_flags(path, access | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    connection.busy_timeout(BUSY_TIMEOUT)?;
    // Until the file is known to be ours it is not to be touched, not even by folding a WAL left behind into it.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    Ok(connection)
}

/// Changes the file to write-ahead logging. SQLite does not wait for others there, so this does.
fn use_wal(connection: &Connection) -> rusqlite::Result<()> {
    let since = Instant::now();
    loop {
        match connection.pragma_update(None, "journal_mode", "WAL") {
            Err(error)
                if error.sqlite_error_code() == Some(ErrorCode::DatabaseBusy) && since.elapsed() < BUSY_TIMEOUT =>
            {
                std::thread::sleep(Duration::from_millis(5));
            }
            result => return result,
        }
    }
}

/// Whether work that is not yet in the file itself lies beside it.
fn has_wal(path: &Path) -> bool {
    fs::metadata(beside(path, "-wal")).is_ok_and(|wal| wal.len() > 0)
}

/// A path as the URI forms of SQLite want it.
fn percent_encoded(path: &Path) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"/-_.".contains(&byte);
    let bytes = path.as_os_str().as_encoded_bytes().iter();
    bytes.map(|&b| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}
