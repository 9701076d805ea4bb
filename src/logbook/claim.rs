//! Which program has which box open.
//!
//! A program that opens a box holds a lock on a small file beside the logbook for as long as it lives; the system lets
//! go of the lock when the program ends, however it ends. So a claim never outlives its program, and no process number
//! has to be asked whether it is still the same program. The logbook itself keeps who and since when, for the message.

use std::fmt;
use std::fs::{self, File, TryLockError};
use std::io;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use jiff::Timestamp;
use rusqlite::OptionalExtension as _;

use super::boxes::box_id;
use super::error::LogbookError;
use super::exams::ExamId;
use super::row;
use super::store::{Logbook, beside, owner_only};

/// How long to try for a lock, so that a program that merely looks who has it is not taken for a holder.
const TRYING: Duration = Duration::from_millis(200);

/// The program that has a box open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder {
    /// Its process number; `None` when it has not told yet.
    pub process: Option<u32>,
    /// The computer or container it runs in, if it knows its name.
    pub host: Option<String>,
    /// Since when.
    pub since: Option<Timestamp>,
    /// The exam it is in, if any.
    pub exam: Option<ExamId>,
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("another Dioptray")?;
        let process = self.process.map(|process| format!(" (process {process}"));
        if let Some(process) = process {
            let host = self.host.as_ref().map(|host| format!(" on {host}")).unwrap_or_default();
            write!(f, "{process}{host})")?;
        }
        if let Some(exam) = self.exam {
            write!(f, ", in exam {exam}")?;
        }
        self.since.map_or(Ok(()), |since| write!(f, ", since {since:.0}"))
    }
}

/// The right to work with a box; it lasts until it is released or dropped, or the program ends.
#[derive(Debug)]
pub struct BoxClaim {
    in_box: i64,
    box_name: String,
    /// Closing it lets go of the lock.
    lock: File,
}

impl BoxClaim {
    /// The name of the box.
    pub fn box_name(&self) -> &str {
        &self.box_name
    }
}

impl Logbook {
    /// Claims a box for this program. A claim of a program that has ended does not stand in the way.
    ///
    /// # Errors
    /// [`LogbookError::BoxOpen`] with who has it when another living program has the box open.
    pub fn claim_box(&mut self, box_name: &str, at: Timestamp) -> Result<BoxClaim, LogbookError> {
        let in_box = self.write(|transaction, path| box_id(transaction, path, box_name))?;
        let file = self.lock_file(in_box);
        let lock = owner_only().read(true).write(true).create(true).truncate(false).open(&file);
        let lock = lock.map_err(|error| LogbookError::io(&file, error))?;
        let since = Instant::now();
        while let Err(refusal) = lock.try_lock() {
            match refusal {
                TryLockError::Error(error) => return Err(LogbookError::io(&file, error)),
                TryLockError::WouldBlock if since.elapsed() >= TRYING => {
                    let holder = self.noted_holder(in_box)?;
                    return Err(LogbookError::BoxOpen { box_name: box_name.to_owned(), holder });
                }
                TryLockError::WouldBlock => std::thread::sleep(Duration::from_millis(10)),
            }
        }
        self.write(|transaction, path| {
            let sql = "INSERT INTO claim (box, process, host, since) VALUES (?1, ?2, ?3, ?4)
                       ON CONFLICT (box) DO UPDATE SET
                       process = excluded.process, host = excluded.host, since = excluded.since, exam = NULL";
            let done = transaction.execute(sql, (in_box, std::process::id(), host_name(), at.to_string()));
            done.map(|_| ()).map_err(|error| LogbookError::sqlite(path, error))
        })?;
        Ok(BoxClaim { in_box, box_name: box_name.to_owned(), lock })
    }

    /// Notes the exam for which a claimed box is in use; others are told.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn note_exam(&mut self, claim: &BoxClaim, exam: ExamId) -> Result<(), LogbookError> {
        self.write(|transaction, path| {
            let done = transaction.execute("UPDATE claim SET exam = ?2 WHERE box = ?1", (claim.in_box, exam.0));
            done.map(|_| ()).map_err(|error| LogbookError::sqlite(path, error))
        })
    }

    /// Lets go of a box.
    ///
    /// # Errors
    /// When it cannot be written; the box is free all the same.
    pub fn release_box(&mut self, claim: BoxClaim) -> Result<(), LogbookError> {
        let released = self.write(|transaction, path| {
            let done = transaction.execute("DELETE FROM claim WHERE box = ?1", [claim.in_box]);
            done.map(|_| ()).map_err(|error| LogbookError::sqlite(path, error))
        });
        // Only now: before, another program could have written its own name already.
        drop(claim.lock);
        released
    }

    /// The living program that has a box open, if any.
    ///
    /// # Errors
    /// When it cannot be found out.
    pub fn holder_of(&self, box_name: &str) -> Result<Option<Holder>, LogbookError> {
        let known = self.connection.query_row("SELECT id FROM box WHERE name = ?1", [box_name], |row| row.get(0));
        let Some(in_box) = known.optional().map_err(|error| self.failed(error))? else {
            return Ok(None);
        };
        let file = self.lock_file(in_box);
        let lock = match File::open(&file) {
            Ok(lock) => lock,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(LogbookError::io(&file, error)),
        };
        match lock.try_lock_shared() {
            Ok(()) => Ok(None),
            Err(TryLockError::WouldBlock) => self.noted_holder(in_box).map(Some),
            Err(TryLockError::Error(error)) => Err(LogbookError::io(&file, error)),
        }
    }

    fn noted_holder(&self, in_box: i64) -> Result<Holder, LogbookError> {
        let sql = "SELECT process, host, since, exam FROM claim WHERE box = ?1";
        let noted = self.connection.query_row(sql, [in_box], |row| {
            let exam: Option<i64> = row.get(3)?;
            Ok((row.get(0)?, row.get(1)?, row.get::<_, String>(2)?, exam.map(ExamId)))
        });
        // It has the lock but has not come to write its name.
        let untold = Holder { process: None, host: None, since: None, exam: None };
        let Some((process, host, since, exam)) = noted.optional().map_err(|error| self.failed(error))? else {
            return Ok(untold);
        };
        let since = row::time(self.path(), "who has the box open", &since)?;
        Ok(Holder { process: Some(process), host, since: Some(since), exam })
    }

    /// Beside the logbook, by number: the name of a box need not be fit for a file.
    fn lock_file(&self, in_box: i64) -> PathBuf {
        beside(self.path(), &format!("-box-{in_box}.lock"))
    }
}

/// The name of this computer or container, where the system tells it in a file.
fn host_name() -> Option<String> {
    let name = fs::read_to_string("/proc/sys/kernel/hostname").ok()?;
    let name = name.trim();
    (!name.is_empty()).then(|| name.to_owned())
}
