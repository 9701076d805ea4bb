//! Logbooks of form 1, as the earlier program wrote them, brought to form 2.

#![expect(clippy::unwrap_used, reason = "a test stops where something is not as it must be")]

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use dioptray::exam::Event;
use dioptray::logbook::{BEFORE_VERSIONS, BoxKey, ExamNumber, Logbook};
use jiff::Timestamp;
use rusqlite::Connection;
use serde_json::Value;
use tempfile::TempDir;

use crate::kept_exam::{append, read};

fn start() -> Timestamp {
    "2026-03-01T09:30:00Z".parse().unwrap()
}

const LOGBOOK: &str = "DIOPTRAY_TEST_LOGBOOK";

fn kept_file(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/program/logbooks").join(name)
}

/// A copy of an earlier logbook, to be opened.
fn copy_of(name: &str) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().canonicalize().unwrap().join("logbook.db");
    fs::copy(kept_file(&format!("form1-{name}.db")), &path).unwrap();
    (folder, path)
}

/// Everything in a logbook of form 2 but who it is now, as text.
fn dump(path: &Path) -> Vec<String> {
    rows_of(path, &["box", "box_key", "exam", "opening", "step", "box_state", "entry", "last_used", "claim"])
}

/// Everything in a logbook of form 1, as text.
fn dump_form_1(path: &Path) -> Vec<String> {
    assert_eq!(form_of(path), 1);
    rows_of(path, &["box", "exam", "opening", "step", "box_change", "last_used", "claim"])
}

fn rows_of(path: &Path, tables: &[&str]) -> Vec<String> {
    let connection = Connection::open_with_flags(path, rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY).unwrap();
    let mut lines = Vec::new();
    for table in tables {
        let mut select = connection.prepare(&format!("SELECT * FROM {table} ORDER BY 1, 2")).unwrap();
        let columns = select.column_count();
        let mut rows = select.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            let values: Vec<String> = (0..columns).map(|at| format!("{:?}", row.get_ref(at).unwrap())).collect();
            lines.push(format!("{table}: {}", values.join(" | ")));
        }
    }
    lines
}

fn form_of(path: &Path) -> i64 {
    let connection = Connection::open_with_flags(path, rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY).unwrap();
    connection.query_row("PRAGMA user_version", [], |row| row.get(0)).unwrap()
}

fn open_and_close(path: &Path) {
    drop(Logbook::open(path).unwrap());
}

/// The same JSON, but for the last digits of figures and for the words, which the program may say better now.
fn same(now: &Value, before: &Value, place: &str) {
    match (now, before) {
        (Value::Number(now), Value::Number(before)) => {
            assert!((now.as_f64().unwrap() - before.as_f64().unwrap()).abs() < 1e-9, "{place}: {now}, before {before}");
        }
        (Value::Array(now), Value::Array(before)) => {
            assert_eq!(now.len(), before.len(), "{place}");
            now.iter().zip(before).for_each(|(now, before)| same(now, before, place));
        }
        (Value::Object(now), Value::Object(before)) => {
            for (name, before) in
                before.iter().filter(|(name, _)| !["cautions_in_words", "notice"].contains(&name.as_str()))
            {
                same(now.get(name).unwrap_or(&Value::Null), before, &format!("{place}/{name}"));
            }
        }
        _ => assert_eq!(now, before, "{place}"),
    }
}

fn said(arguments: &[&str], logbook: &Path) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dioptray"));
    command.arg("--logbook").arg(logbook).args(arguments).env("TZ", "UTC").env("XDG_CONFIG_HOME", "/nowhere");
    let out = command.output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

#[test]
fn every_exam_of_before_reads_the_same_before_and_after() {
    for name in ["closed", "open"] {
        let (_folder, path) = copy_of(name);
        let before = fs::read_to_string(kept_file(&format!("form1-{name}.jsonl"))).unwrap();
        // read without being written first, then in its new form
        for form in [1, 2] {
            assert_eq!(form_of(&path), form);
            for (number, line) in (1..).zip(before.lines()) {
                let now = said(&["exam", "show", &format!("{number}"), "--json"], &path);
                let (now, before) = (serde_json::from_str(&now).unwrap(), serde_json::from_str(line).unwrap());
                same(&now, &before, &format!("{name}, form {form}, exam {number}"));
            }
            open_and_close(&path);
        }
    }
}

#[test]
fn a_box_of_before_is_as_it_was() {
    let (_folder, path) = copy_of("closed");
    let bag = kept_file("bag.yaml");
    let before: Value = serde_json::from_slice(&fs::read(kept_file("form1-box.json")).unwrap()).unwrap();
    for _ in [1, 2] {
        let now = said(&["box", "list", "--json", "--box", bag.to_str().unwrap()], &path);
        same(&serde_json::from_str(&now).unwrap(), &before, "box");
        open_and_close(&path);
    }
}

#[test]
fn two_copies_give_the_same_and_a_second_start_changes_nothing() {
    for name in ["closed", "open"] {
        let copies = [copy_of(name), copy_of(name)];
        for (_, path) in &copies {
            open_and_close(path);
        }
        assert_eq!(dump(&copies[0].1), dump(&copies[1].1));
        let path = &copies[0].1;
        let bytes = fs::read(path).unwrap();
        open_and_close(path);
        assert!(fs::read(path).unwrap() == bytes, "a second start changed the file");
        Logbook::open(path).unwrap().check().unwrap();
    }
}

#[test]
fn what_was_there_becomes_entries_of_a_writer_of_its_own() {
    let (_folder, path) = copy_of("closed");
    open_and_close(&path);
    let connection = Connection::open(&path).unwrap();
    let mut select = connection.prepare("SELECT writer, number, kind, body IS NULL FROM entry ORDER BY row").unwrap();
    let rows = select.query_map([], |row| {
        Ok((row.get::<_, uuid::Uuid>(0)?, row.get::<_, i64>(1)?, row.get::<_, String>(2)?, row.get::<_, bool>(3)?))
    });
    let rows: Vec<_> = rows.unwrap().map(Result::unwrap).collect();
    let kinds: Vec<(i64, &str, bool)> = rows.iter().map(|row| (row.1, row.2.as_str(), row.3)).collect();
    assert_eq!(
        kinds,
        [
            (1, "exam", true),
            (2, "amendment", true),
            (3, "exam", true),
            (4, "exam", true),
            (5, "box_change", false),
            (6, "box_change", false),
            (7, "box_change", false),
            (8, "box_change", false),
        ]
    );
    assert!(rows.iter().all(|row| row.0 == rows[0].0 && row.0.get_version_num() == 5));
    let me: uuid::Uuid = connection.query_row("SELECT writer FROM me", [], |row| row.get(0)).unwrap();
    assert_ne!(me, rows[0].0);
}

#[test]
fn steps_and_openings_stay_byte_for_byte() {
    let texts = |path: &Path| -> Vec<String> {
        let connection = Connection::open(path).unwrap();
        let sql = "SELECT exam || number || at || format || events FROM step ORDER BY exam, number";
        let mut steps = connection.prepare(sql).unwrap();
        let mut texts: Vec<String> = steps.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
        let mut openings = connection.prepare("SELECT exam || format || opening FROM opening ORDER BY exam").unwrap();
        texts.extend(openings.query_map([], |row| row.get::<_, String>(0)).unwrap().map(Result::unwrap));
        texts
    };
    let (_folder, path) = copy_of("open");
    let before = texts(&path);
    open_and_close(&path);
    assert!(before.len() > 30);
    assert_eq!(texts(&path), before);
}

#[test]
fn a_copy_stays_beside_it_and_is_never_written_over() {
    let (folder, path) = copy_of("closed");
    let (before, rows) = (fs::read(&path).unwrap(), dump_form_1(&path));
    let another = folder.path().join("logbook.db.form1");
    fs::write(&another, "something else").unwrap();
    open_and_close(&path);
    assert_eq!(fs::read_to_string(&another).unwrap(), "something else");
    let copy = folder.path().join("logbook.db.form1-2");
    assert_eq!(dump_form_1(&copy), rows);
    // put back, it is brought to the new form again, and not copied again
    fs::write(&path, &before).unwrap();
    open_and_close(&path);
    assert!(!folder.path().join("logbook.db.form1-3").exists());
}

#[test]
fn an_open_exam_goes_on_with_its_undo_history() {
    let (_folder, path) = copy_of("open");
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = read(&logbook, ExamNumber(7)).unwrap();
    assert_eq!((exam.steps.len(), exam.exam.redoable()), (6, 2));
    assert_eq!(exam.exam.state().person.label, None);
    append(&mut logbook, &mut exam, &[Event::Redone], start()).unwrap();
    append(&mut logbook, &mut exam, &[Event::Redone], start()).unwrap();
    assert_eq!(exam.exam.state().person.label.as_deref(), Some("Open O."));
    append(&mut logbook, &mut exam, &[Event::Finished], start()).unwrap();
    drop(logbook);
    let logbook = Logbook::open(&path).unwrap();
    assert_eq!(read(&logbook, ExamNumber(7)).unwrap(), exam);
    logbook.check().unwrap();
    let read = logbook.read_exam(ExamNumber(7)).unwrap();
    assert_eq!(read.beginning.procedures_version, BEFORE_VERSIONS);
    assert_eq!(read.beginning.applied, None);
    // what the box had in it then is found from the box
    let stock = &read.exam.opening().fitted.stock;
    let since = logbook.changes_since(&BoxKey::of_name("Café bag"), None, stock).unwrap();
    assert_eq!(since.later, []);
}

#[test]
fn the_list_of_before_has_what_was_found() {
    let (_folder, path) = copy_of("closed");
    for _ in [1, 2] {
        let exams = Logbook::open_read_only(&path).unwrap().exams().unwrap().exams;
        let written = exams.iter().rfind(|exam| exam.number == ExamNumber(1)).unwrap().found.clone().unwrap().written;
        let eye = dioptray::optics::Eye::Right;
        assert_eq!(written[eye].map(|power| (power.sphere, power.cylinder, power.axis)), Some((-4.0, -0.75, 30.0)));
        assert_eq!(exams.len(), 6);
        open_and_close(&path);
    }
}

#[test]
fn a_logbook_that_an_older_program_has_open_waits() {
    let (folder, path) = copy_of("closed");
    let before = fs::read(&path).unwrap();
    let lock = fs::File::create(folder.path().join("logbook.db-box-1.lock")).unwrap();
    lock.lock().unwrap();
    let refusal = Logbook::open(&path).unwrap_err().to_string();
    assert!(refusal.contains("an older Dioptray still has it open: another Dioptray (process "), "{refusal}");
    assert!(refusal.ends_with("Close it there, and start again"), "{refusal}");
    assert!(fs::read(&path).unwrap() == before);
    drop(lock);
    open_and_close(&path);
}

#[test]
#[ignore = "a child's part: opens the logbook"]
fn part_open() {
    let path = PathBuf::from(env::var(LOGBOOK).unwrap());
    match Logbook::open(&path) {
        Ok(_) => println!("\nopened"),
        Err(refusal) => println!("\nrefused: {refusal}"),
    }
}

fn child(program: &mut Command, path: &Path) -> std::process::Child {
    program.args(["--ignored", "--exact", "logbook_form2::part_open", "--nocapture", "--test-threads=1"]);
    program.env(LOGBOOK, path).stdout(Stdio::piped()).spawn().unwrap()
}

#[test]
fn killed_at_any_moment_the_old_file_or_the_new_is_there() {
    let (_expected, expected_path) = copy_of("closed");
    let before = dump_form_1(&expected_path);
    open_and_close(&expected_path);
    let expected = dump(&expected_path);
    // how long a start takes that is not killed, on this machine as busy as it is
    let (_unkilled, path) = copy_of("closed");
    let since = Instant::now();
    child(&mut Command::new(env::current_exe().unwrap()), &path).wait().unwrap();
    let whole = since.elapsed();
    let (mut old, mut new) = (0, 0);
    for round in 0..60_u32 {
        let (folder, path) = copy_of("closed");
        let mut child = child(&mut Command::new(env::current_exe().unwrap()), &path);
        // to the whole time and half as long again
        std::thread::sleep(whole.mul_f64(f64::from(round) / 40.0));
        child.kill().unwrap();
        child.wait().unwrap();
        match form_of(&path) {
            1 => {
                assert_eq!(dump_form_1(&path), before, "round {round}");
                old += 1;
            }
            2 => new += 1,
            other => assert!(other == 1, "round {round}: form {other}"),
        }
        open_and_close(&path);
        assert_eq!(dump(&path), expected, "round {round}");
        let left = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
        let copies: Vec<String> = left.filter(|name| name.contains("form1")).collect();
        assert_eq!(copies, ["logbook.db.form1"], "round {round}");
        assert_eq!(dump_form_1(&folder.path().join("logbook.db.form1")), before, "round {round}");
    }
    assert!(old > 0 && new > 0, "killed {old} times before and {new} times after: no moment between was met");
}

#[cfg(unix)]
#[test]
fn a_disk_without_room_for_the_copy_leaves_the_logbook_as_it_is() {
    let (folder, path) = copy_of("closed");
    let before = fs::read(&path).unwrap();
    // a limit on the size of files stands in for the end of the disk
    let mut limited = Command::new("sh");
    limited.args(["-c", r#"trap "" XFSZ; ulimit -f 80; exec "$0" "$@""#]).arg(env::current_exe().unwrap());
    let out = child(&mut limited, &path).wait_with_output().unwrap();
    let out = String::from_utf8(out.stdout).unwrap();
    assert!(out.contains("there is no room for a copy of this logbook (1 MB)"), "{out}");
    assert!(fs::read(&path).unwrap() == before, "the logbook was changed");
    let left: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert!(left.iter().all(|name| !name.to_string_lossy().contains("form1")), "{left:?}");
    open_and_close(&path);
    assert_eq!(form_of(&path), 2);
}
