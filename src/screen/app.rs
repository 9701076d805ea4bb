//! The screen's whole state, and the one way in which it changes: decide, keep, apply.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use super::decide::{Decision, decide};
use super::leading::{Leading, Meant};
use super::proposals::{self, Offers};
use super::request::Request;
use super::settings::Settings;
use super::ui::{Input, Panel, Ui};
use crate::exam::{EarlierRetinoscopy, Event, Exam, GuideEvent, ProcedureName, State};
use crate::guide::retinoscopy_bias;
use crate::optics::{Eye, Millimetres};
use crate::session::{Session, StepError};

/// Everything the screen shows and the keys work on.
pub struct App {
    /// The open exam, and where it is kept.
    pub session: Session,
    /// What belongs to the screen alone.
    pub ui: Ui,
    /// What the person has chosen.
    pub settings: Settings,
    /// The rows that the lines of an open page had when it was last drawn.
    pub page_rows: Cell<u16>,
    /// The last search, with all that it was asked; a search is only run again when that changes.
    offers: RefCell<Option<Rc<Offers>>>,
    /// What the guide asks, until the exam changes.
    leading: RefCell<Option<Rc<Leading>>>,
    /// How earlier retinoscopy differs from what was then found.
    earlier_retinoscopy: Option<EarlierRetinoscopy>,
    /// Whether that was looked up, which is done once.
    looked_up: bool,
}

impl App {
    /// A screen on an exam.
    pub fn new(session: Session, settings: Settings) -> Self {
        let ui = Ui::new(&settings);
        let mut app = Self {
            session,
            ui,
            settings,
            page_rows: Cell::new(0),
            offers: RefCell::new(None),
            leading: RefCell::new(None),
            earlier_retinoscopy: None,
            looked_up: false,
        };
        app.open_where_led();
        app
    }

    /// The exam.
    pub fn exam(&self) -> &Exam {
        self.session.exam()
    }

    /// The state of the exam now.
    pub fn state(&self) -> &State {
        self.session.state()
    }

    /// What names the exam on the top line: `Exam 14`.
    pub fn heading(&self) -> String {
        self.session.heading()
    }

    /// The vertex distance for which glasses are planned.
    pub fn planned_vertex(&self) -> Millimetres {
        let state = self.state();
        state.person.planned_vertex.or(self.settings.planned_vertex).unwrap_or(state.fitted.frame.vertex)
    }

    /// The proposals for what is wanted now; none when nothing is wanted.
    pub fn offers(&self) -> Option<Rc<Offers>> {
        let asked = proposals::asked(self)?;
        let mut last = self.offers.borrow_mut();
        if last.as_ref().is_none_or(|offers| offers.asked != asked) {
            let offers = proposals::search(asked, last.as_deref());
            *last = Some(Rc::new(offers));
        }
        last.clone()
    }

    /// How the examiner's earlier retinoscopy differs steadily from what was then found, once that was asked for.
    pub fn earlier_retinoscopy(&self) -> Option<EarlierRetinoscopy> {
        self.earlier_retinoscopy
    }

    /// What the guide asks now.
    pub fn leading(&self) -> Rc<Leading> {
        let mut last = self.leading.borrow_mut();
        Rc::clone(last.get_or_insert_with(|| Rc::new(Leading::of(self.exam()))))
    }

    /// Whether the guide leads this exam: it has begun, the prescription is not written, and it was not left last.
    pub fn is_led(&self) -> bool {
        let state = self.state();
        let last = state.guide.iter().rev().find(|event| !matches!(event, GuideEvent::SetOut(_)));
        let goes_on = last.is_some_and(|event| *event != GuideEvent::Left);
        goes_on && !state.finished && !self.leading().guide.findings().written
    }

    /// Whether the keys work on an eye now: the one in focus, or both where the guide asks about both.
    pub fn works_on(&self, eye: Eye) -> bool {
        let both = || self.ui.panel == Panel::Guide && self.leading().meant() == Meant::Both;
        self.ui.eye == eye || both()
    }

    /// Opens the guide where it leads the exam.
    fn open_where_led(&mut self) {
        if self.is_led() {
            self.ui.panel = Panel::Guide;
            self.follow_the_guide();
        }
    }

    /// Forgets what was found for the exam before.
    pub(super) fn went_over(&mut self) {
        self.leading.take();
        self.looked_up = false;
        self.earlier_retinoscopy = None;
    }

    /// The eye that the guide asks about is the eye that the keys work on; a closed exam is not led any more.
    fn follow_the_guide(&mut self) {
        if self.state().finished && matches!(self.ui.panel, Panel::Guide | Panel::Choosing) {
            self.ui.panel = Panel::Cells;
        }
        if self.ui.panel == Panel::Guide
            && let Some(eye) = self.leading().presentation.eye
        {
            self.ui.eye = eye;
        }
    }

    /// Takes one input all the way round. True when the person leaves.
    pub fn handle(&mut self, input: &Input) -> bool {
        let mut decision = decide(self, input);
        if !self.looked_up && begins_retinoscopy(&decision.step) {
            // many exams may have to be read for it, so they are only when retinoscopy begins
            let pairs = self.session.retinoscopy_pairs();
            let unread = pairs.as_ref().err().map(|error| format!("earlier retinoscopy cannot be read: {error}"));
            let bias = retinoscopy_bias(&pairs.unwrap_or_default());
            (self.looked_up, self.earlier_retinoscopy) = (true, bias.and_then(|bias| bias.earlier()));
            decision = decide(self, input);
            if let Some(unread) = unread {
                decision.ui.refused(unread);
            }
        }
        let Decision { step, ui, quit, request } = decision;
        // the exam before is closed only with another one there
        if let Some(Request::Begin { label }) = request {
            if let Err(refusal) = self.begin(step, &label) {
                self.ui.refused(refusal.to_string());
            }
        } else {
            if let Err(refusal) = self.take_step(step) {
                self.ui.refused(refusal.to_string());
                return quit;
            }
            self.ui = ui;
            if let Some(request) = request {
                self.run_request(request);
            }
        }
        self.follow_the_guide();
        quit
    }

    /// Takes one input while nothing of the exam can be seen: nothing is answered or moved blindly. True when the person leaves.
    pub fn handle_unseen(&self, input: &Input) -> bool {
        decide(self, input).quit
    }

    /// Takes a step: what is not kept is not shown.
    pub(super) fn take_step(&mut self, step: Vec<Event>) -> Result<(), StepError> {
        if step.is_empty() {
            return Ok(());
        }
        self.session.take(step)?;
        self.leading.take();
        Ok(())
    }
}

fn begins_retinoscopy(step: &[Event]) -> bool {
    let begins =
        |event: &Event| matches!(event, Event::Guide(GuideEvent::Began { procedure: ProcedureName::Retinoscopy, .. }));
    step.iter().any(begins)
}
