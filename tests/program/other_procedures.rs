//! An open exam that other procedures of the guide led goes on with today's, from what stands.

#![expect(clippy::unwrap_used, reason = "a test stops where something is not as it must be")]

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use dioptray::exam::prescription::CylinderForm;
use dioptray::exam::{Accepted, Answer, Event, Exam, ExamError, GuideEvent, Opening, ProcedureName};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::guide::{self, Findings, Guide, PROCEDURES_VERSION, Question, Remark};
use dioptray::kit::Stock;
use dioptray::kit::shipped::demo_box;
use dioptray::logbook::{BEFORE_VERSIONS, BeganWith, ExamNumber, Logbook};
use dioptray::optics::{Acuity, AcuityNotation, Eye, Power};
use dioptray::screen::ui::Panel;
use dioptray::screen::{App, PrintForm, ScreenStart, Settings, Size, guidance, print};
use dioptray::session::{Beginning, Begun, Note, Session, StepError, Writing};
use dioptray::sharing::Heads;
use jiff::Timestamp;
use tempfile::TempDir;

use crate::kept_exam::{Kept, append, named, read};

const LOGBOOK: &str = "DIOPTRAY_TEST_LOGBOOK";

fn start() -> Timestamp {
    "2026-03-01T09:30:00Z".parse().unwrap()
}

/// Begins as the program does.
fn begin(path: &Path) -> Begun {
    let writing = Writing::new(CylinderForm::Minus, AcuityNotation::SixMetres, None);
    let beginning = Beginning { box_file: None, frame_file: None, new: false, carries_over: None, writing };
    beginning.in_logbook(path).unwrap()
}

fn a_folder() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().canonicalize().unwrap().join("logbook.db");
    (folder, path)
}

fn steps_of(path: &Path, exam: i64) -> Vec<Vec<Event>> {
    let kept = read(&Logbook::open_read_only(path).unwrap(), ExamNumber(exam)).unwrap();
    kept.steps.into_iter().map(|step| step.events).collect()
}

fn taken_over() -> Vec<Event> {
    vec![Event::Guide(GuideEvent::ProceduresChanged { version: PROCEDURES_VERSION })]
}

fn other_procedures(begun: u32, exam: u64) -> Note {
    Note::OtherProcedures { exam, begun, now: PROCEDURES_VERSION }
}

fn undo(session: &mut Session) -> Result<(), StepError> {
    session.take(Event::Undone)
}

const EARLIER: u32 = PROCEDURES_VERSION - 1;

/// An exam that earlier procedures lead: in the middle of the best sphere of the right eye, and the left eye is accepted.
fn led_by_earlier_procedures(path: &Path) -> Kept {
    led_by(path, EARLIER)
}

fn led_by(path: &Path, version: u32) -> Kept {
    let opening = Opening::of(FittedFrame::new(demo_frame().unwrap(), Stock::of(&demo_box().unwrap())));
    let with =
        BeganWith { in_box: named("Hillside"), applied: Heads::default(), by: None, procedures_version: version };
    let mut logbook = Logbook::open(path).unwrap();
    let open = logbook.begin_exam(&opening, &with, start()).unwrap();
    let mut kept = Kept { open, exam: Exam::open(opening), steps: Vec::new() };
    let found = Power { m: -1.5, j0: 0.25, j45: 0.0 };
    append(&mut logbook, &mut kept, &[Event::Accepted(Accepted::Refraction(Eye::Left, Some(found)))], start()).unwrap();
    let begun = guide::begin(&Guide::of(&kept.exam), &kept.exam, ProcedureName::BestSphere, Some(Eye::Right)).unwrap();
    append(&mut logbook, &mut kept, begun.events(), start()).unwrap();
    let read = |denominator: f64| Answer::Read(Acuity::of_6_m(denominator));
    for answer in [read(24.0), read(6.0)] {
        let answered = guide::answer(&Guide::of(&kept.exam), &kept.exam, answer).unwrap();
        append(&mut logbook, &mut kept, answered.events(), start()).unwrap();
    }
    assert_eq!(Guide::of(&kept.exam).running(), Some((ProcedureName::BestSphere, Some(Eye::Right))));
    assert!(kept.exam.state().fitted.in_front_of(Eye::Right).net.m > 0.9, "something stands in the frame");
    kept
}

#[test]
fn an_open_exam_of_the_program_of_before_loses_nothing_and_says_so_once() {
    let (_folder, path) = a_folder();
    let fixture = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/program/logbooks/form1-open.db");
    fs::copy(fixture, &path).unwrap();
    let before = read(&Logbook::open(&path).unwrap(), ExamNumber(7)).unwrap();
    let begun = begin(&path);
    assert!(begun.notes.contains(&other_procedures(BEFORE_VERSIONS, 7)), "{:?}", begun.notes);
    assert!(begun.goes_on.unwrap().contains("with earlier procedures"));
    let (state, stood) = (begun.session.state(), before.exam.state());
    assert_eq!((&state.fitted, &state.results, state.wanted), (&stood.fitted, &stood.results, stood.wanted));
    assert_eq!((&state.person, &state.trail, &state.notes), (&stood.person, &stood.trail, &stood.notes));
    let net = stood.fitted.in_front_of(Eye::Right).net;
    assert!((net.m + 2.5).abs() < 0.1, "{net:?}");
    assert_eq!(begun.session.guide().found()[Eye::Right], net, "the guide goes on from what stands");
    drop(begun.session);
    let kept: Vec<Vec<Event>> = before.steps.into_iter().map(|step| step.events).chain([taken_over()]).collect();
    assert_eq!(steps_of(&path, 7), kept, "what was taken back is kept too");
    for _ in 0..2 {
        let again = begin(&path);
        assert!(!again.notes.iter().any(|note| matches!(note, Note::OtherProcedures { .. })), "{:?}", again.notes);
        assert!(!again.goes_on.unwrap().contains("earlier procedures"));
        drop(again.session);
        assert_eq!(steps_of(&path, 7), kept);
    }
}

#[test]
fn what_other_procedures_asked_is_not_read_by_todays() {
    let (_folder, path) = a_folder();
    let before = led_by_earlier_procedures(&path).exam;
    let mut begun = begin(&path);
    assert!(begun.notes.contains(&other_procedures(EARLIER, 1)), "{:?}", begun.notes);
    let session = &mut begun.session;
    assert_eq!(session.state().fitted, before.state().fitted);
    assert_eq!(session.state().results, before.state().results);
    let guide = session.guide().clone();
    assert_eq!((guide.running(), guide.findings(), guide.can_repeat()), (None, &Findings::default(), false));
    assert!(matches!(guide.presentation().question, Question::Next(_)));
    let remarks = &guide.presentation().remarks;
    assert!(remarks.contains(&Remark::ProceduresChanged) && remarks.iter().any(Remark::is_grave), "{remarks:?}");
    let net = before.state().fitted.in_front_of(Eye::Right).net;
    assert_eq!(guide.found()[Eye::Right], net, "what stands in the frame");
    assert_eq!(guide.found()[Eye::Left], before.state().results.refraction[Eye::Left].unwrap(), "what was accepted");

    // undo goes back to where today's procedures took over, and no further
    assert!(matches!(undo(session), Err(StepError::Refused(ExamError::OtherProcedures))));
    let step = guide::begin(session.guide(), session.exam(), ProcedureName::BestSphere, Some(Eye::Right)).unwrap();
    session.take(step).unwrap();
    let running = session.guide().clone();
    assert!(!running.presentation().remarks.contains(&Remark::ProceduresChanged), "said until something is begun");
    let started = session.state().guide.iter().rev().find_map(|event| match event {
        GuideEvent::Began { given, .. } => Some(given.start),
        _ => None,
    });
    assert_eq!(started, Some(guide.found()), "it starts from what stands");
    undo(session).unwrap();
    assert_eq!(*session.guide(), guide);
    let refusal = undo(session).unwrap_err().to_string();
    assert_eq!(
        refusal,
        "what was done before was led by another version of the procedures: it stands, but cannot be taken back step by step"
    );
    assert_eq!(*session.guide(), guide);
    session.take(Event::Redone).unwrap();
    assert_eq!(*session.guide(), running);

    // read back, the guide is the same
    drop(begun.session);
    let again = begin(&path);
    assert_eq!(again.notes, []);
    assert_eq!(*again.session.guide(), running);
    assert_eq!(steps_of(&path, 1).iter().filter(|step| **step == taken_over()).count(), 1);
}

#[test]
fn the_screen_asks_with_what_to_go_on_and_shows_no_move_for_a_question_of_before() {
    let (_folder, path) = a_folder();
    let before = led_by_earlier_procedures(&path).exam;
    let old = Guide::of(&before);
    assert_ne!(guidance::moves_made(&before, old.presentation()), guidance::Moves::default());
    let app = App::new(begin(&path).session, Settings::shipped().unwrap());
    assert_eq!(app.ui.panel, Panel::Guide, "it was led, so it is led on");
    assert_eq!(guidance::moves_made(app.exam(), app.guide().presentation()), guidance::Moves::default());
    assert!(app.cover().is_empty());
    let settings = Settings::shipped().unwrap();
    let start = ScreenStart {
        session: app.session,
        settings,
        choices: None,
        goes_on: None,
        cautions: false,
        offers_kit: false,
        learns: false,
        said: dioptray::screen::AtStart::default(),
        sends: None,
        reports_keys: false,
    };
    let frame = print(start, "", Size { columns: 120, rows: 36 }, PrintForm::Text).unwrap();
    assert!(frame.contains("! Other procedures led this exam"), "{frame}");
}

#[test]
fn an_exam_of_todays_procedures_goes_on_where_it_was() {
    let (_folder, path) = a_folder();
    let before = led_by(&path, PROCEDURES_VERSION);
    let begun = begin(&path);
    assert_eq!(begun.notes, []);
    assert_eq!(*begun.session.exam(), before.exam);
    assert_eq!(*begun.session.guide(), Guide::of(&before.exam));
    drop(begun.session);
    assert_eq!(steps_of(&path, 1).len(), before.steps.len());
}

#[test]
#[ignore = "a child's part: goes on with the exam and is killed"]
fn part_goes_on_and_is_killed() {
    let path = PathBuf::from(env::var(LOGBOOK).unwrap());
    let _begun = begin(&path);
    println!("\nbegun");
    std::process::abort();
}

#[test]
fn killed_once_todays_procedures_have_taken_over_they_do_not_again() {
    let (_folder, path) = a_folder();
    let before = led_by_earlier_procedures(&path);
    for _ in 0..2 {
        let mut child = Command::new(env::current_exe().unwrap());
        child.args(["--ignored", "--exact", "other_procedures::part_goes_on_and_is_killed", "--nocapture"]);
        let out = child.env(LOGBOOK, &path).stdout(Stdio::piped()).stderr(Stdio::null()).output().unwrap();
        assert!(!out.status.success() && String::from_utf8_lossy(&out.stdout).contains("begun"), "{out:?}");
    }
    let begun = begin(&path);
    assert_eq!(begun.notes, []);
    assert_eq!(begun.session.guide().running(), None);
    drop(begun.session);
    let kept: Vec<Vec<Event>> = before.steps.into_iter().map(|step| step.events).chain([taken_over()]).collect();
    assert_eq!(steps_of(&path, 1), kept);
}
