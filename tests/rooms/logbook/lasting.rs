//! What is meant to last: identities, entries, beginnings, and the list although a part cannot be read.

use dioptray::exam::{Accepted, Event, Exam, Opening};
use dioptray::frame::{CellSpec, DeclaredFrame, FittedFrame};
use dioptray::kit::{DeclaredBox, Lens, LensLine, Mark, Stock};
use dioptray::logbook::{BeganWith, ExamNumber, Logbook};
use dioptray::optics::{Eye, Millimetres, Power};
use dioptray::practice::draws::Draws;
use dioptray::practice::{Care, Examinee, Law, Person, Way, examine};
use dioptray::sharing::Heads;
use rusqlite::Connection;

use super::{after, fresh, label, note, start};
use crate::invented::{declared_box, frame};
use crate::kept_exam::{append, begin, named, read};

#[test]
fn an_exam_has_an_identity_by_time_an_examiner_and_the_version_of_the_procedures() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let opening = crate::invented::opening("Hillside");
    let mut applied = Heads::default();
    applied.learn(dioptray::sharing::WriterId::new(uuid::Uuid::nil()), 7);
    let with = BeganWith { in_box: named("Hillside"), applied, by: Some("A. B.".to_owned()), procedures_version: 5 };
    let ids = [start(), after(1)].map(|at| logbook.begin_exam(&opening, &with, at).unwrap().id());
    assert!(ids[0] < ids[1]);
    assert!(ids.iter().all(|id| id.uuid().get_version_num() == 7));
    let read = logbook.read_exam(ExamNumber(1)).unwrap();
    assert_eq!((read.id(), read.by.as_deref()), (ids[0], Some("A. B.")));
    assert_eq!(read.beginning.procedures_version, 5);
    assert_eq!(read.beginning.applied, Some(with.applied));
    assert_eq!(read.beginning.box_key, Some(with.in_box.key));
    assert_eq!(logbook.exams().unwrap().exams[1].id, ids[0]);
}

#[test]
fn what_two_programs_add_to_a_closed_exam_both_stands() {
    let (_folder, path) = fresh();
    let mut here = Logbook::open(&path).unwrap();
    let mut exam = begin(&mut here, "Hillside", start()).unwrap();
    append(&mut here, &mut exam, &[Event::Finished], after(1)).unwrap();
    let mut there = Logbook::open(&path).unwrap();
    let mut same = read(&there, exam.open.number()).unwrap();
    append(&mut here, &mut exam, &[Event::Amended("here".to_owned())], after(2)).unwrap();
    append(&mut there, &mut same, &[Event::Amended("there".to_owned())], after(1)).unwrap();
    let read = here.read_exam(exam.open.number()).unwrap();
    assert_eq!(read.exam.state().amendments, ["here", "there"]);
    assert_eq!(read.closed(), Some(after(1)));
    here.check().unwrap();
}

/// As form 1 kept them: what was added after closing stands in further steps. One that cannot be read hides nothing else.
#[test]
fn what_was_added_by_a_step_and_cannot_be_read_hides_nothing_else() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    append(&mut logbook, &mut exam, &note("seen"), after(1)).unwrap();
    append(&mut logbook, &mut exam, &[Event::Finished], after(2)).unwrap();
    let further = [(3, r#"[{"newer":1}]"#), (4, r#"[{"amended":"still there"}]"#), (5, r#"[{"note":"too late"}]"#)];
    for (number, events) in further {
        let sql = "INSERT INTO step (exam, number, at, format, events) VALUES (1, ?1, '2026-03-01T09:30:00Z', 1, ?2)";
        Connection::open(&path).unwrap().execute(sql, (number, events)).unwrap();
    }
    let read = logbook.read_exam(exam.open.number()).unwrap();
    assert_eq!(
        (read.exam.state().amendments.as_slice(), read.closed()),
        (["still there".to_owned()].as_slice(), Some(after(2)))
    );
    assert_eq!(read.unread.len(), 2, "{:?}", read.unread);
    let (newer, late) = (&read.unread[0], &read.unread[1]);
    assert!(newer.contains("step 3 of exam 1 cannot be read: unknown variant `newer`"), "{newer}");
    assert!(late.contains("step 5 of exam 1 cannot be read: it is nothing to add to this exam"), "{late}");
}

#[test]
fn entries_are_numbered_without_gaps_and_one_that_was_altered_is_found() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let lost = dioptray::kit::BoxChange::Lost("-2.00 sphere #1".parse().unwrap());
    for _ in 0..2 {
        let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
        append(&mut logbook, &mut exam, &note("seen"), start()).unwrap();
        append(&mut logbook, &mut exam, &[Event::Finished], start()).unwrap();
    }
    logbook.change_box(&named("Hillside"), &declared_box("Hillside"), &lost, None, start()).unwrap();
    drop(logbook);
    let connection = Connection::open(&path).unwrap();
    let numbers: String = connection
        .query_row("SELECT group_concat(number || kind) FROM entry ORDER BY row", [], |row| row.get(0))
        .unwrap();
    assert_eq!(numbers, "1exam,2exam,3box_change");
    let alter = [
        ("entry_is_kept", "UPDATE entry SET at = '2020-01-01T00:00:00Z' WHERE number = 2", "entry 2 of writer"),
        ("entry_stays", "DELETE FROM entry WHERE number = 1", "entry 1 of writer"),
        (
            "step_is_kept",
            "UPDATE step SET events = '[{\"note\":\"not seen\"}]' WHERE number = 1",
            "exam 2 is not as it was closed",
        ),
    ];
    for (trigger, sql, expected) in alter {
        let copy = path.with_extension("copy");
        let _ = std::fs::remove_file(&copy);
        Logbook::open_read_only(&path).unwrap().copy_to(&copy).unwrap();
        let altered = Connection::open(&copy).unwrap();
        altered.execute_batch(&format!("DROP TRIGGER {trigger}; {sql}")).unwrap();
        drop(altered);
        let refusal = Logbook::open_read_only(&copy).unwrap().check().unwrap_err().to_string();
        assert!(refusal.contains(expected), "{sql}: {refusal}");
    }
}

/// A box as large as can be declared.
fn largest_box() -> DeclaredBox {
    let mut declared = declared_box(&"B".repeat(80));
    let powers = (-100..=100).filter(|fifth| *fifth != 0).map(|fifth| Mark::nearest(f64::from(fifth) * 0.2));
    let each = |lens| LensLine { lens, declared: 99, missing: 0 };
    // prisms and cross cylinders have no sign
    let kinds = |mark: Mark| {
        let unsigned = [Lens::Prism(mark), Lens::CrossCylinder(mark)].into_iter().filter(|_| mark.dioptres() > 0.0);
        unsigned.chain([Lens::Sphere(mark), Lens::Cylinder(mark)]).collect::<Vec<_>>()
    };
    declared.lines = powers.flat_map(kinds).map(each).collect();
    declared
}

#[test]
fn the_beginning_of_an_exam_is_small_for_any_box_and_reads_exactly() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let long = "F".repeat(80);
    let cell = |number: u8| CellSpec {
        name: long.clone(),
        gap: Millimetres(if number == 1 { 0.0 } else { 3.456_789_012_345_67 }),
        turns: number > 1,
        ring: None,
    };
    let frame = DeclaredFrame { name: long.clone(), cells: (1..=8).map(cell).collect(), ..frame() };
    let declared = largest_box();
    let opening = Opening::of(FittedFrame::new(frame, Stock::of(&declared)));
    let with = BeganWith { in_box: named(&declared.name), applied: Heads::default(), by: None, procedures_version: 2 };
    let first = logbook.begin_exam(&opening, &with, start()).unwrap();
    logbook.begin_exam(&opening, &with, start()).unwrap();
    assert_eq!(logbook.read_exam(first.number()).unwrap().exam, Exam::open(opening));
    let connection = Connection::open(&path).unwrap();
    let number = |sql: &str| connection.query_row(sql, [], |row| row.get::<_, i64>(0)).unwrap();
    let bytes = number("SELECT max(length(CAST(opening AS BLOB))) FROM opening");
    assert!(bytes <= 4096, "{bytes} bytes");
    assert_eq!(number("SELECT count(*) FROM box_state"), 1, "the same box was kept twice");
}

#[test]
fn what_cannot_be_read_is_named_and_passed_over() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    for name in ["one", "two", "three"] {
        let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
        append(&mut logbook, &mut exam, &label(name), start()).unwrap();
        append(&mut logbook, &mut exam, &[Event::Finished], start()).unwrap();
    }
    drop(logbook);
    let connection = Connection::open(&path).unwrap();
    connection
        .execute_batch(
            "UPDATE exam SET finished = 'yesterday' WHERE number = 2;
             UPDATE exam SET found = '{\"a newer\": 1}' WHERE number = 3;
             DROP TRIGGER step_is_kept;
             UPDATE step SET events = '[{\"newer\":1}]' WHERE exam = 3 AND number = 1",
        )
        .unwrap();
    drop(connection);
    let mut logbook = Logbook::open(&path).unwrap();
    assert_eq!(logbook.exam_line(ExamNumber(1)).unwrap().label.as_deref(), Some("one"));
    assert!(logbook.exam_line(ExamNumber(2)).unwrap_err().to_string().contains("exam 2 cannot be read"));
    assert!(logbook.exam_line(ExamNumber(9)).unwrap_err().is_of_no_such_exam());
    let list = logbook.exams().unwrap();
    assert_eq!(list.exams.iter().map(|exam| exam.number.0).collect::<Vec<_>>(), [3, 1]);
    assert_eq!(list.exams.iter().map(|exam| exam.found.is_some()).collect::<Vec<_>>(), [false, true]);
    assert_eq!(list.passed_over.len(), 1);
    let why = list.passed_over[0].why.to_string();
    assert!(why.contains("exam 2 cannot be read: `yesterday` is not a time"), "{why}");
    assert!(logbook.read_exam(ExamNumber(3)).unwrap_err().to_string().contains("unknown variant `newer`"));
    assert_eq!(logbook.retinoscopy_pairs(40, None).unwrap(), []);
    assert_eq!(begin(&mut logbook, "Hillside", start()).unwrap().open.number(), ExamNumber(4));
}

/// What is in a row is not what it should be: an identity cut short, a box that is not there.
#[test]
fn a_row_of_the_list_that_is_altered_keeps_nobody_from_the_others() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    for name in ["one", "two", "three"] {
        let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
        append(&mut logbook, &mut exam, &label(name), start()).unwrap();
    }
    drop(logbook);
    let connection = Connection::open(&path).unwrap();
    connection
        .execute_batch(
            "DROP TRIGGER exam_is_kept; PRAGMA foreign_keys = OFF;
             UPDATE exam SET id = x'0102' WHERE number = 1; UPDATE exam SET box = 99 WHERE number = 2;",
        )
        .unwrap();
    drop(connection);
    let logbook = Logbook::open(&path).unwrap();
    for list in [logbook.exams().unwrap(), logbook.open_exams().unwrap()] {
        assert_eq!(list.exams.iter().map(|exam| exam.number.0).collect::<Vec<_>>(), [3]);
        let passed_over: Vec<(i64, bool)> = list
            .passed_over
            .iter()
            .map(|passed| (passed.number.0, passed.why.to_string().contains("cannot be read")))
            .collect();
        assert_eq!(passed_over, [(2, true), (1, true)]);
    }
    assert_eq!(logbook.index().unwrap().len(), 3);
}

#[test]
fn an_amendment_is_by_whoever_makes_it_also_as_a_step_of_the_open_exam() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
    append(&mut logbook, &mut exam, &[Event::Finished], after(1)).unwrap();
    let amended = exam.exam.check(vec![Event::Amended("seen again".to_owned())]).unwrap();
    logbook.append(&mut exam.open, &amended, Some("A. B."), after(2)).unwrap();
    let by = "SELECT \"by\" FROM entry WHERE kind = 'amendment'";
    let by: Option<String> = Connection::open(&path).unwrap().query_row(by, [], |row| row.get(0)).unwrap();
    assert_eq!(by.as_deref(), Some("A. B."));
}

/// An exam that was begun by the program of before goes on in the form of now, and its rows stay as they are.
#[test]
fn steps_of_both_forms_stand_in_one_exam() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    begin(&mut logbook, "Hillside", start()).unwrap();
    drop(logbook);
    let accepted =
        |m| vec![Event::Accepted(Accepted::Refraction(Eye::Right, Some(Power { m, j0: 0.25, j45: -0.125 })))];
    let connection = Connection::open(&path).unwrap();
    for number in 1..=2 {
        let text = serde_json::to_string(&accepted(-1.0)).unwrap();
        let sql = "INSERT INTO step (exam, number, at, format, events) VALUES (1, ?1, '2026-03-01T09:30:00Z', 1, ?2)";
        connection.execute(sql, (number, text)).unwrap();
    }
    let rows = || -> Vec<String> {
        let mut select = connection.prepare("SELECT format || events FROM step ORDER BY number").unwrap();
        select.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
    };
    let before = rows();
    let mut logbook = Logbook::open(&path).unwrap();
    let mut exam = read(&logbook, ExamNumber(1)).unwrap();
    for m in [-1.0, -1.0, -1.5, -1.0] {
        append(&mut logbook, &mut exam, &accepted(m), after(1)).unwrap();
    }
    let again = read(&logbook, ExamNumber(1)).unwrap();
    assert_eq!(again, exam);
    let after_it = rows();
    assert_eq!(after_it[..2], before);
    assert!(after_it[2].starts_with('2') && after_it[2].contains("j45"), "{}", after_it[2]);
    assert!(!after_it[3].contains("j45") && after_it[4].contains("j45") && after_it[5].len() < 50, "{after_it:?}");
    // a step that could not be kept has written nothing that a later one names
    connection
        .execute_batch("CREATE TRIGGER not_now BEFORE INSERT ON step BEGIN SELECT RAISE(ABORT, 'not now'); END;")
        .unwrap();
    append(&mut logbook, &mut exam, &accepted(-2.0), after(2)).unwrap_err();
    connection.execute_batch("DROP TRIGGER not_now").unwrap();
    append(&mut logbook, &mut exam, &accepted(-2.0), after(2)).unwrap();
    assert_eq!(read(&logbook, ExamNumber(1)).unwrap(), exam);
    assert!(rows()[6].contains("j45"));
}

/// What a guided exam takes in the file, indexes and all: of 88 steps at most 110 kB.
#[test]
fn a_guided_exam_takes_little_room() {
    let (_folder, path) = fresh();
    let mut logbook = Logbook::open(&path).unwrap();
    begin(&mut logbook, "Hillside", start()).unwrap();
    drop(logbook);
    let before = std::fs::metadata(&path).unwrap().len();
    let mut logbook = Logbook::open(&path).unwrap();
    let mut steps = 0;
    for number in 0..3 {
        let examinee = Examinee::new(Person::drawn(1, number, Care::Typical, Law::Written), Draws::new(1, number));
        let fitted = crate::invented::opening("Hillside").fitted;
        let examined = examine(&fitted, examinee, Way { both: true, ..Way::default() }, None, &mut |_| {}).unwrap();
        let mut exam = begin(&mut logbook, "Hillside", start()).unwrap();
        for step in examined.exam.standing_steps() {
            append(&mut logbook, &mut exam, step, start()).unwrap();
            steps += 1;
        }
        append(&mut logbook, &mut exam, &[Event::Finished], start()).unwrap();
        assert_eq!(read(&logbook, exam.open.number()).unwrap(), exam);
    }
    drop(logbook);
    let bytes = std::fs::metadata(&path).unwrap().len() - before;
    assert!(steps > 100, "{steps} steps");
    assert!(bytes * 88 / steps <= 110_000, "{bytes} bytes for {steps} steps");
}

#[test]
fn what_is_larger_unpacked_than_anything_that_is_kept_is_refused_with_the_limit() {
    const MOST: usize = 1 << 20;
    let largest = dioptray::sharing::body::deflate(&vec![b'x'; MOST]).unwrap();
    assert_eq!(dioptray::sharing::body::inflate(&largest, MOST as u64).unwrap().len(), MOST);
    let larger = dioptray::sharing::body::deflate(&vec![b'x'; MOST + 1]).unwrap();
    let said = dioptray::sharing::body::inflate(&larger, MOST as u64).unwrap_err().to_string();
    assert_eq!(said, "unpacked it has more than 1048576 bytes (1 MB), the most that is read");
}
