//! The open exam, its guide and its journal as one value.

#![expect(clippy::unwrap_used, reason = "a test stops where something is not as it must be")]

use std::cell::{Cell, RefCell};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::rc::Rc;

use dioptray::day::Caller;
use dioptray::exam::{Answer, CheckedStep, Event, Exam, GuideEvent, Opening, ProcedureName};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::guide::{self, Guide};
use dioptray::kit::Stock;
use dioptray::kit::shipped::demo_box;
use dioptray::logbook::LogbookError;
use dioptray::optics::{Acuity, CylinderForm, Eye, Power};
use dioptray::screen::decide::After;
use dioptray::screen::keys::Chord;
use dioptray::screen::keys::strokes::{self, Stroke};
use dioptray::screen::ui::{Input, Tone};
use dioptray::screen::{App, PrintForm, ScreenStart, Settings, print};
use dioptray::session::{Journal, ListedExam, ListedExams, Note, OpenedRecord, RecordError, SaveError, Session, Step};

/// What a journal was asked for.
#[derive(Default)]
struct Asked {
    /// Where the events of the guide stood in memory in the state after each step that was saved.
    saved: RefCell<Vec<*const GuideEvent>>,
    pairs: Cell<usize>,
    full: Cell<bool>,
}

struct Watched(Rc<Asked>);

impl Journal for Watched {
    fn save(&mut self, step: &CheckedStep) -> Result<(), SaveError> {
        if self.0.full.get() {
            return Err(SaveError::new("the disk is full"));
        }
        self.0.saved.borrow_mut().push(step.after().guide.as_ptr());
        Ok(())
    }

    fn lasts(&self) -> bool {
        true
    }

    fn retinoscopy_pairs(&self) -> Result<Vec<(Power, Power)>, RecordError> {
        self.0.pairs.set(self.0.pairs.get() + 1);
        Ok(Vec::new())
    }
}

fn exam() -> Exam {
    Exam::open(Opening::of(FittedFrame::new(demo_frame().unwrap(), Stock::of(&demo_box().unwrap()))))
}

fn session() -> (Session, Rc<Asked>) {
    let asked = Rc::new(Asked::default());
    (Session::new(exam(), Box::new(Watched(Rc::clone(&asked)))), asked)
}

fn best_sphere(session: &Session) -> CheckedStep {
    guide::begin(session.guide(), session.exam(), ProcedureName::BestSphere, Some(Eye::Right)).unwrap()
}

fn follows(session: &Session) {
    assert_eq!(*session.guide(), Guide::of(session.exam()));
}

#[test]
fn the_guide_follows_every_step_and_another_exam() {
    let (mut session, _) = session();
    follows(&session);
    session.take(best_sphere(&session)).unwrap();
    follows(&session);
    assert!(session.guide().running().is_some());
    session.take(guide::answer(session.guide(), session.exam(), Answer::Read(Acuity::of_6_m(60.0))).unwrap()).unwrap();
    follows(&session);
    session.take(Event::Note("a note".to_owned())).unwrap();
    for _ in 0..3 {
        session.take(Event::Undone).unwrap();
        follows(&session);
    }
    assert!(session.guide().running().is_none());
    session.take(Event::Redone).unwrap();
    follows(&session);
    assert!(session.guide().running().is_some());
    session.begin_another(Step::default(), None).unwrap();
    follows(&session);
    assert!(session.guide().running().is_none());
    session.take(best_sphere(&session)).unwrap();
    session.begin_another(Event::Finished, None).unwrap();
    follows(&session);
}

#[test]
fn the_guide_begins_afresh_where_other_procedures_take_over() {
    let (mut session, _) = session();
    session.take(best_sphere(&session)).unwrap();
    session.take(guide::answer(session.guide(), session.exam(), Answer::Read(Acuity::of_6_m(60.0))).unwrap()).unwrap();
    let net = session.state().fitted.in_front_of(Eye::Right).net;
    assert_ne!(net, Power::ZERO);
    session.take(Event::Guide(GuideEvent::ProceduresChanged { version: 99 })).unwrap();
    follows(&session);
    assert_eq!((session.guide().running(), session.guide().can_repeat()), (None, false));
    assert_eq!(session.guide().found()[Eye::Right], net);
    session.take(best_sphere(&session)).unwrap();
    follows(&session);
}

/// The state that the guide's door made is the one that is saved and the one that stands then: none is made again.
#[test]
fn a_step_that_the_guide_checked_is_saved_and_accepted_as_it_is() {
    let (mut session, asked) = session();
    for _ in 0..3 {
        let step = match session.guide().running() {
            None => best_sphere(&session),
            Some(_) => guide::answer(session.guide(), session.exam(), Answer::Read(Acuity::of_6_m(60.0))).unwrap(),
        };
        let made = step.after().guide.as_ptr();
        session.take(step).unwrap();
        assert_eq!(session.state().guide.as_ptr(), made);
        assert_eq!(asked.saved.borrow().last(), Some(&made));
    }
    session.take(vec![Event::Note("one".to_owned()), Event::Note("two".to_owned())]).unwrap();
    assert_eq!(asked.saved.borrow().last(), Some(&session.state().guide.as_ptr()));
    assert_eq!(asked.saved.borrow().len(), 4, "each step is saved once");
    session.take(Step::default()).unwrap();
    session.take(session.exam().step()).unwrap();
    assert_eq!(asked.saved.borrow().len(), 4, "no step is none");
}

#[test]
fn a_step_of_another_moment_is_not_saved() {
    let (mut session, asked) = session();
    let early = best_sphere(&session);
    session.take(Event::Note("meanwhile".to_owned())).unwrap();
    let (exam, saved) = (session.exam().clone(), asked.saved.borrow().len());
    assert!(catch_unwind(AssertUnwindSafe(|| session.take(early))).is_err());
    assert_eq!((session.exam(), asked.saved.borrow().len()), (&exam, saved));
}

#[test]
fn a_step_that_cannot_be_saved_leaves_exam_and_guide_as_they_were() {
    let (mut session, asked) = session();
    session.take(best_sphere(&session)).unwrap();
    let (exam, guide) = (session.exam().clone(), session.guide().clone());
    asked.full.set(true);
    let answer = guide::answer(session.guide(), session.exam(), Answer::Read(Acuity::of_6_m(60.0))).unwrap();
    assert!(session.take(answer).unwrap_err().to_string().contains("the disk is full"));
    assert_eq!((session.exam(), session.guide()), (&exam, &guide));
    asked.full.set(false);
    session.take(guide::answer(session.guide(), session.exam(), Answer::Read(Acuity::of_6_m(60.0))).unwrap()).unwrap();
    assert_ne!(*session.guide(), guide);
}

#[test]
fn earlier_exams_are_read_once_for_each_exam() {
    let (mut session, asked) = session();
    assert_eq!(asked.pairs.get(), 1);
    let retinoscopy = guide::begin(session.guide(), session.exam(), ProcedureName::Retinoscopy, None).unwrap();
    session.take(retinoscopy).unwrap();
    assert_eq!(session.earlier_retinoscopy().unwrap(), None);
    assert_eq!(asked.pairs.get(), 1);
    session.begin_another(Step::default(), None).unwrap();
    assert_eq!(asked.pairs.get(), 2);
}

/// Keeps everything, on a disk that does not take it.
struct NotOnTheDisk;

impl Journal for NotOnTheDisk {
    fn save(&mut self, _step: &CheckedStep) -> Result<(), SaveError> {
        Ok(())
    }

    fn lasts(&self) -> bool {
        true
    }

    fn disk_failure(&self) -> Option<String> {
        Some("input/output error".to_owned())
    }
}

#[test]
fn a_disk_that_does_not_take_what_is_kept_is_said_on_the_screen() {
    let walk = |journal: Box<dyn Journal>, keys| {
        let session = Session::new(exam(), journal);
        let settings = Settings::shipped().unwrap();
        let start = ScreenStart {
            session,
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
        print(start, keys, "120x36".parse().unwrap(), PrintForm::Text).unwrap()
    };
    let says_why = |frame: &str| frame.contains("not yet on the disk (input/output error)");
    let is_on_top = |frame: &str| frame.lines().next().is_some_and(|top| top.contains("NOT YET ON THE DISK"));
    let frame = walk(Box::new(NotOnTheDisk), "<tab>");
    assert!(is_on_top(&frame) && says_why(&frame), "{frame}");
    // why is said once, that it is so from then on
    let frame = walk(Box::new(NotOnTheDisk), "<tab>-1<enter>");
    assert!(is_on_top(&frame) && !says_why(&frame) && frame.contains("1.00 in left 1"), "{frame}");
    let (_, asked) = session();
    assert!(!walk(Box::new(Watched(asked)), "-1<enter>").contains("ON THE DISK"));
}

/// Has a closed exam to be read; adds nothing to it and begins no other.
struct Locked;

impl Locked {
    fn refusal() -> RecordError {
        RecordError::Logbook(LogbookError::NoHome)
    }
}

impl Journal for Locked {
    fn save(&mut self, _step: &CheckedStep) -> Result<(), SaveError> {
        Ok(())
    }

    fn lasts(&self) -> bool {
        true
    }

    fn exams(&self, _search: &str) -> Result<ListedExams, RecordError> {
        Ok(ListedExams { exams: vec![ListedExam::Own(1)], others_left_out: None })
    }

    fn read(&self, exam: &ListedExam, _form: CylinderForm) -> Result<OpenedRecord, RecordError> {
        Ok(OpenedRecord {
            exam: exam.clone(),
            closed: true,
            order: None,
            came_back: false,
            held: None,
            lines: Vec::new(),
        })
    }

    fn amend(&mut self, _exam: u64, _added: Event) -> Result<(), RecordError> {
        Err(Self::refusal())
    }

    fn begin_another(
        &mut self,
        _exam: &Exam,
        _last: Option<&CheckedStep>,
        _caller: Option<&Caller>,
    ) -> Result<(Exam, Vec<Note>), RecordError> {
        Err(Self::refusal())
    }
}

/// What was typed stays until it is taken; what was typed after it was meant for another screen.
#[test]
fn a_line_that_the_logbook_does_not_take_stays_to_be_taken_again() {
    for (keys, line) in [("e<enter>aseen again", "seen again"), ("NM.O.", "M.O.")] {
        let mut app = App::new(Session::new(exam(), Box::new(Locked)), Settings::shipped().unwrap());
        let mut type_keys = |keys: &str| {
            let mut after = After::GoesOn;
            for stroke in strokes::parse(keys).unwrap() {
                let Stroke::Key(chord) = stroke else { continue };
                after = app.handle(&Input::Key(chord));
            }
            (after, app.ui.clone())
        };
        type_keys(keys);
        let (after, ui) = type_keys("<enter>");
        assert_eq!(after, After::NotKept, "{keys}");
        assert_eq!(ui.prompt.map(|prompt| prompt.line.value().to_owned()).as_deref(), Some(line));
        assert!(ui.says.is_some_and(|says| says.tone == Tone::Refused));
    }
}

/// A question whose words were written over does not wait for its answer unseen.
#[test]
fn a_question_that_gave_way_to_a_refusal_is_asked_again() {
    let (mut session, asked) = session();
    session.take(Event::Note("something".to_owned())).unwrap();
    let mut app = App::new(session, Settings::shipped().unwrap());
    app.handle(&Input::Key(Chord::char('C')));
    assert!(app.ui.asks.is_some());
    asked.full.set(true);
    assert_eq!(app.handle(&Input::Key(Chord::char('y'))), After::NotKept);
    assert!(app.ui.asks.is_none() && !app.state().finished);
    asked.full.set(false);
    app.handle(&Input::Key(Chord::char('y')));
    assert!(!app.state().finished, "it was closed without a question");
}

/// What was undone step by step is what was there before, however many steps that were and whatever was done in between.
#[test]
fn undo_goes_on_from_what_it_has_passed() {
    let (mut session, _) = session();
    let mut before = vec![(session.state().clone(), session.guide().clone())];
    let step = |session: &mut Session, number: usize| {
        let led = match session.guide().running() {
            _ if number.is_multiple_of(3) => Step::from(Event::Note(format!("step {number}"))),
            None => best_sphere(session).into(),
            Some(_) => guide::answer(session.guide(), session.exam(), Answer::Read(Acuity::of_6_m(60.0)))
                .or_else(|_| guide::leave(session.guide(), session.exam()))
                .unwrap()
                .into(),
        };
        session.take(led).unwrap();
    };
    for (number, back) in [(120, 70), (90, 100), (40, 60), (100, 120)] {
        for nth in 0..number {
            step(&mut session, nth);
            before.push((session.state().clone(), session.guide().clone()));
        }
        for _ in 0..back {
            session.take(Event::Undone).unwrap();
            before.pop();
            let (state, guide) = before.last().unwrap();
            assert_eq!((session.state(), session.guide()), (state, guide), "{} steps stand", before.len() - 1);
        }
        session.take(Event::Redone).unwrap();
        follows(&session);
        session.take(Event::Undone).unwrap();
        follows(&session);
    }
    assert_eq!(before.len(), 1);
    assert!(session.take(Event::Undone).is_err());
}
