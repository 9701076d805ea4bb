//! The logbook in use: what goes in comes out, in order, once.

#![expect(clippy::unwrap_used, reason = "a test stops where something is not as it must be")]

mod boxes;
mod companions;
mod erasing;
mod erasing_killed;
mod lasting;
mod network;
mod noting;
mod of_other_seats;
mod parcels;
mod signatures;

use std::fs;
use std::path::{Path, PathBuf};

use crate::invented::declared_box;
use crate::kept_exam::{Kept, append, begin, named, read};
use dioptray::exam::{Accepted, Detail, Event};
use dioptray::frame::Move;
use dioptray::kit::{BoxChange, Lens, Measurement, Place, Stock, StockError};
use dioptray::logbook::{BoxKey, ExamNumber, LastUsed, Logbook, LogbookError};
use dioptray::optics::{Eye, Eyes, Power, SpheroCylinder};
use jiff::{SignedDuration, Timestamp};
use rusqlite::Connection;
use tempfile::TempDir;

fn start() -> Timestamp {
    "2026-03-01T09:30:00Z".parse().unwrap()
}

fn after(seconds: i64) -> Timestamp {
    start() + SignedDuration::from_secs(seconds)
}

fn fresh() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("data").join("logbook.db");
    (folder, path)
}

fn note(text: &str) -> Vec<Event> {
    vec![Event::Note(text.to_owned())]
}

fn label(text: &str) -> Vec<Event> {
    vec![Event::Detail(Detail::Label(text.to_owned()))]
}

#[test]
fn an_exam_reads_back_as_it_was_entered() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    let put = Move::Put { piece: "-3.00 sphere #1".parse().unwrap(), eye: Eye::Right, cell: 1, direction: None };
    let wanted = SpheroCylinder { sphere: -4.25, cylinder: -0.75, axis: 180.0 };
    let steps = [
        label("K.M."),
        vec![Event::Wanted(Eye::Right, Some(wanted)), Event::Moved(put)],
        note("nothing in front of the left eye"),
        vec![Event::Undone],
    ];
    for (seconds, step) in (1..).zip(&steps) {
        append(&mut logbook, &mut exam, step, after(seconds)).unwrap();
    }
    drop(logbook);

    let read = read(&Logbook::open(&path).unwrap(), exam.open.number()).unwrap();
    assert_eq!(read, exam);
    let times: Vec<Timestamp> = read.steps.iter().map(|step| step.at).collect();
    assert_eq!(times, [1, 2, 3, 4].map(after));
    let events: Vec<&[Event]> = read.steps.iter().map(|step| step.events.as_slice()).collect();
    assert_eq!(events, steps);
    assert_eq!(read.exam.redoable(), 1);
    assert_eq!(read.exam.state().notes, Vec::<String>::new());
    assert_eq!(read.exam.state().wanted, Eyes::new(Some(wanted), None));
}

#[test]
fn undo_history_goes_on_after_reading_back() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    for text in ["one", "two", "three"] {
        append(&mut logbook, &mut exam, &note(text), start()).unwrap();
    }
    append(&mut logbook, &mut exam, &[Event::Undone], start()).unwrap();
    append(&mut logbook, &mut exam, &[Event::Undone], start()).unwrap();
    drop(logbook);

    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = read(&logbook, exam.open.number()).unwrap();
    append(&mut logbook, &mut exam, &[Event::Redone], start()).unwrap();
    assert_eq!(exam.exam.state().notes, ["one", "two"]);
    append(&mut logbook, &mut exam, &[Event::Redone], start()).unwrap();
    assert_eq!(exam.exam.state().notes, ["one", "two", "three"]);
    assert_eq!(read(&logbook, exam.open.number()).unwrap(), exam);
}

#[test]
fn an_empty_step_is_not_kept() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    let before = exam.clone();
    append(&mut logbook, &mut exam, &[], start()).unwrap();
    assert_eq!(exam, before);
    assert_eq!(read(&logbook, exam.open.number()).unwrap(), before);
}

#[test]
fn what_would_not_read_back_is_refused() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    for number in [f64::NAN, f64::INFINITY] {
        let step = [Event::Detail(Detail::ChartMetres(number))];
        let refusal = append(&mut logbook, &mut exam, &step, start()).unwrap_err();
        assert!(refusal.to_string().starts_with("this step cannot be kept: "), "{refusal}");
    }
    assert_eq!(read(&logbook, exam.open.number()).unwrap().steps.len(), 0);
    assert_eq!(exam.exam.state().person.chart_metres, None);
}

#[test]
fn the_list_of_exams_says_number_label_box_and_how_it_stands() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let mut finished = begin(&mut logbook, "Hillside", start()).unwrap();
    let mut aside = begin(&mut logbook, "School", after(60)).unwrap();
    let mut open = begin(&mut logbook, "Hillside", after(120)).unwrap();
    append(&mut logbook, &mut finished, &label("K.M."), after(1)).unwrap();
    append(&mut logbook, &mut finished, &[Event::Finished], after(2)).unwrap();
    append(&mut logbook, &mut finished, &[Event::Amended("age is 32".to_owned())], after(3)).unwrap();
    append(&mut logbook, &mut open, &label("wrong"), after(121)).unwrap();
    append(&mut logbook, &mut open, &[Event::Undone], after(122)).unwrap();
    logbook.put_aside(aside.open.number(), after(130)).unwrap();

    let exams = logbook.exams().unwrap().exams;
    assert_eq!(exams.iter().map(|exam| exam.number.0).collect::<Vec<_>>(), [3, 2, 1]);
    assert_eq!(
        exams.iter().map(|exam| exam.in_box.name.as_str()).collect::<Vec<_>>(),
        ["Hillside", "School", "Hillside"]
    );
    assert_eq!(exams.iter().map(|exam| exam.label.as_deref()).collect::<Vec<_>>(), [None, None, Some("K.M.")]);
    assert_eq!(exams.iter().map(|exam| exam.opened).collect::<Vec<_>>(), [120, 60, 0].map(after));
    assert_eq!(exams.iter().map(|exam| exam.finished).collect::<Vec<_>>(), [None, None, Some(after(2))]);
    assert_eq!(exams.iter().map(|exam| exam.put_aside).collect::<Vec<_>>(), [None, Some(after(130)), None]);

    let offered =
        |logbook: &Logbook| -> Vec<i64> { logbook.open_exams().unwrap().exams.iter().map(|e| e.number.0).collect() };
    assert_eq!(offered(&logbook), [3]);
    // going on with an exam that was put aside opens it again
    append(&mut logbook, &mut aside, &note("came back"), after(200)).unwrap();
    assert_eq!(offered(&logbook), [3, 2]);
}

#[test]
fn an_exam_that_is_not_there_is_said_so() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let expected = format!("{}: there is no exam 7 in this logbook", logbook.path().display());
    assert_eq!(read(&logbook, ExamNumber(7)).unwrap_err().to_string(), expected);
    assert_eq!(logbook.put_aside(ExamNumber(7), start()).unwrap_err().to_string(), expected);
}

#[test]
fn an_exam_that_was_continued_elsewhere_takes_no_step_that_did_not_see_that() {
    let (_folder, path) = fresh();
    let mut here = Logbook::open(&path).unwrap();
    let mut there = Logbook::open(&path).unwrap();
    let mut exam = begin(&mut here, "Hillside", start()).unwrap();
    let mut same = read(&there, exam.open.number()).unwrap();
    append(&mut there, &mut same, &note("there"), start()).unwrap();
    let before = exam.clone();
    let refusal = append(&mut here, &mut exam, &note("here"), start()).unwrap_err();
    assert_eq!(
        refusal.to_string(),
        "exam 1 was continued by another program meanwhile: open it again to see how it stands"
    );
    assert_eq!(exam, before);
    let mut exam = read(&here, exam.open.number()).unwrap();
    append(&mut here, &mut exam, &note("here"), start()).unwrap();
    assert_eq!(exam.exam.state().notes, ["there", "here"]);
}

#[test]
fn what_happened_to_a_box_is_applied_to_it() {
    let (_folder, path) = fresh();
    let declared = declared_box("Hillside");
    let lost = BoxChange::Lost("-2.00 sphere #1".parse().unwrap());
    let added = BoxChange::Added("+7.00 sphere #1".parse().unwrap());
    let measured =
        BoxChange::Measured { piece: "-2.00 sphere #2".parse().unwrap(), measurement: Measurement::of(-1.87) };
    let mut logbook = Logbook::open(&path).unwrap();
    assert_eq!(logbook.stock_of(&BoxKey::of_name("Hillside"), &declared).unwrap().stock, Stock::of(&declared));
    for (seconds, change) in (0..).zip([&lost, &added, &measured]) {
        logbook.change_box(&named("Hillside"), &declared, change, None, after(seconds)).unwrap();
    }
    drop(logbook);

    let logbook = Logbook::open(&path).unwrap();
    let on_record = logbook.stock_of(&BoxKey::of_name("Hillside"), &declared).unwrap();
    assert_eq!(on_record.refused, []);
    let place = |label: &str| on_record.stock.get(&label.parse().unwrap()).unwrap().place.clone();
    assert_eq!(place("-2.00 sphere #1"), Place::Lost);
    assert_eq!(place("-2.00 sphere #2"), Place::Box);
    assert_eq!(place("+7.00 sphere #1"), Place::Box);
    assert_eq!(on_record.stock.get(&"-2.00 sphere #2".parse().unwrap()).unwrap().measured, Some(-1.87));
    let changes = logbook.box_changes(&BoxKey::of_name("Hillside")).unwrap();
    assert_eq!(changes.iter().map(|c| &c.change).collect::<Vec<_>>(), [&lost, &added, &measured]);
    assert_eq!(
        changes.iter().map(|c| (c.place, c.at)).collect::<Vec<_>>(),
        [(1, after(0)), (2, after(1)), (3, after(2))]
    );
    assert_eq!(
        logbook.stock_of(&BoxKey::of_name("School"), &declared_box("School")).unwrap().stock,
        Stock::of(&declared_box("School"))
    );
}

#[test]
fn a_change_that_cannot_be_is_refused_and_not_kept() {
    let (_folder, path) = fresh();
    let declared = declared_box("Hillside");
    let mut logbook = Logbook::open(&path).unwrap();
    let found = BoxChange::Found("-2.00 sphere #1".parse().unwrap());
    let refusal = logbook.change_box(&named("Hillside"), &declared, &found, None, start()).unwrap_err();
    assert_eq!(refusal.to_string(), "-2.00 sphere #1 is in the box, so it cannot be found");
    assert_eq!(logbook.box_changes(&BoxKey::of_name("Hillside")).unwrap(), []);
}

#[test]
fn a_change_that_the_edited_box_file_no_longer_allows_is_reported_and_kept() {
    let (_folder, path) = fresh();
    let mut declared = declared_box("Hillside");
    let gone: Lens = "-2.00 sphere".parse().unwrap();
    let mut logbook = Logbook::open(&path).unwrap();
    for label in ["-2.00 sphere #1", "+2.00 sphere #1"] {
        logbook
            .change_box(&named("Hillside"), &declared, &BoxChange::Lost(label.parse().unwrap()), None, start())
            .unwrap();
    }
    declared.lines.retain(|line| line.lens != gone);
    let on_record = logbook.stock_of(&BoxKey::of_name("Hillside"), &declared).unwrap();
    assert_eq!(on_record.stock.get(&"+2.00 sphere #1".parse().unwrap()).unwrap().place, Place::Lost);
    assert_eq!(on_record.refused.len(), 1);
    let refused = &on_record.refused[0];
    assert_eq!(refused.stored.place, 1);
    assert_eq!(refused.why, StockError::NoSuchPiece { piece: "-2.00 sphere #1".parse().unwrap() });
    assert_eq!(logbook.box_changes(&BoxKey::of_name("Hillside")).unwrap().len(), 2);
    // further changes go on to be added
    logbook
        .change_box(&named("Hillside"), &declared, &BoxChange::Lost("+2.00 sphere #2".parse().unwrap()), None, start())
        .unwrap();
    assert_eq!(logbook.box_changes(&BoxKey::of_name("Hillside")).unwrap().len(), 3);
}

#[test]
fn a_box_is_claimed_by_one_at_a_time_and_others_learn_by_whom() {
    let (_folder, path) = fresh();
    let mut here = Logbook::open(&path).unwrap();
    let mut there = Logbook::open(&path).unwrap();
    assert_eq!(here.holder_of(&BoxKey::of_name("Hillside")).unwrap(), None);
    let claim = here.claim_box(&named("Hillside"), start()).unwrap();
    let exam = begin(&mut here, "Hillside", start()).unwrap();
    here.note_exam(&claim, exam.open.number()).unwrap();

    let refusal = there.claim_box(&named("Hillside"), after(9)).unwrap_err().to_string();
    let process = std::process::id();
    assert!(refusal.starts_with(&format!("the box Hillside is open elsewhere: another Dioptray (process {process}")));
    assert!(
        refusal.ends_with(", in exam 1, since 2026-03-01T09:30:00Z. Close it there, or choose another box"),
        "{refusal}"
    );
    let reading = Logbook::open_read_only(&path).unwrap();
    for logbook in [&here, &there, &reading] {
        let holder = logbook.holder_of(&BoxKey::of_name("Hillside")).unwrap().unwrap();
        assert_eq!(
            (holder.process, holder.exam, holder.since),
            (Some(process), Some(exam.open.number()), Some(start()))
        );
    }
    // another box is another matter
    let school = there.claim_box(&named("School / 2nd floor"), start()).unwrap();
    assert_eq!(school.box_name(), "School / 2nd floor");

    here.release_box(claim).unwrap();
    assert_eq!(there.holder_of(&BoxKey::of_name("Hillside")).unwrap(), None);
    let claim = there.claim_box(&named("Hillside"), after(10)).unwrap();
    // the exam of the one before has no part in the next
    assert_eq!(here.holder_of(&BoxKey::of_name("Hillside")).unwrap().unwrap().exam, None);
    drop(claim);
    assert_eq!(here.holder_of(&BoxKey::of_name("Hillside")).unwrap(), None);
}

#[test]
fn the_last_used_files_are_remembered_one_by_one() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    assert_eq!(logbook.last_used().unwrap(), LastUsed::default());
    let both = LastUsed { box_file: Some("/kits/a.yaml".into()), frame_file: Some("/kits/b.yaml".into()) };
    logbook.remember_last_used(&both, start()).unwrap();
    let another = LastUsed { box_file: Some("/kits/c.yaml".into()), frame_file: None };
    logbook.remember_last_used(&another, after(1)).unwrap();
    drop(logbook);
    let expected = LastUsed { box_file: another.box_file, frame_file: both.frame_file };
    assert_eq!(Logbook::open(&path).unwrap().last_used().unwrap(), expected);
}

#[test]
fn reading_only_writes_nothing() {
    let (_folder, path) = fresh();
    let exam = kept_exam(&path);
    let bytes = fs::read(&path).unwrap();
    let mut logbook = Logbook::open_read_only(&path).unwrap();
    assert!(logbook.is_read_only());
    let mut read = read(&logbook, exam.open.number()).unwrap();
    assert_eq!(read, exam);
    let refusal = append(&mut logbook, &mut read, &note("more"), start()).unwrap_err();
    assert_eq!(refusal.to_string(), format!("{}: this logbook was opened for reading only", logbook.path().display()));
    assert_eq!(read, exam);
    drop(logbook);
    assert_eq!(fs::read(&path).unwrap(), bytes);
}

#[test]
fn the_file_itself_refuses_to_change_or_drop_what_was_kept() {
    let (_folder, path) = fresh();
    kept_exam(&path);
    let mut logbook = Logbook::open(&path).unwrap();
    let declared = declared_box("Hillside");
    logbook
        .change_box(&named("Hillside"), &declared, &BoxChange::Lost("-2.00 sphere #1".parse().unwrap()), None, start())
        .unwrap();
    drop(logbook);
    let connection = rusqlite::Connection::open(&path).unwrap();
    for sql in [
        "DELETE FROM step",
        "UPDATE step SET events = '[]'",
        "DELETE FROM entry",
        "UPDATE entry SET at = ''",
        "UPDATE entry SET body = x'00'",
        "UPDATE box_state SET content = x'00'",
        "DELETE FROM box_state",
        "UPDATE exam SET id = x'00'",
        "DELETE FROM exam",
        "UPDATE exam SET opened = ''",
        "UPDATE opening SET opening = ''",
        "DELETE FROM opening",
    ] {
        let refusal = connection.execute(sql, []).unwrap_err().to_string();
        assert!(refusal.contains("only ever added") || refusal.contains("never changed"), "{sql}: {refusal}");
    }
}

#[test]
fn times_are_kept_as_rfc_3339_text_in_utc() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    begin(&mut logbook, "Hillside", "2026-03-01T14:30:00.25+05:00".parse().unwrap()).unwrap();
    drop(logbook);
    let connection = rusqlite::Connection::open(&path).unwrap();
    let opened: String = connection.query_row("SELECT opened FROM exam", [], |row| row.get(0)).unwrap();
    assert_eq!(opened, "2026-03-01T09:30:00.25Z");
}

#[cfg(unix)]
#[test]
fn everything_that_is_made_is_for_its_owner_only() {
    use std::os::unix::fs::PermissionsExt as _;
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let _claim = logbook.claim_box(&named("Hillside"), start()).unwrap();
    let folder = path.parent().unwrap();
    assert_eq!(mode(folder), 0o700);
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert_eq!(names, ["logbook.db", "logbook.db-box-1.lock", "logbook.db-shm", "logbook.db-wal"]);
    for name in names {
        assert_eq!(mode(&folder.join(&name)), 0o600, "{name}");
    }
    drop(logbook);
    // one that others were let into is closed to them again
    fs::set_permissions(&path, fs::Permissions::from_mode(0o644)).unwrap();
    let _logbook = Logbook::open(&path).unwrap();
    assert_eq!(mode(&path), 0o600);
}

#[cfg(unix)]
#[test]
fn a_link_leads_to_the_same_claims() {
    let (folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let link = folder.path().join("link.db");
    std::os::unix::fs::symlink(&path, &link).unwrap();
    let _claim = logbook.claim_box(&named("Hillside"), start()).unwrap();
    let refusal = Logbook::open(&link).unwrap().claim_box(&named("Hillside"), start()).unwrap_err();
    assert!(matches!(refusal, LogbookError::BoxOpen { .. }), "{refusal:?}");
}

/// A logbook with one exam of three steps.
fn kept_exam(path: &Path) -> Kept {
    let mut logbook = Logbook::open(path).unwrap();
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    for text in ["one", "two", "three"] {
        append(&mut logbook, &mut exam, &note(text), start()).unwrap();
    }
    exam
}

#[test]
fn retinoscopy_and_what_was_then_found_come_in_pairs_from_finished_exams_alone() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let sphere = |m: f64| Power { m, ..Power::ZERO };
    let both = |eye, seen, found| {
        let accepted = [Accepted::Retinoscopy(eye, Some(sphere(seen))), Accepted::Refraction(eye, Some(sphere(found)))];
        accepted.map(Event::Accepted).to_vec()
    };
    let only = |eye, seen| vec![Event::Accepted(Accepted::Retinoscopy(eye, Some(sphere(seen))))];
    for (nth, closed) in [(1.0, true), (2.0, false), (3.0, true)] {
        let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
        append(&mut logbook, &mut exam, &both(Eye::Right, nth + 0.5, nth), start()).unwrap();
        // this eye was never refracted further
        append(&mut logbook, &mut exam, &only(Eye::Left, nth), start()).unwrap();
        if closed {
            let allowance = Event::Accepted(Accepted::ChartAllowance(Some(0.25)));
            append(&mut logbook, &mut exam, &[allowance], start()).unwrap();
            append(&mut logbook, &mut exam, &[Event::Finished], start()).unwrap();
        }
    }
    let pair = |nth: f64| (sphere(nth + 0.5), sphere(nth - 0.25));
    assert_eq!(logbook.retinoscopy_pairs(40, None).unwrap(), [pair(3.0), pair(1.0)]);
    assert_eq!(
        logbook.retinoscopy_pairs(1, None).unwrap(),
        [pair(3.0)],
        "the latest first, and no more than asked for"
    );
}

/// SQLite answers a counter at its end in the middle of a step as it answers a disk without room (`SQLITE_FULL`), and takes
/// the step back the same way.
#[test]
fn a_full_disk_keeps_what_was_kept_and_takes_more_when_there_is_room_again() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    for number in 1..=6 {
        append(&mut logbook, &mut exam, &note(&format!("step {number}")), after(number)).unwrap();
    }
    let file = Connection::open(&path).unwrap();
    file.execute_batch(&format!(
        "CREATE TABLE room (page INTEGER PRIMARY KEY AUTOINCREMENT);
         INSERT INTO room VALUES ({});
         CREATE TRIGGER no_room AFTER INSERT ON step BEGIN INSERT INTO room (page) VALUES (NULL); END;",
        i64::MAX
    ))
    .unwrap();
    let kept = exam.clone();
    let refusal = append(&mut logbook, &mut exam, &note("no room for this"), after(7)).unwrap_err();
    assert_eq!(
        refusal.to_string(),
        format!(
            "{}: the disk is full: what was last entered was not saved. Make room and enter it again",
            logbook.path().display()
        )
    );
    assert_eq!(exam, kept);
    assert_eq!(read(&logbook, exam.open.number()).unwrap(), kept);
    file.execute_batch("DROP TRIGGER no_room; DROP TABLE room;").unwrap();
    drop((logbook, file));
    let mut logbook = Logbook::open(&path).unwrap();
    logbook.check().unwrap();
    append(&mut logbook, &mut exam, &note("now there is"), after(8)).unwrap();
    assert_eq!(read(&logbook, exam.open.number()).unwrap(), exam);
}
