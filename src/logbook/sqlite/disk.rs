//! Sends what was committed on to the disk, beside the keys, and folds the log into the file.
//!
//! A commit is in the system's hands when it returns, and so outlives a killed program. Only a power cut asks for more:
//! that the disk has it. Waiting for the disk takes 0.2 ms on an idle machine but was measured at 7 ms (median) and
//! 84 ms (99th percentile) on a busy one, far more than the 5 ms that a key may take; so a thread does the waiting. A
//! power cut can then take the keys of the last moments, never the order or the soundness of what is there: SQLite drops
//! an unfinished end of its log.
//!
//! Folding is for whoever copies the file alone: at the start, with each exam and after each entry what was kept is in the
//! file itself. It keeps nobody from reading or writing.

use std::fmt;
use std::fs::{File, OpenOptions};
use std::io;
use std::path::Path;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{Builder, JoinHandle};

use rusqlite::{Connection, OpenFlags};

/// Has what was written to a file sent on to the disk.
pub type SendOn = Arc<dyn Fn(&File) -> io::Result<()> + Send + Sync>;

/// Why the disk does not have what was committed, once it has failed. It stays: a system does not try again what it once
/// failed to write, so that a later success says nothing of it.
#[derive(Default)]
struct Failing {
    why: Option<String>,
    /// Told once, when it becomes known.
    tell: Option<Tell>,
}

type Failure = Arc<Mutex<Failing>>;

/// Tells somebody who waits that something is to be looked at.
pub type Tell = Box<dyn FnOnce() + Send>;

/// The thread that has the log written to the disk; ends, with the last of it written, when dropped.
pub struct DiskSync {
    wake: Option<SyncSender<()>>,
    fold: Option<SyncSender<()>>,
    thread: Option<JoinHandle<()>>,
    failure: Failure,
}

impl DiskSync {
    /// For the write-ahead log of an open logbook. SQLite holds no lock on that file, so it may be opened here too.
    ///
    /// # Errors
    /// When the log cannot be opened or no thread be started.
    pub fn of(path: &Path, log: &Path, sync: SendOn) -> io::Result<Self> {
        let log = OpenOptions::new().write(true).open(log)?;
        // One place each: a call that finds it taken is answered by the work that is still to begin.
        let (wake, woken) = sync_channel(1);
        let (fold, to_fold) = sync_channel(1);
        let failure = Failure::default();
        let (path, failing) = (path.to_owned(), Arc::clone(&failure));
        let work = move || work(&path, &log, &sync, &woken, &to_fold, &failing);
        let thread = Builder::new().name("logbook-disk".to_owned()).spawn(work)?;
        Ok(Self { wake: Some(wake), fold: Some(fold), thread: Some(thread), failure })
    }

    /// Says that something was committed. Never waits.
    pub fn wake(&self) {
        if let Some(wake) = &self.wake {
            // Full: a sync is still to begin and will see this commit too.
            let _ = wake.try_send(());
        }
    }

    /// Says that something was committed that is to be in the file itself soon. Never waits.
    pub fn fold(&self) {
        if let Some(fold) = &self.fold {
            let _ = fold.try_send(());
        }
        self.wake();
    }

    /// What the disk said when it last failed to take what was committed.
    pub fn failure(&self) -> Option<String> {
        self.failure.lock().unwrap_or_else(PoisonError::into_inner).why.clone()
    }

    /// Has somebody told once the disk fails: at once where it has failed already.
    pub fn when_it_fails(&self, tell: Tell) {
        let mut failing = self.failure.lock().unwrap_or_else(PoisonError::into_inner);
        if failing.why.is_none() {
            failing.tell = Some(tell);
            return;
        }
        drop(failing);
        tell();
    }
}

fn work(path: &Path, log: &File, sync: &SendOn, woken: &Receiver<()>, to_fold: &Receiver<()>, failing: &Failure) {
    let mut folding = None;
    while woken.recv().is_ok() {
        let folds = to_fold.try_recv().is_ok();
        let synced = sync(log).map_err(|error| error.to_string());
        let done = synced.and_then(|()| if folds { fold(path, &mut folding) } else { Ok(()) });
        if let Err(error) = done {
            tracing::warn!(%error, "the logbook could not be sent on to the disk");
            let mut failing = failing.lock().unwrap_or_else(PoisonError::into_inner);
            failing.why = Some(error);
            let tell = failing.tell.take();
            drop(failing);
            if let Some(tell) = tell {
                tell();
            }
        }
    }
}

/// Folds as much of the log into the file as nobody is reading. Another program that does so at this moment does it for all.
fn fold(path: &Path, folding: &mut Option<Connection>) -> Result<(), String> {
    let there_already = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = match folding {
        Some(connection) => connection,
        None => folding.insert(Connection::open_with_flags(path, there_already).map_err(|error| error.to_string())?),
    };
    let folded = connection.query_row("PRAGMA wal_checkpoint(PASSIVE)", [], |_| Ok(()));
    match folded {
        Err(error) if error.sqlite_error_code() != Some(rusqlite::ErrorCode::DatabaseBusy) => Err(error.to_string()),
        _ => Ok(()),
    }
}

impl fmt::Debug for DiskSync {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("DiskSync").field("failure", &self.failure()).finish_non_exhaustive()
    }
}

impl Drop for DiskSync {
    fn drop(&mut self) {
        drop(self.wake.take());
        if let Some(thread) = self.thread.take() {
            // It cannot have panicked; if it has, there is nothing to be done here.
            let _ = thread.join();
        }
    }
}
