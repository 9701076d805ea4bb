//! Opening the file, and refusing what is not a sound logbook without touching it.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags, Transaction, TransactionBehavior};

use super::companions::{refuse_strange_log, without_log};
use super::disk::{DiskSync, SendOn, Tell};
use super::error::{BUSY_TIMEOUT, sqlite};
use super::log::Log;
use super::schema::{self, FORM, Identity};
use super::writers;
use super::{copy, form2};
use crate::logbook::error::{EMPTY_FILE, FileError, LogbookError};
use crate::logbook::files::{
    FileIdentity, beside, can_be_read, can_be_written, keep_to_owner, make_file, refuse_companions_of_others,
    refuse_unless_file, remove_if_empty, widen_companions,
};

/// How long a file may stand empty while another program makes a logbook of it.
const BEING_MADE: Duration = Duration::from_millis(500);

/// A file up to this size is looked through whole when it is opened: some ten milliseconds at most.
const CHECKED_AT_OPENING_BYTES: u64 = 8 << 20;

/// Says the kind of the network folder that a file is in, if it is in one.
pub type FolderKind<'a> = &'a dyn Fn(&Path) -> Option<&'static str>;

/// What a logbook lies on.
pub struct Ground<'a> {
    /// Which folders are network folders.
    pub network: FolderKind<'a>,
    /// How what was written is sent on to the disk.
    pub sync: SendOn,
}

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
    /// Dropped before the connection, so that that one is the last and folds the log into the file.
    disk: Option<DiskSync>,
    pub(super) connection: Connection,
    path: PathBuf,
    access: Access,
    /// Which file it is, as it was when it was opened.
    identity: Option<FileIdentity>,
    lacks_its_log: bool,
}

impl SqliteFile {
    /// Opens a logbook for reading and writing; makes the file, and its folder, when they are not there. One in a network
    /// folder is only read.
    ///
    /// # Errors
    /// When the file is not a sound logbook, is newer than this program, or cannot be written, or a new one would be made in
    /// a network folder; it is left as it was.
    pub fn open(path: &Path, ground: Ground<'_>) -> Result<Self, LogbookError> {
        if let Some(kind) = (ground.network)(path) {
            return match Self::open_read_only(path, ground.network) {
                Err(error) if error.is_missing() => Err(FileError::NewOnNetwork { kind }.at(path)),
                opened => opened,
            };
        }
        let made = make_file(path)?;
        let opened = Self::open_there(path, ground.sync);
        if made && opened.is_err() {
            // else it would be found later and taken for something else
            remove_if_empty(path);
        }
        opened
    }

    fn open_there(path: &Path, sync: SendOn) -> Result<Self, LogbookError> {
        let path = fs::canonicalize(path).map_err(|error| LogbookError::io(path, error))?;
        // before SQLite looks: it would leave companions that the owner could not write later either
        if !can_be_written(&path) {
            let error = if can_be_read(&path) { FileError::ReadOnly } else { FileError::NoPermission };
            return Err(error.at(&path));
        }
        widen_companions(&path);
        let connection = connect(&path, OpenFlags::SQLITE_OPEN_READ_WRITE).map_err(|error| sqlite(&path, error))?;
        let mut file = Self::of(connection, path, Access::Writing);
        file.refuse_unless_ours().map_err(|error| refuse_companions_of_others(&file.path, error))?;
        file.prepare(sync)?;
        Ok(file)
    }

    fn of(connection: Connection, path: PathBuf, access: Access) -> Self {
        let identity = FileIdentity::of(&path);
        Self { disk: None, connection, path, access, identity, lacks_its_log: false }
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
        // Where the user may not write, SQLite would leave companions that its owner could not write either.
        let leaves_companions = !can_be_written(&path) && !beside(&path, "-shm").exists();
        if !leaves_companions {
            let opened = connect(&path, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(|error| sqlite(&path, error));
            let file = opened.map(|connection| Self::of(connection, path.clone(), Access::Reading));
            match file.and_then(|file| file.refuse_unless_ours().map(|form| (file, form))) {
                // SQLite makes companions even to read: without room or rights for them we read by ourselves
                Err(error) if error.is_of_room_or_rights() => {}
                opened => {
                    let (mut file, form) = opened?;
                    file.lacks_its_log = file.expects_a_log() && !has_wal(&file.path);
                    return file.in_this_form(form);
                }
            }
        }
        let connection = read_by_ourselves(&path)?;
        let mut file = Self::of(connection, path, Access::Reading);
        let form = file.refuse_unless_ours()?;
        file.lacks_its_log = file.expects_a_log() && !has_wal(&file.path);
        file.in_this_form(form)
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
        let mut copied = Self::of(connection, path, Access::OnNetwork(kind));
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

    /// Whether the program that had it last did not end, and what it had added is gone with the log that lay beside the file.
    pub fn lacks_its_log(&self) -> bool {
        self.lacks_its_log
    }

    /// What the disk said when it did not take what was committed, if it ever did not.
    pub fn disk_failure(&self) -> Option<String> {
        self.disk.as_ref().and_then(DiskSync::failure)
    }

    /// Has somebody told once the disk does not take what was committed.
    pub fn when_the_disk_fails(&self, tell: Tell) {
        if let Some(disk) = &self.disk {
            disk.when_it_fails(tell);
        }
    }

    /// Has what is in the log folded into the file soon.
    pub fn fold(&self) {
        if let Some(disk) = &self.disk {
            disk.fold();
        }
    }

    /// Whether a program had the file open when this part of it was last written.
    fn expects_a_log(&self) -> bool {
        let in_use = self.connection.query_row("SELECT count(*) FROM in_use", [], |row| row.get::<_, i64>(0));
        in_use.is_ok_and(|programs| programs > 0)
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
        self.refuse_unless_there()?;
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

    /// Refuses to go on when the file was removed or replaced: what is written then is in no file that anybody finds.
    fn refuse_unless_there(&self) -> Result<(), LogbookError> {
        if FileIdentity::of(&self.path) == self.identity {
            return Ok(());
        }
        let rescued = (1..=99).map(|nth| beside(&self.path, &format!(".rescued-{nth}"))).find_map(|copy| {
            let there_already = copy.exists();
            (!there_already && copy::elsewhere(&self.connection, &copy).is_ok()).then_some(copy)
        });
        Err(FileError::Gone { rescued }.at(&self.path))
    }

    /// Refuses what is not a sound logbook that this program knows, or has a log beside it that is not its own; writes
    /// nothing. Gives the form.
    fn refuse_unless_ours(&self) -> Result<i64, LogbookError> {
        let form = self.refuse_unless_sound();
        let looked_at = match &form {
            Ok(_) => Some(true),
            Err(error) => error.is_of_damage().then_some(false),
        };
        if let (Some(sound), Some(log)) = (looked_at, Log::of(&self.path)) {
            refuse_strange_log(&self.connection, &self.path, &log, sound)?;
        }
        form
    }

    fn refuse_unless_sound(&self) -> Result<i64, LogbookError> {
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
    fn prepare(&mut self, sync: SendOn) -> Result<(), LogbookError> {
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
        self.lacks_its_log = self.expects_a_log() && !has_wal(&self.path);
        // Also shows at once whether anything can be written.
        self.write(|transaction, path| {
            bring_up_to_date(transaction, path)?;
            writers::be_one(transaction, path)?;
            schema::note_in_use(transaction).map_err(|error| sqlite(path, error))
        })?;
        self.connection.pragma_update(None, "foreign_keys", true).map_err(|error| sqlite(&self.path, error))?;
        let log = beside(&self.path, "-wal");
        let disk = DiskSync::of(&self.path, &log, sync).map_err(|error| LogbookError::io(&log, error))?;
        // a copy of the file alone is whole from here on, and says that more may come
        disk.fold();
        self.disk = Some(disk);
        let fold = self.connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false);
        fold.map(|_| ()).map_err(|error| sqlite(&self.path, error))
    }
}

/// Notes that nothing is still to come: SQLite then folds the log into the file and removes it. A program that is killed
/// leaves both.
impl Drop for SqliteFile {
    fn drop(&mut self) {
        let written_to = self.disk.take().is_some();
        if written_to && FileIdentity::of(&self.path) == self.identity {
            // one that stays makes the next start look for a log
            let _ = schema::note_not_in_use(&self.connection);
        }
    }
}

/// The file with its log as it is at this moment, in memory where there is a log: nothing is made and nothing is locked.
fn read_by_ourselves(path: &Path) -> Result<Connection, LogbookError> {
    let refused = |error| LogbookError::io(path, error);
    let Some(log) = Log::of(path) else {
        return without_log(path).map_err(|error| sqlite(path, error));
    };
    let mut memory = Connection::open_in_memory().map_err(|error| sqlite(path, error))?;
    let file = log.folded_into(fs::read(path).map_err(refused)?);
    let read = memory.deserialize_read_exact("main", file.as_slice(), file.len(), true);
    read.map_err(|error| sqlite(path, error))?;
    Ok(memory)
}

/// Brings an empty or older file to [`FORM`], whole or not at all; an older one is copied first.
fn bring_up_to_date(transaction: &Transaction<'_>, path: &Path) -> Result<(), LogbookError> {
    let failed = |error| sqlite(path, error);
    let form: i64 = transaction.query_row("PRAGMA user_version", [], |row| row.get(0)).map_err(failed)?;
    match form {
        // Two programs may start on one file at once: the second finds the work done.
        FORM => schema::add_what_came_later(transaction).map_err(failed),
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
