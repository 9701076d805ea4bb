//! Logbooks that cannot be used: each is refused in words, and nothing in it is touched.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test stops where something is not as it must be")]

use std::fs;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

use crate::invented::declared_box;
use crate::kept_exam::{append, begin, named, read};
use dioptray::exam::Event;
use dioptray::kit::BoxChange;
use dioptray::logbook::{BoxKey, ExamNumber, FileError, Logbook, LogbookError};
use dioptray::sharing::body;
use jiff::Timestamp;
use rusqlite::Connection;
use tempfile::TempDir;

fn start() -> Timestamp {
    "2026-03-01T09:30:00Z".parse().unwrap()
}

fn folder() -> TempDir {
    tempfile::tempdir().unwrap()
}

fn note(text: &str) -> [Event; 1] {
    [Event::Note(text.to_owned())]
}

/// A logbook with an exam of 40 steps and a change of its box, all in the one file.
fn kept(folder: &Path) -> PathBuf {
    let path = folder.join("logbook.db");
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    for number in 1..=40 {
        append(&mut logbook, &mut exam, &note(&format!("step {number}")), start()).unwrap();
    }
    let lost = BoxChange::Lost("-2.00 sphere #1".parse().unwrap());
    logbook.change_box(&named("Hillside"), &declared_box("Hillside"), &lost, None, start()).unwrap();
    path.canonicalize().unwrap()
}

/// Every file of a folder with what is in it, but for the memory that SQLite shares between programs (`-shm`) and for
/// empty companions, which it may leave.
fn contents(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let files = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut contents: Vec<_> = files
        .filter(|file| !file.to_str().unwrap().ends_with("-shm"))
        .map(|file| (file.clone(), fs::read(file).unwrap()))
        .filter(|(_, content)| !content.is_empty())
        .collect();
    contents.sort();
    contents
}

/// The refusals for writing and for reading; the folder must be as it was.
fn refusals(path: &Path) -> [String; 2] {
    let before = contents(path.parent().unwrap());
    let writing = Logbook::open(path).unwrap_err().to_string();
    let reading = Logbook::open_read_only(path).unwrap_err().to_string();
    assert!(contents(path.parent().unwrap()) == before, "something was changed in refusing");
    [writing, reading]
}

/// Changes a logbook behind its back.
fn meddle(path: &Path, sql: &str) {
    Connection::open(path).unwrap().execute_batch(sql).unwrap();
}

#[test]
fn a_file_of_another_kind() {
    let folder = folder();
    let path = folder.path().canonicalize().unwrap().join("letter.txt");
    let noise: Vec<u8> = (0..20_000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    for content in [&b"Dear Sir"[..], &noise] {
        fs::write(&path, content).unwrap();
        let expected = format!(
            "{}: this is another kind of file, or an SQLite file with a damaged beginning, not a Dioptray logbook; nothing in it was changed. Name \
             another file with --logbook FILE",
            path.display()
        );
        assert_eq!(refusals(&path), [expected.clone(), expected]);
    }
}

#[test]
fn a_database_of_another_program() {
    let folder = folder();
    let path = folder.path().canonicalize().unwrap().join("other.db");
    let expected = format!(
        "{}: this is an SQLite file of another program, not a Dioptray logbook; nothing in it was changed. Name another file with \
         --logbook FILE",
        path.display()
    );
    meddle(&path, "CREATE TABLE stamps (country TEXT)");
    assert_eq!(refusals(&path), [expected.clone(), expected.clone()]);
    // even when that program was killed and its last work still lies beside the file
    let other = Connection::open(&path).unwrap();
    other.execute_batch("PRAGMA journal_mode = WAL; INSERT INTO stamps VALUES ('Peru')").unwrap();
    let killed = tempfile::tempdir().unwrap();
    for (file, content) in contents(folder.path()) {
        fs::write(killed.path().join(file.file_name().unwrap()), content).unwrap();
    }
    let left = killed.path().canonicalize().unwrap().join("other.db");
    assert!(fs::metadata(killed.path().join("other.db-wal")).unwrap().len() > 0);
    let expected = expected.replace(path.to_str().unwrap(), left.to_str().unwrap());
    assert_eq!(refusals(&left), [expected.clone(), expected]);
}

#[test]
fn a_truncated_logbook() {
    let folder = folder();
    let path = kept(folder.path());
    let whole = fs::read(&path).unwrap();
    for length in [whole.len() / 2, whole.len() - 4096, 4096, 1000, 50] {
        fs::write(&path, &whole[..length]).unwrap();
        for refusal in refusals(&path) {
            let damaged = "this logbook is damaged (";
            let unreadable = "this is another kind of file, or an SQLite file with a damaged beginning";
            assert!(refusal.contains(damaged) || refusal.contains(unreadable), "{length} bytes: {refusal}");
        }
    }
}

/// Every page in turn is overwritten: either the logbook is refused when it is opened or when the page is read, or
/// everything reads as it was, because the page held nothing.
#[test]
fn a_logbook_with_an_overwritten_page() {
    let folder = folder();
    let path = kept(folder.path());
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = read(&logbook, ExamNumber(1)).unwrap();
    // over several pages that hold nothing but its text
    append(&mut logbook, &mut exam, &note(&"a long note ".repeat(2000)), start()).unwrap();
    drop(logbook);
    let whole = fs::read(&path).unwrap();
    let exam = read(&Logbook::open(&path).unwrap(), ExamNumber(1)).unwrap();
    let everything = |logbook: &Logbook| -> Result<bool, LogbookError> {
        logbook.exams()?;
        let changes = logbook.box_changes(&BoxKey::of_name("Hillside"))?.len();
        Ok(read(logbook, ExamNumber(1))? == exam && changes == 1)
    };
    let pages = whole.len() / 4096;
    let (mut at_opening, mut at_reading) = (0, 0);
    for (page, length) in (0..pages).flat_map(|page| [(page, 4096), (page, 700)]) {
        let mut damaged = whole.clone();
        let end = (page + 1) * 4096;
        damaged[end - length..end].fill(0xA5);
        fs::write(&path, &damaged).unwrap();
        match Logbook::open(&path) {
            Err(LogbookError::At { error: FileError::Damaged { .. } | FileError::NotALogbook { .. }, .. }) => {
                at_opening += 1;
                assert!(fs::read(&path).unwrap() == damaged, "page {page} was changed in refusing");
            }
            Err(other) => panic!("page {page}: {other}"),
            Ok(logbook) => match everything(&logbook) {
                Err(LogbookError::At { error: FileError::Damaged { .. } | FileError::Unreadable { .. }, .. }) => {
                    at_reading += 1;
                }
                Err(other) => panic!("page {page}: {other}"),
                Ok(as_it_was) => assert!(as_it_was, "page {page}: the damage was not noticed"),
            },
        }
    }
    assert!(at_opening > 5 && at_reading > 0, "{at_opening} and {at_reading} of {pages} pages");
}

#[test]
fn a_logbook_of_a_newer_program() {
    let folder = folder();
    let path = kept(folder.path());
    meddle(&path, "PRAGMA user_version = 99");
    let expected = format!(
        "{}: this logbook has form 99, written by a newer Dioptray; this one knows forms up to 2. Nothing in it was changed. Use the newer \
         Dioptray, or another file: --logbook FILE",
        path.display()
    );
    assert_eq!(refusals(&path), [expected.clone(), expected]);
}

#[test]
fn a_step_of_a_newer_program() {
    let folder = folder();
    let path = kept(folder.path());
    let step = |number, format, events: &str| {
        format!(
            "INSERT INTO step (exam, number, at, format, events) VALUES (1, {number}, '2026-03-01T09:30:00Z', {format}, '{events}')"
        )
    };
    let exam = read(&Logbook::open(&path).unwrap(), ExamNumber(1)).unwrap();
    meddle(&path, &step(41, 1, r#"[{"perimetry":[1,2]}]"#));
    let before = fs::read(&path).unwrap();
    let mut logbook = Logbook::open(&path).unwrap();
    let refusal = read(&logbook, ExamNumber(1)).unwrap_err().to_string();
    let beginning = format!("{}: step 41 of exam 1 cannot be read: unknown variant `perimetry`", path.display());
    assert!(refusal.starts_with(&beginning), "{refusal}");
    assert!(refusal.ends_with("It was left as it is; a newer Dioptray may be able to read it"), "{refusal}");
    // nor can a step be put over it by one who had the exam open before
    let refusal = append(&mut logbook, &mut exam.clone(), &note("over it"), start()).unwrap_err();
    assert!(matches!(refusal, LogbookError::ContinuedElsewhere { .. }), "{refusal}");
    drop(logbook);
    assert!(fs::read(&path).unwrap() == before, "the file was changed");
}

#[test]
fn rows_that_do_not_fit() {
    let row = |values: &str| format!("INSERT INTO step (exam, number, at, format, events) VALUES (1, {values})");
    let cases = [
        (row("41, '2026-03-01T09:30:00Z', 3, '[]'"), "step 41 of exam 1 cannot be read: it has row form 3, and this program knows forms to 2"),
        (row(r#"41, '2026-03-01T09:30:00Z', 2, '[{"p":0}]'"#), "step 41 of exam 1 cannot be read: 0 stands for what was not written before"),
        (row("41, 'yesterday', 1, '[]'"), "step 41 of exam 1 cannot be read: `yesterday` is not a time"),
        (row("42, '2026-03-01T09:30:00Z', 1, '[]'"), "step 42 of exam 1 cannot be read: step 41 before it is not there"),
        (
            row(r#"41, '2026-03-01T09:30:00Z', 1, '["redone"]'"#),
            "step 41 of exam 1 cannot be read: it cannot follow the steps before it: nothing to redo",
        ),
        (row("41, '2026-03-01T09:30:00Z', 1, '[{\"note\":'"), "step 41 of exam 1 cannot be read: EOF while parsing"),
        (
            "DROP TRIGGER opening_is_kept; UPDATE opening SET opening = replace(opening, '\"cells\":[', '\"cells\":[],\"were\":[')".to_owned(),
            "the beginning of exam 1 cannot be read: its frame has no cell, or more than can be",
        ),
    ];
    for (sql, expected) in cases {
        let folder = folder();
        let path = kept(folder.path());
        meddle(&path, &sql);
        let refusal = read(&Logbook::open(&path).unwrap(), ExamNumber(1)).unwrap_err().to_string();
        assert!(refusal.starts_with(&format!("{}: {expected}", path.display())), "{refusal}");
    }
}

#[test]
fn a_change_of_a_box_by_a_newer_program() {
    let folder = folder();
    let path = kept(folder.path());
    let change = r#"{"polished":"-2.00 sphere #1"}"#.as_bytes();
    let values = (body::Hash::of(change).as_bytes().to_vec(), body::deflate(change).unwrap());
    let sql = "INSERT INTO entry (writer, number, kind, about, at, format, body_hash, hash, body)
               SELECT writer, 2, 'box_change', CAST('name:Hillside' AS BLOB), '2026-03-01T09:30:00Z', 1, ?1, zeroblob(32), ?2 FROM me";
    Connection::open(&path).unwrap().execute(sql, values).unwrap();
    let mut logbook = Logbook::open(&path).unwrap();
    let declared = declared_box("Hillside");
    let change = BoxChange::Lost("-2.00 sphere #2".parse().unwrap());
    // it is named and passed over: nobody is kept from the box
    let mut expected = vec![
        logbook.stock_of(&BoxKey::of_name("Hillside"), &declared).unwrap(),
        logbook.change_box(&named("Hillside"), &declared, &change, None, start()).unwrap(),
    ];
    for on_record in &expected {
        let [unread] = on_record.unread.as_slice() else { panic!("{:?}", on_record.unread) };
        assert!(unread.contains("change 2 of the box Hillside cannot be read: unknown variant `polished`"), "{unread}");
    }
    let lost = expected.pop().unwrap().stock.counts().iter().map(|count| u32::from(count.lost)).sum::<u32>();
    assert_eq!(lost, 3, "one by the file, one before it and one after");
}

#[test]
fn a_folder_or_a_device_in_place_of_the_file() {
    let folder = folder();
    let path = folder.path().join("logbook.db");
    fs::create_dir(&path).unwrap();
    let expected = format!("{}: this is a folder, not a file: name a file with --logbook FILE", path.display());
    for refusal in [Logbook::open(&path).unwrap_err(), Logbook::open_read_only(&path).unwrap_err()] {
        assert_eq!(refusal.to_string(), expected);
    }
    #[cfg(unix)]
    assert_eq!(
        Logbook::open(Path::new("/dev/null")).unwrap_err().to_string(),
        "/dev/null: this is a device or a pipe, not a file: name a file with --logbook FILE"
    );
}

#[test]
fn no_such_logbook_to_read() {
    let folder = folder();
    let path = folder.path().join("logbook.db");
    let expected = format!("{}: there is no such logbook", path.display());
    assert_eq!(Logbook::open_read_only(&path).unwrap_err().to_string(), expected);
    assert!(!path.exists());
}

#[test]
fn an_empty_file_becomes_a_logbook() {
    let folder = folder();
    let path = folder.path().join("logbook.db");
    fs::write(&path, "").unwrap();
    assert!(Logbook::open_read_only(&path).unwrap_err().to_string().contains("this is an empty file"));
    begin(&mut Logbook::open(&path).unwrap(), "Hillside", start()).unwrap();
    assert_eq!(Logbook::open(&path).unwrap().exams().unwrap().exams.len(), 1);
}

#[test]
fn a_logbook_that_another_program_keeps_locked() {
    let folder = folder();
    let path = kept(folder.path());
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = read(&logbook, ExamNumber(1)).unwrap();
    let before = exam.clone();
    let locking = Connection::open(&path).unwrap();
    locking.execute_batch("BEGIN IMMEDIATE").unwrap();
    let since = Instant::now();
    let refusal = append(&mut logbook, &mut exam, &note("while locked"), start()).unwrap_err();
    assert!(since.elapsed() >= Duration::from_secs(1), "it did not wait");
    assert_eq!(
        refusal.to_string(),
        format!(
            "{}: another program has kept this logbook locked for 2 seconds: what was last entered was not saved. Close that program, and \
             enter it again",
            path.display()
        )
    );
    assert_eq!(exam, before);
    // reading goes on meanwhile, and writing afterwards
    assert_eq!(read(&logbook, ExamNumber(1)).unwrap(), before);
    locking.execute_batch("ROLLBACK").unwrap();
    append(&mut logbook, &mut exam, &note("afterwards"), start()).unwrap();
    assert_eq!(read(&logbook, ExamNumber(1)).unwrap(), exam);
}

#[cfg(unix)]
mod another_user {
    //! What the system forbids: tried in a child under a user without rights, because root is forbidden nothing.

    use std::env;
    use std::os::unix::fs::{PermissionsExt as _, chown};
    use std::os::unix::process::CommandExt as _;
    use std::process::Command;

    use super::*;

    const LOGBOOK: &str = "DIOPTRAY_TEST_LOGBOOK";
    /// The user and group that own nothing (65534 by custom of Linux distributions).
    const NOBODY: u32 = 65534;

    #[test]
    #[ignore = "a child's part: opens a logbook and tells how it went"]
    fn part_open_and_tell() {
        let path = PathBuf::from(env::var(LOGBOOK).unwrap());
        match Logbook::open(&path) {
            Ok(mut logbook) => match begin(&mut logbook, "Hillside", start()) {
                Ok(mut exam) => {
                    let mut kept = 0;
                    let refusal = (0..100_000).find_map(|number| {
                        kept = number;
                        append(&mut logbook, &mut exam, &note(&"a long note ".repeat(200)), start()).err()
                    });
                    println!(
                        "\nwriting: after {kept} steps: {}",
                        refusal.map_or("no end".to_owned(), |e| e.to_string())
                    );
                }
                Err(refusal) => println!("\nwriting: {refusal}"),
            },
            Err(refusal) => println!("\nwriting: {refusal}"),
        }
        match Logbook::open_read_only(&path).and_then(|logbook| read(&logbook, ExamNumber(1))) {
            Ok(exam) => println!("\nreading: {} steps", exam.steps.len()),
            Err(refusal) => println!("\nreading: {refusal}"),
        }
    }

    /// A folder that anybody can enter, with this program in it.
    fn open_folder() -> (TempDir, PathBuf) {
        let folder = folder();
        fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
        let program = folder.path().join("program");
        fs::copy(env::current_exe().unwrap(), &program).unwrap();
        fs::set_permissions(&program, fs::Permissions::from_mode(0o755)).unwrap();
        (folder, program)
    }

    fn is_root() -> bool {
        let own = fs::metadata("/proc/self").map(|found| std::os::unix::fs::MetadataExt::uid(&found));
        own.is_ok_and(|uid| uid == 0)
    }

    /// What a user without rights gets as an answer to writing and to reading.
    fn answers(mut program: Command, path: &Path) -> [String; 2] {
        program.args([
            "--ignored",
            "--exact",
            "faults::another_user::part_open_and_tell",
            "--nocapture",
            "--test-threads=1",
        ]);
        program.env(LOGBOOK, path).current_dir("/");
        if is_root() {
            program.uid(NOBODY).gid(NOBODY);
        }
        let out = program.output().unwrap();
        let text = String::from_utf8(out.stdout).unwrap();
        ["writing: ", "reading: "].map(|kind| {
            let line = text.lines().find_map(|line| line.strip_prefix(kind));
            line.unwrap_or_else(|| panic!("{text}\n{}", String::from_utf8_lossy(&out.stderr))).to_owned()
        })
    }

    /// Gives a logbook and its folder to the user without rights, and then these modes.
    fn hand_over(path: &Path, file_mode: u32, folder_mode: u32) {
        let folder = path.parent().unwrap();
        if is_root() {
            chown(path, Some(NOBODY), Some(NOBODY)).unwrap();
            chown(folder, Some(NOBODY), Some(NOBODY)).unwrap();
        }
        fs::set_permissions(path, fs::Permissions::from_mode(file_mode)).unwrap();
        fs::set_permissions(folder, fs::Permissions::from_mode(folder_mode)).unwrap();
    }

    fn kept_in(folder: &Path) -> PathBuf {
        let data = folder.join("data");
        fs::create_dir(&data).unwrap();
        kept(&data)
    }

    fn read_only(path: &Path) -> String {
        format!(
            "{}: this logbook can be read but not written: the file or its folder is read-only. Make both writable, or name another file \
             with --logbook FILE",
            path.display()
        )
    }

    fn no_permission(path: &Path) -> String {
        format!(
            "{}: this logbook cannot be opened: this user may not read and write it, or may not write in its folder. Ask its owner, or \
             name another file with --logbook FILE",
            path.display()
        )
    }

    #[test]
    fn a_read_only_file() {
        let (folder, program) = open_folder();
        let path = kept_in(folder.path());
        hand_over(&path, 0o400, 0o700);
        let before = fs::read(&path).unwrap();
        assert_eq!(answers(Command::new(&program), &path), [read_only(&path), "40 steps".to_owned()]);
        assert!(fs::read(&path).unwrap() == before, "the file was changed");
    }

    /// What is read without the right to write leaves nothing beside the logbook that its owner could not write later.
    #[test]
    fn a_file_that_was_read_only_for_a_while() {
        let (folder, program) = open_folder();
        let path = kept_in(folder.path());
        hand_over(&path, 0o400, 0o700);
        assert_eq!(answers(Command::new(&program), &path)[1], "40 steps");
        let left: Vec<_> =
            fs::read_dir(path.parent().unwrap()).unwrap().map(|file| file.unwrap().file_name()).collect();
        assert_eq!(left, ["logbook.db"]);
        // as the program of before left them
        for ending in ["-wal", "-shm"] {
            let companion = PathBuf::from(format!("{}{ending}", path.display()));
            fs::write(&companion, "").unwrap();
            if is_root() {
                chown(&companion, Some(NOBODY), Some(NOBODY)).unwrap();
            }
            fs::set_permissions(&companion, fs::Permissions::from_mode(0o400)).unwrap();
        }
        fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).unwrap();
        let mut limited = Command::new("sh");
        limited.args(["-c", r#"trap "" XFSZ; ulimit -f 1100; exec "$0" "$@""#]).arg(&program);
        let writing = &answers(limited, &path)[0];
        assert!(writing.starts_with("after "), "{writing}");
    }

    /// A second user has the folder too, but not the companions of the first.
    #[test]
    fn a_companion_of_another_user_is_named() {
        let (folder, program) = open_folder();
        let path = kept_in(folder.path());
        let companion = PathBuf::from(format!("{}-shm", path.display()));
        fs::write(&companion, "").unwrap();
        fs::set_permissions(&companion, fs::Permissions::from_mode(0o600)).unwrap();
        hand_over(&path, 0o600, 0o700);
        if is_root() {
            let writing = &answers(Command::new(&program), &path)[0];
            assert!(writing.contains(&companion.display().to_string()), "{writing}");
        } else {
            // the companion is this user's own, and gets its rights back
            fs::set_permissions(&companion, fs::Permissions::from_mode(0o400)).unwrap();
            Logbook::open(&path).unwrap();
        }
    }

    /// As on a full disk nothing can be written at all: what there is can be read all the same, and a start leaves nothing.
    #[test]
    fn a_disk_without_any_room() {
        let (folder, program) = open_folder();
        let data = folder.path().join("data");
        fs::create_dir(&data).unwrap();
        let elsewhere = folder.path().join("elsewhere");
        fs::create_dir(&elsewhere).unwrap();
        let open = kept(&elsewhere);
        let mut logbook = Logbook::open(&open).unwrap();
        let mut exam = read(&logbook, ExamNumber(1)).unwrap();
        append(&mut logbook, &mut exam, &note("in the log alone"), start()).unwrap();
        let path = data.join("logbook.db");
        for ending in ["", "-wal"] {
            let copy = PathBuf::from(format!("{}{ending}", path.display()));
            fs::copy(format!("{}{ending}", open.display()), &copy).unwrap();
            if is_root() {
                chown(&copy, Some(NOBODY), Some(NOBODY)).unwrap();
            }
        }
        hand_over(&path, 0o600, 0o700);
        let full = || {
            let mut limited = Command::new("sh");
            limited.args(["-c", r#"trap "" XFSZ; ulimit -f 0; exec "$0" "$@""#]).arg(&program);
            limited
        };
        let [writing, reading] = answers(full(), &path);
        assert!(writing.contains("the disk"), "{writing}");
        assert_eq!(reading, "41 steps");
        let new = data.join("new.db");
        let [writing, reading] = answers(full(), &new);
        assert!(writing.contains("the disk"), "{writing}");
        assert!(reading.contains("there is no such logbook"), "{reading}");
        assert!(!new.exists());
    }

    #[test]
    fn more_files_than_may_be_open() {
        let (folder, program) = open_folder();
        let path = kept_in(folder.path());
        hand_over(&path, 0o600, 0o700);
        let mut limited = Command::new("sh");
        limited.args(["-c", r#"ulimit -n 4; exec "$0" "$@""#]).arg(&program);
        let [writing, reading] = answers(limited, &path);
        for refusal in [writing, reading] {
            assert!(refusal.contains("too many files are open"), "{refusal}");
        }
    }

    #[test]
    fn a_read_only_folder() {
        let (folder, program) = open_folder();
        let path = kept_in(folder.path());
        hand_over(&path, 0o600, 0o500);
        let before = fs::read(&path).unwrap();
        let [writing, reading] = answers(Command::new(&program), &path);
        assert!(writing == read_only(&path) || writing == no_permission(&path), "{writing}");
        assert_eq!(reading, "40 steps");
        assert!(fs::read(&path).unwrap() == before, "the file was changed");
        fs::set_permissions(path.parent().unwrap(), fs::Permissions::from_mode(0o700)).unwrap();
    }

    #[test]
    fn a_read_only_folder_for_a_new_logbook() {
        let (folder, program) = open_folder();
        let data = folder.path().join("data");
        fs::create_dir(&data).unwrap();
        fs::set_permissions(&data, fs::Permissions::from_mode(0o555)).unwrap();
        let path = data.join("logbook.db");
        let missing = format!("{}: there is no such logbook", path.display());
        assert_eq!(answers(Command::new(&program), &path), [no_permission(&path), missing]);
    }

    #[test]
    fn a_file_that_may_not_be_read() {
        let (folder, program) = open_folder();
        let path = kept_in(folder.path());
        hand_over(&path, 0o000, 0o700);
        assert_eq!(answers(Command::new(&program), &path), [no_permission(&path), no_permission(&path)]);
    }

    /// The disk gives out in the middle of an exam: a limit on the size of files stands in for the end of the disk.
    #[test]
    fn a_disk_that_takes_no_more() {
        let (folder, program) = open_folder();
        let data = folder.path().join("data");
        fs::create_dir(&data).unwrap();
        if is_root() {
            chown(&data, Some(NOBODY), Some(NOBODY)).unwrap();
        }
        let path = data.join("logbook.db");
        // The shell sets the limit (in blocks of 512 or 1024 bytes) and has the signal that comes with it ignored, so that
        // writing fails as it does on a full disk.
        let mut limited = Command::new("sh");
        limited.args(["-c", r#"trap "" XFSZ; ulimit -f 1100; exec "$0" "$@""#]).arg(&program);
        let [writing, reading] = answers(limited, &path);
        let (kept, refusal) = writing.strip_prefix("after ").unwrap().split_once(" steps: ").unwrap();
        assert!(refusal.contains("what was last entered was not saved"), "{refusal}");
        assert_eq!(reading, format!("{kept} steps"));
        assert!(kept.parse::<usize>().unwrap() > 20, "{writing}");
        Logbook::open(&path).unwrap().check().unwrap();
    }
}

#[test]
fn an_empty_file_that_another_program_is_filling_is_waited_for() {
    let folder = folder();
    let path = folder.path().join("logbook.db");
    fs::write(&path, "").unwrap();
    let reading = thread::spawn({
        let path = path.clone();
        move || Logbook::open_read_only(&path).map(|logbook| logbook.exams().unwrap().exams.len())
    });
    thread::sleep(Duration::from_millis(50));
    drop(Logbook::open(&path).unwrap());
    assert_eq!(reading.join().unwrap().unwrap(), 0);
}
