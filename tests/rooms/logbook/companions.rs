//! The files beside a logbook: copied without them, with those of another, or gone; and a disk that fails behind it all.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use dioptray::exam::Event;
use dioptray::logbook::{ExamNumber, FileError, Ground, Logbook};
use tempfile::TempDir;

use super::{after, fresh, kept_exam, note, start};
use crate::kept_exam::{append, begin, read};

/// Waits until something is so; that takes a moment of another thread.
fn wait_for<T>(what: &str, mut look: impl FnMut() -> Option<T>) -> T {
    let since = Instant::now();
    loop {
        if let Some(seen) = look() {
            return seen;
        }
        assert!(since.elapsed() < Duration::from_secs(60), "waited in vain for {what}");
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// Copies of some of the files of a logbook, in a folder of their own.
fn copied(path: &Path, endings: &[&str]) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let copy = folder.path().canonicalize().unwrap().join("logbook.db");
    for ending in endings {
        fs::copy(beside(path, ending), beside(&copy, ending)).unwrap();
    }
    (folder, copy)
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

fn closed_exam(logbook: &mut Logbook, steps: usize) {
    let mut exam = begin(logbook, "Hillside", start()).unwrap();
    for number in 1..=steps {
        // enough of them for pages of their own
        let text = format!("step {number} of exam {} ", exam.open.number()).repeat(60);
        append(logbook, &mut exam, &note(&text), start()).unwrap();
    }
    append(logbook, &mut exam, &[Event::Finished], after(1)).unwrap();
}

/// A logbook as a killed program leaves it: an exam in the file, another in the log alone.
fn crashed() -> (TempDir, PathBuf) {
    let (_folder, path) = fresh();
    closed_exam(&mut Logbook::open(&path).unwrap(), 3);
    let mut logbook = Logbook::open(&path).unwrap();
    wait_for("the start in the file itself", || {
        Logbook::open_read_only(&copied(&path, &[""]).1).ok()?.lacks_its_log().then_some(())
    });
    closed_exam(&mut logbook, 30);
    copied(&path, &["", "-wal"])
}

fn exams(path: &Path) -> Vec<(i64, usize)> {
    let logbook = Logbook::open_read_only(path).unwrap();
    let list = logbook.exams().unwrap().exams;
    list.iter().map(|line| (line.number.0, read(&logbook, line.number).unwrap().steps.len())).collect()
}

#[test]
fn a_copy_of_the_file_alone_has_what_is_closed_while_the_program_goes_on() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let alone = || copied(&path, &[""]);
    wait_for("a new logbook in the file itself", || Logbook::open_read_only(&alone().1).ok());
    closed_exam(&mut logbook, 20);
    let (_kept, copy) = wait_for("the closed exam in the file itself", || {
        let (folder, copy) = alone();
        let logbook = Logbook::open_read_only(&copy).ok()?;
        let read = logbook.read_exam(ExamNumber(1)).ok()?;
        drop(logbook);
        read.closed().map(|_| (folder, copy))
    });
    assert_eq!(exams(&copy), [(1, 21)]);
    Logbook::open(&copy).unwrap().check().unwrap();
}

#[test]
fn a_log_of_another_logbook_is_refused_and_without_it_everything_is_there() {
    let (_other_folder, other) = crashed();
    let (_folder, path) = fresh();
    closed_exam(&mut Logbook::open(&path).unwrap(), 5);
    let path = path.canonicalize().unwrap();
    let log = beside(&path, "-wal");
    fs::copy(beside(&other, "-wal"), &log).unwrap();
    let bytes = (fs::read(&path).unwrap(), fs::read(&log).unwrap());
    for refusal in [Logbook::open(&path).unwrap_err(), Logbook::open_read_only(&path).unwrap_err()] {
        let said = refusal.to_string();
        assert!(matches!(refusal.file_error(), Some(FileError::StrangeLog { log: named }) if *named == log), "{said}");
        assert!(said.contains("move it to another folder"), "{said}");
    }
    assert!((fs::read(&path).unwrap(), fs::read(&log).unwrap()) == bytes, "something was changed");
    fs::remove_file(&log).unwrap();
    assert_eq!(exams(&path), [(1, 6)]);
    Logbook::open(&path).unwrap().check().unwrap();
}

/// A backup put over a logbook whose program was killed, whose log lies there still: of a later time, and of an earlier one.
#[test]
fn a_log_of_another_time_is_refused() {
    let (_folder, path) = fresh();
    let mut backups = Vec::new();
    for _ in 0..3 {
        let mut logbook = Logbook::open(&path).unwrap();
        closed_exam(&mut logbook, 25);
        let (folder, log) = copied(&path, &["-wal"]);
        drop(logbook);
        let (other, file) = copied(&path, &[""]);
        backups.push((file, log, [folder, other]));
    }
    for (backup, log) in [(0, 2), (2, 0), (2, 1)] {
        let put_back = tempfile::tempdir().unwrap();
        let path = put_back.path().join("logbook.db");
        fs::copy(&backups[backup].0, &path).unwrap();
        fs::copy(beside(&backups[log].1, "-wal"), beside(&path, "-wal")).unwrap();
        for refusal in [Logbook::open(&path).unwrap_err(), Logbook::open_read_only(&path).unwrap_err()] {
            assert!(matches!(refusal.file_error(), Some(FileError::StrangeLog { .. })), "{backup} {log}: {refusal}");
        }
        fs::remove_file(beside(&path, "-wal")).unwrap();
        assert_eq!(exams(&path).len(), backup + 1);
    }
}

#[test]
fn its_own_log_is_taken_whatever_it_holds() {
    let (_folder, path) = crashed();
    assert_eq!(exams(&path), [(2, 31), (1, 4)]);
    let mut logbook = Logbook::open(&path).unwrap();
    assert!(!logbook.lacks_its_log());
    closed_exam(&mut logbook, 2);
    // while it is open another program begins
    closed_exam(&mut Logbook::open(&path).unwrap(), 2);
    closed_exam(&mut logbook, 2);
    drop(logbook);
    assert_eq!(exams(&path).len(), 5);
}

#[test]
fn a_log_that_was_lost_is_missed_and_one_that_was_folded_in_is_not() {
    // a file that was copied while its log was being folded in is in no state without it
    let ((_folder, path), (_alone, alone)) = wait_for("a file that is whole without its log", || {
        let there = crashed();
        let alone = copied(&there.1, &[""]);
        let opened = Logbook::open_read_only(&alone.1);
        let is_torn = |error: &FileError| matches!(error, FileError::Damaged { .. });
        (!opened.is_err_and(|error| error.file_error().is_some_and(is_torn))).then_some((there, alone))
    });
    assert!(Logbook::open_read_only(&alone).unwrap().lacks_its_log());
    let logbook = Logbook::open(&alone).unwrap();
    assert!(logbook.lacks_its_log());
    assert_eq!(logbook.log_path(), beside(&alone, "-wal"));
    drop(logbook);
    assert!(!Logbook::open(&alone).unwrap().lacks_its_log(), "it was said, and the file goes on");
    // with its log there it is missed neither then nor later
    for _ in 0..2 {
        assert!(!Logbook::open_read_only(&path).unwrap().lacks_its_log());
        assert!(!Logbook::open(&path).unwrap().lacks_its_log());
    }
}

#[test]
fn what_is_removed_or_replaced_while_it_is_open_takes_no_step_and_is_saved() {
    let gone: [fn(&Path); 2] = [
        |path| fs::remove_file(path).unwrap(),
        |path| {
            let other = path.with_extension("other");
            drop(Logbook::open(&other).unwrap());
            fs::rename(other, path).unwrap();
        },
    ];
    for go in gone {
        let (_folder, path) = fresh();
        let mut logbook = Logbook::open(&path).unwrap();
        let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
        append(&mut logbook, &mut exam, &note("kept"), start()).unwrap();
        let before = exam.clone();
        go(&path);
        let refusal = append(&mut logbook, &mut exam, &note("goes nowhere"), start()).unwrap_err();
        let said = refusal.to_string();
        assert_eq!(exam, before);
        let Some(FileError::Gone { rescued: Some(rescued) }) = refusal.file_error() else { unreachable!("{said}") };
        assert!(said.contains("removed or replaced") && said.contains(&*rescued.to_string_lossy()), "{said}");
        assert_eq!(read(&Logbook::open_read_only(rescued).unwrap(), ExamNumber(1)).unwrap(), before);
    }
}

#[test]
fn a_disk_that_does_not_take_what_is_kept_is_said_and_nothing_is_lost() {
    let (_folder, path) = fresh();
    let fails = Arc::new(std::sync::atomic::AtomicBool::new(false));
    let failing = Arc::clone(&fails);
    let sync = move |log: &File| {
        if failing.load(std::sync::atomic::Ordering::SeqCst) {
            return Err(io::Error::from_raw_os_error(5));
        }
        log.sync_data()
    };
    let ground = Ground { network: &|_| None, sync: Arc::new(sync) };
    let mut logbook = Logbook::open_on(&path, ground).unwrap();
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    assert_eq!(logbook.disk_failure(), None);
    fails.store(true, std::sync::atomic::Ordering::SeqCst);
    append(&mut logbook, &mut exam, &note("in the system's hands"), start()).unwrap();
    let said = wait_for("the failure of the disk", || logbook.disk_failure());
    assert!(said.contains("os error 5"), "{said}");
    // a disk that takes what comes later has not taken what came before
    fails.store(false, std::sync::atomic::Ordering::SeqCst);
    append(&mut logbook, &mut exam, &note("later"), start()).unwrap();
    drop(logbook);
    assert_eq!(read(&Logbook::open(&path).unwrap(), ExamNumber(1)).unwrap(), exam);
}

#[test]
fn a_path_through_a_file_is_said_to_be_one() {
    let (_folder, path) = fresh();
    kept_exam(&path);
    let below = path.join("further").join("logbook.db");
    let said = Logbook::open(&below).unwrap_err().to_string();
    assert_eq!(
        said,
        format!(
            "{}: {} is not a folder, so that no logbook can be in it: name another file with --logbook FILE",
            below.display(),
            path.display()
        )
    );
    assert!(Logbook::open_read_only(&below).unwrap_err().to_string().contains("is not a folder"));
}

#[test]
fn who_only_reads_is_not_told_to_enter_something_again() {
    let (_folder, path) = fresh();
    kept_exam(&path);
    let locking = rusqlite::Connection::open(&path).unwrap();
    locking.execute_batch("PRAGMA locking_mode = EXCLUSIVE; BEGIN IMMEDIATE; DELETE FROM in_use; COMMIT").unwrap();
    let said = Logbook::open_read_only(&path).unwrap_err().to_string();
    assert!(said.contains("kept it locked") && said.contains("try again") && !said.contains("enter"), "{said}");
}
