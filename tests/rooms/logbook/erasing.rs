//! What two people of a room had erased: nothing of it is left, and everything else is as it was.

use std::fs;
use std::path::Path;

use dioptray::day::{Caller, DayEvent, DaySettings, NewPerson};
use dioptray::logbook::erasing::{note_beside, noted_beside};
use dioptray::logbook::parcels::error::ParcelError;
use dioptray::logbook::parcels::others::{Elsewhere, Others, others_of};
use dioptray::logbook::{BeganWith, ErasedHere, ExamNumber, Logbook, StoredExam};
use dioptray::sharing::{Erasure, ErasuresKnown};
use rusqlite::Connection;

use super::parcels::{Seats, amended, closed, names};
use super::{Event, after, append, begin, label, named, note};
use crate::invented::opening;

pub fn erasure(exam: &StoredExam, place: i64) -> Erasure {
    Erasure {
        exam: exam.id().uuid(),
        seat: "lane3".to_owned(),
        number: exam.number().0,
        place,
        closed: exam.closed().unwrap().to_string(),
        why: "entered for the wrong person".to_owned(),
        asked_by: "office".to_owned(),
        agreed_by: "lane4".to_owned(),
        agreed: "2026-03-02T10:00:00.5Z".to_owned(),
    }
}

/// How often a text stands in the files of a folder, byte for byte.
pub fn found(folder: &Path, text: &str) -> usize {
    let files = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let in_file = |path| fs::read(path).unwrap().windows(text.len()).filter(|bytes| *bytes == text.as_bytes()).count();
    files.map(in_file).sum()
}

fn folder(path: &Path) -> &Path {
    path.parent().unwrap()
}

/// Exams enough for their rows to have moved from page to page, each continued, closed and amended; the labels are one of a kind.
pub fn many(seats: &Seats) -> Vec<StoredExam> {
    let mut logbook = seats.open("lane3");
    for nth in 1..=40 {
        let mut exam = begin(&mut logbook, "Hillside", after(nth * 100)).unwrap();
        append(&mut logbook, &mut exam, &label(&format!("Label-of-{nth:02}")), after(nth * 100 + 1)).unwrap();
        for step in 2..8 {
            append(&mut logbook, &mut exam, &note(&format!("note {step} of {nth:02}")), after(nth * 100 + step))
                .unwrap();
        }
        append(&mut logbook, &mut exam, &[Event::Finished], after(nth * 100 + 9)).unwrap();
        amended(&mut logbook, &mut exam, &format!("amended, {nth:02}"), nth * 100 + 10);
    }
    (1..=40).map(|number| logbook.read_exam(ExamNumber(number)).unwrap()).collect()
}

#[test]
fn no_byte_of_an_erased_exam_is_left_and_all_others_are_as_they_were() {
    let seats = Seats::new();
    let exams = many(&seats);
    let path = seats.path("lane3");
    let erased = &exams[6];
    assert!(found(folder(&path), "note 5 of 07") > 0);
    assert!(found(folder(&path), "Label-of-07") > 1, "rows that were written again left copies");
    let body: Vec<u8> = Connection::open(&path)
        .unwrap()
        .query_row("SELECT body FROM entry WHERE kind = 'amendment' AND about = ?1", [erased.id().uuid()], |row| {
            row.get(0)
        })
        .unwrap();

    // as the thread leaves it that was killed a moment later: noted beside, and the logbook is as it was
    note_beside(&path, &[erasure(erased, 1)]).unwrap();
    assert_eq!(seats.open("lane3").read_exam(erased.number()).unwrap(), *erased);
    let mut logbook = seats.open("lane3");
    let here = logbook.erase_what_was_agreed().unwrap();
    assert_eq!((here.erased[0].0, here.left_behind, here.on_a_screen.len()), (ExamNumber(7), None, 0));
    for text in ["Label-of-07", "note 5 of 07", "amended, 07"] {
        assert_eq!(found(folder(&path), text), 0, "{text}");
    }
    let of_body = |bytes: &[u8]| bytes == body.as_slice();
    assert!(!fs::read(&path).unwrap().windows(body.len()).any(of_body));
    assert_eq!(logbook.erase_what_was_agreed().unwrap(), ErasedHere::default(), "once is enough");
    drop(logbook);
    for text in ["Label-of-07", "note 5 of 07"] {
        assert_eq!(found(folder(&path), text), 0, "{text}, once the file is closed");
    }

    let logbook = seats.open("lane3");
    logbook.check().unwrap();
    for exam in exams.iter().filter(|exam| exam.number() != erased.number()) {
        assert_eq!(logbook.read_exam(exam.number()).unwrap(), *exam);
    }
    let said = logbook.read_exam(erased.number()).unwrap_err();
    assert!(said.is_of_an_erased_exam());
    assert!(
        said.to_string().contains(
            "exam 7 was erased: entered for the wrong person (asked for by office, agreed to by lane4, 2026-03-02)"
        ),
        "{said}"
    );
    let list = logbook.exams().unwrap();
    assert_eq!((list.exams.len(), list.passed_over.len()), (40, 0));
    let line = logbook.exam_line(erased.number()).unwrap();
    assert_eq!((line.label, line.steps, line.finished), (None, 0, erased.closed()));
    assert_eq!(line.erased.unwrap().why, "entered for the wrong person");
    assert_eq!(logbook.retinoscopy_pairs(40, None).unwrap(), []);
    // nothing is added to what is gone, whoever still has it on a screen
    let mut logbook = logbook;
    let more = [Event::Amended("more".to_owned())];
    assert!(logbook.amend(&erased.open, &more, None, after(9999)).unwrap_err().is_of_an_erased_exam());
}

#[test]
fn the_chain_and_parcels_hold_without_the_body() {
    let seats = Seats::new();
    let exams = many(&seats);
    let path = seats.path("lane3");
    let before = seats.write("lane3", "before", None);
    note_beside(&path, &[erasure(&exams[6], 1)]).unwrap();
    seats.open("lane3").erase_what_was_agreed().unwrap();
    let since = seats.write("lane3", "since", Some(&before));
    let after_it = seats.write("lane3", "after", None);
    let taken = seats.read("teamB", &[&after_it]).unwrap();
    assert_eq!((taken.entries, taken.new, taken.not_listed), (80, 80, 1));
    let state = seats.state("teamB");
    assert_eq!(state.len(), 39);
    assert!(!names(&state).contains(&"lane3-7"));
    assert_eq!(found(folder(&seats.path("teamB")), "Label-of-07"), 0);
    // who reads the parcel from before has it, and both are the same entries
    let taken = seats.read("teamC", &[&before, &after_it, &since]).unwrap();
    assert_eq!((taken.entries, taken.new), (80, 80));
    assert_eq!(seats.state("teamC").len(), 40);
    // and a whole copy of the logbook is a logbook
    let copy = seats.0.path().join("copy.db");
    seats.open("lane3").copy_to(&copy).unwrap();
    Logbook::open(&copy).unwrap().check().unwrap();
}

#[test]
fn what_came_of_another_seat_goes_too_and_does_not_come_again() {
    let seats = Seats::new();
    let exams = many(&seats);
    let parcel = seats.write("lane3", "parcel", None);
    seats.read("teamB", &[&parcel]).unwrap();
    let path = seats.path("teamB");
    assert_eq!(noted_beside(&path).unwrap(), ErasuresKnown::default());
    assert!(found(folder(&path), "Label-of-07") > 0);
    let (first, second) = (erasure(&exams[6], 1), erasure(&exams[7], 2));
    assert_eq!(note_beside(&path, std::slice::from_ref(&first)).unwrap(), None);
    assert_eq!(note_beside(&path, &[first, second.clone()]).unwrap(), None);
    assert_eq!(noted_beside(&path).unwrap(), ErasuresKnown { count: 2, last: Some(second.exam) });
    let gone = |text: &str| found(folder(&path), text) == 0;
    let is_gone = || ["Label-of-07", "note 5 of 07", "amended, 07", "Label-of-08"].into_iter().all(gone);
    assert!(is_gone() && !gone("Label-of-09"));
    let others = Others::beside(&path).unwrap().unwrap();
    others.check().unwrap();
    let list = others.exams().unwrap();
    let erased: Vec<String> =
        list.exams.iter().filter(|line| line.line.erased.is_some()).map(|line| line.name.to_string()).collect();
    assert_eq!((list.exams.len(), list.passed_over.len(), erased.join(" ")), (40, 0, "lane3-8 lane3-7".to_owned()));
    let said = others.read_exam(&Elsewhere::from_text("lane3-7").unwrap()).unwrap_err();
    assert!(matches!(said, ParcelError::Erased { .. }), "{said}");
    assert!(said.to_string().starts_with("lane3-7 was erased: entered for the wrong person"), "{said}");
    // a parcel that was written before, and an amendment that was made since
    seats.read("teamB", &[&parcel]).unwrap();
    let mut lane3 = seats.open("lane3");
    lane3.amend(&exams[6].open, &[Event::Amended("since then, 07".to_owned())], None, after(9999)).unwrap();
    drop(lane3);
    let later = seats.write("lane3", "later", Some(&parcel));
    assert_eq!(seats.read("teamB", &[&later]).unwrap().new, 1);
    assert!(is_gone() && gone("since then, 07"));
    // where nothing of it was yet, it is known by its name all the same
    note_beside(&seats.path("teamC"), &[second]).unwrap();
    let said = seats.read("teamC", &[&parcel]).unwrap();
    assert_eq!((said.new, said.not_listed), (80, 0));
    let others = Others::beside(&seats.path("teamC")).unwrap().unwrap();
    assert!(matches!(others.read_exam(&Elsewhere::from_text("lane3-8").unwrap()), Err(ParcelError::Erased { .. })));
    assert_eq!(found(folder(&seats.path("teamC")), "Label-of-08"), 0);
    assert!(Connection::open(others_of(&seats.path("teamC"))).is_ok());
}

#[test]
fn the_list_of_a_day_keeps_the_number_and_says_nothing_of_the_person() {
    let seats = Seats::new();
    let path = seats.path("lane3");
    let mut logbook = seats.open("lane3");
    let day = logbook.begin_day(DaySettings::default(), None, after(0)).unwrap();
    let person = |label: &str| NewPerson { label: Some(label.to_owned()), age_years: Some(9), ..NewPerson::default() };
    // both in one entry
    let waits = ["First-on-the-list", "Second-on-the-list"].map(|label| DayEvent::Waits(person(label)));
    logbook.note_in_day(day, &waits, None, after(1)).unwrap();
    let with = BeganWith {
        in_box: named("Hillside"),
        applied: dioptray::sharing::Heads::default(),
        by: None,
        procedures_version: 1,
    };
    let begun = logbook.begin_exam_in_day(&opening("Hillside"), &with, day, &Caller::Number(1), after(2)).unwrap();
    let number = begun.open.number();
    let mut open = begun.open;
    let step = begun.exam.check(vec![Event::Finished]).unwrap();
    logbook.append(&mut open, &step, None, after(3)).unwrap();
    logbook.note_in_day(day, &[DayEvent::Closed { number: 1 }], None, after(3)).unwrap();
    let before = logbook.day(day).unwrap();
    let exam = logbook.read_exam(number).unwrap();
    note_beside(&path, &[erasure(&exam, 1)]).unwrap();
    assert_eq!(logbook.erase_what_was_agreed().unwrap().erased.len(), 1);
    drop(logbook);
    assert_eq!(found(folder(&path), "First-on-the-list"), 0);
    let logbook = seats.open("lane3");
    logbook.check().unwrap();
    let now = logbook.day(day).unwrap();
    assert!(now.unread.is_empty());
    assert_eq!(now.day.people.len(), 2);
    let (first, second) = (&now.day.people[0], &now.day.people[1]);
    assert_eq!(first.entered, NewPerson { number: Some(1), ..NewPerson::default() });
    assert_eq!(second, &before.day.people[1]);
    assert_eq!((&first.visits, first.since), (&before.day.people[0].visits, before.day.people[0].since));
    assert_eq!(logbook.exams_of_day(&now.day).unwrap().len(), 1);
}

#[test]
fn an_exam_that_is_open_is_not_erased_before_it_is_closed() {
    let seats = Seats::new();
    let path = seats.path("lane3");
    let mut logbook = seats.open("lane3");
    let finished = closed(&mut logbook, "Closed", 0);
    let mut open = begin(&mut logbook, "Hillside", after(100)).unwrap();
    append(&mut logbook, &mut open, &label("Still-open"), after(101)).unwrap();
    let of_open = logbook.read_exam(open.open.number()).unwrap();
    let noted =
        Erasure { exam: of_open.id().uuid(), ..erasure(&logbook.read_exam(finished.open.number()).unwrap(), 1) };
    note_beside(&path, &[noted]).unwrap();
    assert_eq!(logbook.erase_what_was_agreed().unwrap().erased, []);
    append(&mut logbook, &mut open, &[Event::Finished], after(102)).unwrap();
    assert_eq!(logbook.erase_what_was_agreed().unwrap().erased.len(), 1);
    assert!(logbook.read_exam(finished.open.number()).is_ok());
    assert_eq!(found(folder(&path), "Still-open"), 0);
}

#[test]
fn steps_of_an_exam_that_is_not_erased_stay_whatever_was_erased() {
    let seats = Seats::new();
    let path = seats.path("lane3");
    let exams = many(&seats);
    note_beside(&path, &[erasure(&exams[0], 1)]).unwrap();
    seats.open("lane3").erase_what_was_agreed().unwrap();
    let file = Connection::open(&path).unwrap();
    for refused in
        ["DELETE FROM step WHERE exam = 2", "DELETE FROM opening WHERE exam = 2", "DELETE FROM exam WHERE number = 1"]
    {
        assert!(
            file.execute(refused, []).unwrap_err().to_string().contains("only ever added")
                || refused.contains("opening")
        );
        assert!(file.execute(refused, []).is_err(), "{refused}");
    }
}
