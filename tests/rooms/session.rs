//! The open exam, its guide and its journal as one value.

#![expect(clippy::unwrap_used, reason = "a test stops where something is not as it must be")]

use std::cell::{Cell, RefCell};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::rc::Rc;

use dioptray::exam::{Answer, CheckedStep, Event, Exam, GuideEvent, Opening, ProcedureName};
use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::guide::{self, Guide};
use dioptray::kit::Stock;
use dioptray::kit::shipped::demo_box;
use dioptray::optics::{Acuity, Eye, Power};
use dioptray::screen::{ScreenStart, Settings, print};
use dioptray::session::{Journal, RecordError, SaveError, Session, Step};

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
    Exam::open(Opening { fitted: FittedFrame::new(demo_frame().unwrap(), Stock::of(&demo_box().unwrap())) })
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
    session.begin_another(Step::default()).unwrap();
    follows(&session);
    assert!(session.guide().running().is_none());
    session.take(best_sphere(&session)).unwrap();
    session.begin_another(Event::Finished).unwrap();
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
    session.begin_another(Step::default()).unwrap();
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
            said: dioptray::screen::AtStart::default(),
            reports_keys: false,
        };
        print(start, keys, "120x36".parse().unwrap()).unwrap()
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
