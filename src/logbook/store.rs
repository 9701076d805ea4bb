//! Opening the file, and refusing what is not a sound logbook without touching it.

use std::fs::{self, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use etcetera::BaseStrategy as _;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags, Transaction, TransactionBehavior};

use super::disk::DiskSync;
use super::error::LogbookError;
use super::schema::{self, FORM, Identity};

/// How long to wait for another program that is writing. A write takes milliseconds, so that this is never seen unless
/// something keeps the file locked.
pub(super) const BUSY_TIMEOUT: Duration = Duration::from_secs(2);

/// How long a file may stand empty while another program makes a logbook of it.
const BEING_MADE: Duration = Duration::from_millis(500);

/// What an empty file is called.
const EMPTY_FILE: &str = "an empty file";

/// A file up to this size is looked through whole when it is opened: some ten milliseconds at most.
const CHECKED_AT_OPENING_BYTES: u64 = 8 << 20;

/// An open logbook.
#[derive(Debug)]
pub struct Logbook {
    pub(super) connection: Connection,
    path: PathBuf,
    read_only: bool,
    disk: Option<DiskSync>,
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

    /// Opens a logbook for reading and writing; makes the file, and its folder, when they are not there.
    ///
    /// What is made is for its owner only: file mode 0600, folder mode 0700; SQLite gives its companion files (`-wal`,
    /// `-shm`) the mode of the file.
    ///
    /// # Errors
    /// When the file is no sound logbook, is newer than this program, or cannot be written; it is left as it was.
    pub fn open(path: &Path) -> Result<Self, LogbookError> {
        make_file(path)?;
        let path = fs::canonicalize(path).map_err(|error| LogbookError::io(path, error))?;
        let opened = Self::connect(&path, OpenFlags::SQLITE_OPEN_READ_WRITE);
        opened.map_err(|error| LogbookError::sqlite(&path, error)).and_then(|connection| {
            let mut logbook = Self { connection, path, read_only: false, disk: None };
            logbook.refuse_unless_ours()?;
            logbook.prepare()?;
            Ok(logbook)
        })
    }

    /// Opens a logbook for reading only; never writes to it, not even to bring an older one up to date.
    ///
    /// # Errors
    /// When there is no such file, or it is no sound logbook of this program's form.
    pub fn open_read_only(path: &Path) -> Result<Self, LogbookError> {
        let since = Instant::now();
        loop {
            match Self::open_read_only_now(path) {
                // another program may have made the file a moment ago and be about to fill it
                Err(LogbookError::NotALogbook { found: EMPTY_FILE, .. }) if since.elapsed() < BEING_MADE => {
                    std::thread::sleep(Duration::from_millis(5));
                }
                result => return result,
            }
        }
    }

    fn open_read_only_now(path: &Path) -> Result<Self, LogbookError> {
        match fs::metadata(path) {
            Ok(found) => refuse_unless_file(path, &found)?,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Err(LogbookError::Missing { path: path.to_owned() });
            }
            Err(error) => return Err(LogbookError::io(path, error)),
        }
        let path = fs::canonicalize(path).map_err(|error| LogbookError::io(path, error))?;
        let reading = |connection| Self { connection, path: path.clone(), read_only: true, disk: None };
        let refused = |error| LogbookError::sqlite(&path, error);
        let logbook = reading(Self::connect(&path, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(refused)?);
        match logbook.refuse_unless_ours() {
            // SQLite cannot make the companions of a WAL file in a folder where nothing can be made. With no WAL left
            // behind, the file alone is the whole logbook.
            Err(LogbookError::NoPermission { .. } | LogbookError::ReadOnly { .. }) if !has_wal(&path) => {
                let immutable = PathBuf::from(format!("file:{}?immutable=1", percent_encoded(&path)));
                let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
                let logbook = reading(Self::connect(&immutable, flags).map_err(refused)?);
                logbook.refuse_unless_ours()?;
                Ok(logbook)
            }
            checked => checked.map(|()| logbook),
        }
    }

    /// The file, with links resolved.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether the logbook was opened for reading only.
    pub fn is_read_only(&self) -> bool {
        self.read_only
    }

    /// Looks through the whole file, however large.
    ///
    /// # Errors
    /// [`LogbookError::Damaged`], with what SQLite found.
    pub fn check(&self) -> Result<(), LogbookError> {
        self.run_check("PRAGMA integrity_check(1)")?;
        let astray = self.connection.prepare("PRAGMA foreign_key_check").and_then(|mut rows| rows.exists([]));
        if astray.map_err(|error| self.failed(error))? {
            return Err(self.damaged("a row refers to one that is not there"));
        }
        Ok(())
    }

    fn run_check(&self, pragma: &str) -> Result<(), LogbookError> {
        let found: String =
            self.connection.query_row(pragma, [], |row| row.get(0)).map_err(|error| self.failed(error))?;
        if found == "ok" { Ok(()) } else { Err(self.damaged(&found)) }
    }

    pub(super) fn damaged(&self, detail: &str) -> LogbookError {
        LogbookError::Damaged { path: self.path.clone(), detail: detail.to_owned() }
    }

    pub(super) fn failed(&self, error: rusqlite::Error) -> LogbookError {
        LogbookError::sqlite(&self.path, error)
    }

    /// Does something in one transaction: all of it is in the file afterwards, or nothing.
    pub(super) fn write<T>(
        &mut self,
        work: impl FnOnce(&Transaction<'_>, &Path) -> Result<T, LogbookError>,
    ) -> Result<T, LogbookError> {
        if self.read_only {
            return Err(LogbookError::OpenedForReading { path: self.path.clone() });
        }
        let failed = |error| LogbookError::sqlite(&self.path, error);
        // Immediate: a transaction that reads first and then wants to write could be refused without any waiting.
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let done = work(&transaction, &self.path)?;
        transaction.commit().map_err(failed)?;
        if let Some(disk) = &self.disk {
            disk.wake();
        }
        Ok(done)
    }

    fn connect(path: &Path, access: OpenFlags) -> rusqlite::Result<Connection> {
        let connection = Connection::open_with_flags(path, access | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
        connection.busy_timeout(BUSY_TIMEOUT)?;
        // Until the file is known to be ours it is not to be touched, not even by folding a WAL left behind into it.
        connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
        Ok(connection)
    }

    /// Refuses what is not a sound logbook that this program knows; writes nothing.
    fn refuse_unless_ours(&self) -> Result<(), LogbookError> {
        let path = || self.path.clone();
        match schema::identify(&self.connection).map_err(|error| self.failed(error))? {
            Identity::Logbook(form) if form > FORM => {
                return Err(LogbookError::Newer { path: path(), found: form, known: FORM });
            }
            Identity::Logbook(form) if self.read_only && form < FORM => {
                let reason = format!("it has the older form {form}: open it for writing once");
                return Err(super::row::unreadable(&self.path, "the logbook", reason));
            }
            Identity::Empty if self.read_only => {
                return Err(LogbookError::NotALogbook { path: path(), found: EMPTY_FILE });
            }
            Identity::Foreign => {
                return Err(LogbookError::NotALogbook { path: path(), found: "an SQLite file of another program" });
            }
            Identity::Logbook(_) | Identity::Empty => {}
        }
        let size = fs::metadata(&self.path).map_err(|error| LogbookError::io(&self.path, error))?.len();
        if size <= CHECKED_AT_OPENING_BYTES { self.run_check("PRAGMA quick_check(1)") } else { Ok(()) }
    }

    /// Makes a file that is ours ready for writing.
    fn prepare(&mut self) -> Result<(), LogbookError> {
        let failed = |error| LogbookError::sqlite(&self.path, error);
        if self.connection.is_readonly("main").map_err(failed)? {
            return Err(LogbookError::ReadOnly { path: self.path.clone() });
        }
        keep_to_owner(&self.path)?;
        use_wal(&self.connection).map_err(failed)?;
        // NORMAL: a commit does not wait for the disk, and still outlives a killed program; see `disk` for power cuts.
        self.connection.pragma_update(None, "synchronous", "NORMAL").map_err(failed)?;
        self.connection.pragma_update(None, "foreign_keys", true).map_err(failed)?;
        // Also shows at once whether anything can be written.
        self.write(|transaction, path| {
            schema::migrate(transaction).map_err(|error| LogbookError::sqlite(path, error))
        })?;
        let log = beside(&self.path, "-wal");
        self.disk = Some(DiskSync::of(&log).map_err(|error| LogbookError::io(&log, error))?);
        let fold = self.connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false);
        fold.map(|_| ()).map_err(|error| self.failed(error))
    }
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

/// Makes the file and its folder, for their owner only, when they are not there.
fn make_file(path: &Path) -> Result<(), LogbookError> {
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
pub(super) fn owner_only() -> OpenOptions {
    let mut options = OpenOptions::new();
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

fn refuse_unless_file(path: &Path, found: &fs::Metadata) -> Result<(), LogbookError> {
    if found.is_file() {
        return Ok(());
    }
    let found = if found.is_dir() { "a folder" } else { "a device or a pipe" };
    Err(LogbookError::NotAFile { path: path.to_owned(), found })
}

/// Takes a file that others can read away from them. By name, not by an open file: closing that would drop the locks
/// that SQLite holds on it in this process (<https://www.sqlite.org/howtocorrupt.html>, 2.2).
#[cfg(unix)]
fn keep_to_owner(path: &Path) -> Result<(), LogbookError> {
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
fn keep_to_owner(_path: &Path) -> Result<(), LogbookError> {
    Ok(())
}

/// Whether work that is not yet in the file itself lies beside it.
fn has_wal(path: &Path) -> bool {
    fs::metadata(beside(path, "-wal")).is_ok_and(|wal| wal.len() > 0)
}

/// A companion of the logbook: its path with an ending.
pub(super) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// A path as the URI forms of SQLite want it.
fn percent_encoded(path: &Path) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"/-_.".contains(&byte);
    let bytes = path.as_os_str().as_encoded_bytes().iter();
    bytes.map(|&b| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") }).collect()
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test stops where something is not as it must be")]

    use super::*;
    use crate::exam::{Event, Opening};
    use crate::frame::{DeclaredFrame, FittedFrame};
    use crate::kit::{DeclaredBox, LensForm, Rims, Stock};
    use crate::optics::Millimetres;

    fn opening() -> Opening {
        let declared = DeclaredBox {
            name: "Empty".to_owned(),
            id: None,
            note: None,
            form: LensForm::Thin,
            rims: Rims::default(),
            lines: Vec::new(),
            measured: Vec::new(),
        };
        let cell = crate::frame::CellSpec { name: "rear".to_owned(), gap: Millimetres(0.0), turns: false, ring: None };
        let frame = DeclaredFrame {
            name: "One cell".to_owned(),
            vertex: Millimetres(12.0),
            pd: None,
            axis_marks_deg: 5,
            cells: vec![cell],
        };
        Opening { fitted: FittedFrame::new(frame, Stock::of(&declared)) }
    }

    /// Here rather than in `tests/`, because the limit on pages that stands in for the end of the disk is set on the very
    /// connection: SQLite answers it as it answers a disk without room (`SQLITE_FULL`).
    #[test]
    fn a_full_disk_keeps_what_was_kept_and_takes_more_when_there_is_room_again() {
        let folder = tempfile::tempdir().unwrap();
        let mut logbook = Logbook::open(&folder.path().join("logbook.db")).unwrap();
        let at = jiff::Timestamp::UNIX_EPOCH;
        let mut exam = logbook.begin_exam(opening(), at).unwrap();
        let limit = |logbook: &Logbook, pages: i64| {
            logbook.connection.query_row(&format!("PRAGMA max_page_count = {pages}"), [], |_| Ok(())).unwrap();
        };
        limit(&logbook, 30);
        let step = [Event::Note("a long note ".repeat(200))];
        let refusal = loop {
            if let Err(refusal) = logbook.append(&mut exam, &step, at) {
                break refusal;
            }
            assert!(exam.steps().len() < 1000, "the limit did not hold");
        };
        assert_eq!(
            refusal.to_string(),
            format!(
                "{}: the disk is full: what was last entered was not kept. Make room and enter it again",
                logbook.path().display()
            )
        );
        assert!(exam.steps().len() > 5);
        assert_eq!(logbook.read_exam(exam.id()).unwrap(), exam);
        logbook.check().unwrap();
        limit(&logbook, 1_000_000);
        logbook.append(&mut exam, &step, at).unwrap();
        assert_eq!(logbook.read_exam(exam.id()).unwrap(), exam);
    }
}
