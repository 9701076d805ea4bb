//! A day of many people: what its events add up to, in values and in the logbook.

#![expect(clippy::unwrap_used, reason = "a test stops where something is not as it must be")]

use dioptray::day::{
    Caller, Day, DayEvent, DayFigures, DayLine, DayRefusal, DaySettings, ExamOfPerson, NewPerson, PersonState,
};
use dioptray::exam::screening_pass::{ScreeningFault, ScreeningStep, next_step, usual_limit};
use dioptray::exam::{
    AcuityNote, Detail, DropsPut, Event, Exam, HowSoon, Outcome, OutcomeKind, PresentGlasses, Screened, Through,
};
use dioptray::logbook::{BeganWith, ExamInDay, Logbook, LogbookError};
use dioptray::optics::{Acuity, Eye};
use dioptray::session::DayNow;
use jiff::{SignedDuration, Timestamp};
use proptest::prelude::*;
use uuid::Uuid;

use crate::invented::opening;
use crate::kept_exam::named;

fn at(minutes: i64) -> Timestamp {
    "2026-03-14T08:00:00Z".parse::<Timestamp>().unwrap() + SignedDuration::from_mins(minutes)
}

fn person(label: &str) -> NewPerson {
    NewPerson { label: Some(label.to_owned()), age_years: Some(9), ..NewPerson::default() }
}

fn logbook() -> (tempfile::TempDir, Logbook) {
    let folder = tempfile::tempdir().unwrap();
    let logbook = Logbook::open(&folder.path().join("logbook.db")).unwrap();
    (folder, logbook)
}

fn begun_with() -> BeganWith {
    BeganWith {
        in_box: named("Hillside"),
        applied: dioptray::sharing::Heads::default(),
        by: None,
        procedures_version: 1,
    }
}

/// Any event, mostly of a few people.
fn event() -> impl Strategy<Value = DayEvent> {
    let number = 1..6_u32;
    prop_oneof![
        proptest::option::of(number.clone())
            .prop_map(|number| DayEvent::Waits(NewPerson { number, ..NewPerson::default() })),
        (number.clone(), 1..9_u128).prop_map(|(number, exam)| DayEvent::Called { number, exam: Uuid::from_u128(exam) }),
        number.clone().prop_map(|number| DayEvent::Aside { number }),
        number.clone().prop_map(|number| DayEvent::Closed { number }),
        number.prop_map(|number| DayEvent::Left { number }),
        Just(DayEvent::Room(Detail::ChartMetres(4.0))),
    ]
}

proptest! {
    /// Whatever comes in whatever order, and whatever of it is refused: each person stands in one line, and the figures add up.
    #[test]
    fn the_list_adds_up_whatever_happens(events in proptest::collection::vec((event(), -3..30_i64), 0..60), closed in 0..9_u128) {
        let mut day = Day::new(DaySettings::default(), at(0));
        let mut now = 0;
        for (event, after) in events {
            // clocks jump, back too
            now += after;
            if day.check(&event).is_ok() {
                day.apply(&event, at(now));
            }
        }
        let exam_of = |id: Uuid| {
            let is_closed = id.as_u128() <= closed;
            let outcome = is_closed.then(|| if id.as_u128().is_multiple_of(2) {
                Outcome::Glasses
            } else {
                Outcome::Refer { why: "a turned eye".to_owned(), soon: HowSoon::Today }
            });
            ExamOfPerson { closed: is_closed.then(|| at(now)), outcome, ..ExamOfPerson::default() }
        };
        let lines = dioptray::day::list::lines(&day, |person| person.last_exam().map(exam_of), at(now));
        let mut numbers: Vec<u32> = lines.iter().map(|line| line.number).collect();
        prop_assert!(numbers.is_sorted());
        numbers.dedup();
        prop_assert_eq!(numbers.len(), day.people.len());
        let figures = DayFigures::of(&lines);
        let left = lines.iter().filter(|line| line.state.has_left()).count();
        let in_exam = lines.iter().filter(|line| line.state == PersonState::InExam).count();
        prop_assert_eq!(figures.seen + figures.to_come + left + in_exam, lines.len());
        let came: usize = OutcomeKind::ALL.into_iter().map(|kind| figures.count(kind)).sum();
        prop_assert_eq!(came + figures.without, figures.seen);
        for line in &lines {
            prop_assert!(line.took >= SignedDuration::ZERO);
        }
    }
}

#[test]
fn time_is_that_of_the_exams_without_the_waits() {
    let mut day = Day::new(DaySettings::default(), at(0));
    let exam = Uuid::from_u128(1);
    for (minute, event) in [
        (0, DayEvent::Waits(person("5B-1"))),
        (10, DayEvent::Called { number: 1, exam }),
        (14, DayEvent::Aside { number: 1 }),
        (80, DayEvent::Called { number: 1, exam }),
        (85, DayEvent::Closed { number: 1 }),
    ] {
        day.check(&event).unwrap();
        day.apply(&event, at(minute));
    }
    let closed = ExamOfPerson { closed: Some(at(85)), ..ExamOfPerson::default() };
    let line = DayLine::of(&day.people[0], Some(&closed), at(300));
    assert_eq!(line.took, SignedDuration::from_mins(9));
    assert_eq!(line.state, PersonState::Done);
    // the program was killed before it noted the end of the visit: the exam says when it was closed
    let mut killed = Day::new(DaySettings::default(), at(0));
    killed.apply(&DayEvent::Waits(person("5B-1")), at(0));
    killed.apply(&DayEvent::Called { number: 1, exam }, at(10));
    let closed = ExamOfPerson { closed: Some(at(17)), ..ExamOfPerson::default() };
    let line = DayLine::of(&killed.people[0], Some(&closed), at(300));
    assert_eq!((line.took, line.state), (SignedDuration::from_mins(7), PersonState::Done));
}

#[test]
fn drops_are_ready_when_the_last_of_them_are() {
    let put = |minute, eye, ready_after_min| DropsPut {
        what: "cyclopentolate".to_owned(),
        eye,
        at: at(minute),
        ready_after_min,
        by: None,
    };
    let put = [put(0, None, 60), put(5, Some(Eye::Left), 60)];
    assert_eq!(dioptray::exam::drops::ready(&put), Some(at(65)));
    let mut day = Day::new(DaySettings::default(), at(0));
    day.apply(&DayEvent::Waits(person("5B-1")), at(0));
    day.apply(&DayEvent::Called { number: 1, exam: Uuid::from_u128(1) }, at(0));
    day.apply(&DayEvent::Aside { number: 1 }, at(6));
    let exam = ExamOfPerson { drops_ready: Some(at(65)), ..ExamOfPerson::default() };
    let state = |minute| DayLine::of(&day.people[0], Some(&exam), at(minute)).state;
    assert_eq!(state(64), PersonState::DropsUntil(at(65)));
    assert_eq!(state(65), PersonState::DropsReady);
}

/// Limits and the +2.00 look: IAPB school eye health guideline (6/9, and acuity through +2.00).
#[test]
fn a_screening_pass_asks_each_eye_then_plus_then_near() {
    let limit = usual_limit();
    let mut exam = Exam::open(opening("Hillside"));
    let mut take = |event: Event| {
        exam.apply(&[event]).unwrap();
        next_step(exam.state(), limit)
    };
    let reads = |eye, denominator| {
        Event::Acuity(AcuityNote { eye: Some(eye), through: Through::Unaided, acuity: Acuity::of_6_m(denominator) })
    };
    assert_eq!(take(reads(Eye::Right, 9.0)), ScreeningStep::Read(Eye::Left));
    assert_eq!(take(reads(Eye::Left, 12.0)), ScreeningStep::Fails(ScreeningFault::ReadsLess(Eye::Left)));
    assert_eq!(take(reads(Eye::Left, 6.0)), ScreeningStep::ThroughPlusTwo(Eye::Right));
    let plus = |eye, same| Event::Screened(Screened::PlusTwo(eye, same));
    assert_eq!(take(plus(Eye::Right, false)), ScreeningStep::ThroughPlusTwo(Eye::Left));
    assert_eq!(take(plus(Eye::Left, true)), ScreeningStep::Fails(ScreeningFault::PlusMayHide(Eye::Left)));
    assert_eq!(take(plus(Eye::Left, false)), ScreeningStep::ReadNear);
    assert_eq!(take(Event::Screened(Screened::Near(false))), ScreeningStep::Fails(ScreeningFault::Near));
    assert_eq!(take(Event::Screened(Screened::Near(true))), ScreeningStep::Passes);
    // who came with glasses is read with them
    let with = Event::Detail(Detail::PresentGlasses(PresentGlasses::HereUnknown));
    assert_eq!(take(with), ScreeningStep::Read(Eye::Right));
}

#[test]
fn who_comes_without_a_number_gets_the_next_from_either_program() {
    let (folder, mut here) = logbook();
    let id = here.begin_day(DaySettings::default(), Some("K.M."), at(0)).unwrap();
    let mut there = Logbook::open(&folder.path().join("logbook.db")).unwrap();
    let waits = |label: &str| [DayEvent::Waits(person(label))];
    here.note_in_day(id, &waits("a"), None, at(1)).unwrap();
    there.note_in_day(id, &waits("b"), None, at(1)).unwrap();
    here.note_in_day(id, &waits("c"), None, at(2)).unwrap();
    let day = there.day(id).unwrap().day;
    let labels: Vec<_> = day.people.iter().map(|person| (person.number, person.entered.label.as_deref())).collect();
    assert_eq!(labels, [(1, Some("a")), (2, Some("b")), (3, Some("c"))]);
    assert!(matches!(here.begin_day(DaySettings::default(), None, at(3)), Err(LogbookError::DayOpen { .. })));
}

#[test]
fn two_programs_do_not_call_one_person_twice() {
    let (folder, mut here) = logbook();
    let id = here.begin_day(DaySettings::default(), None, at(0)).unwrap();
    here.note_in_day(id, &[DayEvent::Waits(person("a"))], None, at(1)).unwrap();
    let mut there = Logbook::open(&folder.path().join("logbook.db")).unwrap();
    let call = |logbook: &mut Logbook| {
        logbook.begin_exam_in_day(&opening("Hillside"), &begun_with(), id, &Caller::Number(1), at(2))
    };
    let ExamInDay { open: exam, number, .. } = call(&mut here).unwrap();
    assert_eq!(number, 1);
    let refused = call(&mut there).unwrap_err();
    assert!(matches!(refused, LogbookError::Day(DayRefusal::InExam { number: 1 })), "{refused}");
    // neither the call nor an exam of it is there
    assert_eq!(there.exams().unwrap().exams.len(), 1);
    let on_record = there.day(id).unwrap();
    assert_eq!(on_record.day.people[0].last_exam(), Some(exam.id().uuid()));
    assert_eq!(on_record.day.people[0].visits.len(), 1);
}

#[test]
fn a_day_goes_on_over_midnight_and_over_a_clock_that_jumps() {
    let (_folder, mut logbook) = logbook();
    let late = "2026-03-14T23:50:00Z".parse::<Timestamp>().unwrap();
    let id = logbook.begin_day(DaySettings::default(), None, late).unwrap();
    // after midnight, a year ahead, a day back: the order is that of what was noted, not that of the clock
    let times = ["2026-03-15T00:10:00Z", "2027-03-15T00:11:00Z", "2026-03-14T00:12:00Z"];
    for (label, time) in ["a", "b", "c"].into_iter().zip(times) {
        let now = time.parse().unwrap();
        assert!(logbook.open_day().unwrap().is_some(), "{time}");
        let new = Caller::New(person(label));
        let ExamInDay { mut open, .. } =
            logbook.begin_exam_in_day(&opening("Hillside"), &begun_with(), id, &new, now).unwrap();
        let mut exam = Exam::open(opening("Hillside"));
        let checked = exam.check(vec![Event::Finished]).unwrap();
        // the clock is set back an hour within each exam
        logbook.append(&mut open, &checked, None, now - SignedDuration::from_hours(1)).unwrap();
        exam.accept(checked);
    }
    let on_record = logbook.day(id).unwrap();
    let now = DayNow::of(&logbook, on_record, "2026-03-14T00:13:00Z".parse().unwrap()).unwrap();
    let labels: Vec<_> = now.lines.iter().map(|line| (line.number, line.label.as_deref(), line.state)).collect();
    let done = PersonState::Done;
    assert_eq!(labels, [(1, Some("a"), done), (2, Some("b"), done), (3, Some("c"), done)]);
    assert!(now.lines.iter().all(|line| line.took == SignedDuration::ZERO), "no time is less than none");
}

#[test]
fn a_slip_is_taken_back_and_stays_in_the_file() {
    let (_folder, mut logbook) = logbook();
    let id = logbook.begin_day(DaySettings::default(), None, at(0)).unwrap();
    logbook.note_in_day(id, &[DayEvent::Waits(person("a")), DayEvent::Waits(person("b"))], None, at(1)).unwrap();
    let (after, slip) = logbook.undo_in_day(id, Some("K.M."), at(2)).unwrap();
    assert_eq!((after.day.people.len(), slip.body.events().len()), (0, 2));
    assert_eq!(after.entries.len(), 3);
    assert!(matches!(logbook.undo_in_day(id, None, at(3)), Err(LogbookError::NothingToTakeBackOfDay)));
    // the number of somebody who was a slip is free again
    let after = logbook.note_in_day(id, &[DayEvent::Waits(person("c"))], None, at(4)).unwrap();
    assert_eq!(after.day.people[0].number, 1);
    // an end that was a slip
    logbook.note_in_day(id, &[DayEvent::Ended], None, at(5)).unwrap();
    let refused = logbook.note_in_day(id, &[DayEvent::Waits(person("d"))], None, at(6)).unwrap_err();
    assert_eq!(refused.to_string(), "this day has ended: begin another");
    let (after, _) = logbook.undo_in_day(id, None, at(7)).unwrap();
    assert_eq!(after.day.ended, None);
}

#[test]
fn that_an_exam_began_is_not_taken_back() {
    let (_folder, mut logbook) = logbook();
    let id = logbook.begin_day(DaySettings::default(), None, at(0)).unwrap();
    let new = Caller::New(person("a"));
    logbook.begin_exam_in_day(&opening("Hillside"), &begun_with(), id, &new, at(1)).unwrap();
    let refused = logbook.undo_in_day(id, None, at(2)).unwrap_err();
    assert_eq!(refused.to_string(), "nothing of this day can be taken back: how it began and that an exam began stay");
}

#[test]
fn the_list_has_what_each_exam_came_to() {
    let (_folder, mut logbook) = logbook();
    let id = logbook.begin_day(DaySettings::default(), None, at(0)).unwrap();
    let new = Caller::New(person("a"));
    let ExamInDay { mut open, .. } =
        logbook.begin_exam_in_day(&opening("Hillside"), &begun_with(), id, &new, at(1)).unwrap();
    let mut exam = Exam::open(opening("Hillside"));
    let outcome = Outcome::Refer { why: "a white pupil".to_owned(), soon: HowSoon::Today };
    for (minute, step) in [(2, vec![Event::Outcome(outcome.clone())]), (5, vec![Event::Finished])] {
        let checked = exam.check(step).unwrap();
        logbook.append(&mut open, &checked, None, at(minute)).unwrap();
        exam.accept(checked);
    }
    let on_record = logbook.day(id).unwrap();
    let now = DayNow::of(&logbook, on_record, at(60)).unwrap();
    let line = &now.lines[0];
    assert_eq!((line.state, line.outcome.as_ref(), line.exam), (PersonState::Refer, Some(&outcome), Some(1)));
    assert_eq!(line.took, SignedDuration::from_mins(4));
    assert_eq!((now.figures.seen, now.figures.count(OutcomeKind::Refer)), (1, 1));
}

#[test]
fn a_room_setting_takes_the_place_of_the_one_before() {
    let mut settings = DaySettings::default();
    settings.set_room(&Detail::ChartMetres(6.0));
    settings.set_room(&Detail::NearMetres(0.4));
    settings.set_room(&Detail::ChartMetres(3.0));
    settings.set_room(&Detail::AgeYears(9));
    assert_eq!(settings.room, [Detail::NearMetres(0.4), Detail::ChartMetres(3.0)]);
}
