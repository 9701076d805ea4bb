//! Which program has which box open.
//!
//! A program that opens a box holds a lock on a small file beside the logbook for as long as it lives; the system lets
//! go of the lock when the program ends, however it ends. So a claim never outlives its program, and no process number
//! has to be asked whether it is still the same program. The logbook itself keeps who and since when, for the message.

use std::fs::{File, TryLockError};
use std::io;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use jiff::Timestamp;

use super::engine::ClaimRow;
use super::error::LogbookError;
use super::files::{host_name, lock_file, owner_only};
use super::names::{BoxKey, ExamNumber, Holder, NamedBox};
use super::row;
use super::store::Logbook;

/// How long to try for a lock, so that a program that merely looks who has it is not taken for a holder.
const TRYING: Duration = Duration::from_millis(200);

/// The right to work with a box; it lasts until it is released or dropped, or the program ends.
#[derive(Debug)]
pub struct BoxClaim {
    in_box: i64,
    box_name: String,
    noted: ClaimRow,
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
    pub fn claim_box(&mut self, named: &NamedBox, at: Timestamp) -> Result<BoxClaim, LogbookError> {
        let in_box = self.engine.note_box(named, None)?;
        let file = self.lock_file(in_box);
        let lock = owner_only().read(true).write(true).create(true).truncate(false).open(&file);
        let lock = lock.map_err(|error| LogbookError::io(&file, error))?;
        let since = Instant::now();
        while let Err(refusal) = lock.try_lock() {
            match refusal {
                TryLockError::Error(error) => return Err(LogbookError::io(&file, error)),
                TryLockError::WouldBlock if since.elapsed() >= TRYING => {
                    let holder = self.noted_holder(in_box)?;
                    return Err(LogbookError::BoxOpen { box_name: named.name.clone(), holder });
                }
                TryLockError::WouldBlock => std::thread::sleep(Duration::from_millis(10)),
            }
        }
        let noted = ClaimRow { process: std::process::id(), host: host_name(), since: at.to_string(), exam: None };
        self.engine.note_claim(in_box, Some(&noted))?;
        Ok(BoxClaim { in_box, box_name: named.name.clone(), noted, lock })
    }

    /// Notes the exam for which a claimed box is in use; it is shown to others.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn note_exam(&mut self, claim: &BoxClaim, exam: ExamNumber) -> Result<(), LogbookError> {
        self.engine.note_claim(claim.in_box, Some(&ClaimRow { exam: Some(exam), ..claim.noted.clone() }))
    }

    /// Lets go of a box.
    ///
    /// # Errors
    /// When it cannot be written; the box is free all the same.
    pub fn release_box(&mut self, claim: BoxClaim) -> Result<(), LogbookError> {
        let released = self.engine.note_claim(claim.in_box, None);
        // Only now: before, another program could have written its own name already.
        drop(claim.lock);
        released
    }

    /// The living program that has a box open, if any.
    ///
    /// # Errors
    /// When it cannot be found out.
    pub fn holder_of(&self, key: &BoxKey) -> Result<Option<Holder>, LogbookError> {
        let Some(known) = self.engine.known_box(key)? else {
            return Ok(None);
        };
        let file = self.lock_file(known.number);
        let lock = match File::open(&file) {
            Ok(lock) => lock,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(LogbookError::io(&file, error)),
        };
        match lock.try_lock_shared() {
            Ok(()) => Ok(None),
            Err(TryLockError::WouldBlock) => self.noted_holder(known.number).map(Some),
            Err(TryLockError::Error(error)) => Err(LogbookError::io(&file, error)),
        }
    }

    fn noted_holder(&self, in_box: i64) -> Result<Holder, LogbookError> {
        let Some(noted) = self.engine.claim(in_box)? else {
            // It has the lock but has not come to write its name.
            return Ok(Holder { process: None, host: None, since: None, exam: None });
        };
        let since = row::time(self.path(), "who has the box open", &noted.since)?;
        Ok(Holder { process: Some(noted.process), host: noted.host, since: Some(since), exam: noted.exam })
    }

    fn lock_file(&self, in_box: i64) -> PathBuf {
        lock_file(self.path(), in_box)
    }
}
