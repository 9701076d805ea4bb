//! The screen's whole state, and what follows from it: proposals, what the guide asks, the power before each eye.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use super::guidance::{Guidance, Meant};
use super::proposals::{self, Offers, Search};
use super::settings::Settings;
use super::settings::choices::Choices;
use super::ui::{Panel, Ui};
use crate::exam::{EarlierRetinoscopy, Exam, GuideEvent, State};
use crate::frame::fitted::EyePower;
use crate::optics::{Eye, Eyes, Millimetres};
use crate::session::Session;

/// Everything the screen shows and the keys work on.
pub struct App {
    /// The open exam, and where it is kept.
    pub session: Session,
    /// What belongs to the screen alone.
    pub ui: Ui,
    /// What the person has chosen.
    pub settings: Settings,
    /// What was chosen on the screen, where that is kept.
    pub choices: Option<Choices>,
    /// The rows that the lines of an open page had when it was last drawn.
    pub page_rows: Cell<u16>,
    /// The last search, with all that it depends on, and the revision at which that was compared.
    offers: RefCell<Option<(u64, Rc<Offers>)>>,
    /// What the guide asks at a revision of the exam.
    guidance: RefCell<Option<(u64, Rc<Guidance>)>>,
    /// The power before each eye at a revision of the exam.
    powers: RefCell<Option<(u64, Eyes<EyePower>)>>,
    /// How earlier retinoscopy differs from what was then found.
    pub(super) earlier_retinoscopy: Option<EarlierRetinoscopy>,
    /// Whether that was looked up, which is done once.
    pub(super) looked_up: bool,
}

impl App {
    /// A screen on an exam.
    pub fn new(session: Session, settings: Settings) -> Self {
        let ui = Ui::new(&settings);
        let mut app = Self {
            session,
            ui,
            settings,
            choices: None,
            page_rows: Cell::new(0),
            offers: RefCell::new(None),
            guidance: RefCell::new(None),
            powers: RefCell::new(None),
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

    /// Everything that can be said of the power before an eye now; computed once for each state of the exam.
    pub fn in_front_of(&self, eye: Eye) -> EyePower {
        let revision = self.exam().revision();
        let mut last = self.powers.borrow_mut();
        let powers = last.take_if(|(of, _)| *of == revision).map(|(_, powers)| powers);
        let powers = powers.unwrap_or_else(|| Eyes::from_fn(|eye| self.state().fitted.in_front_of(eye)));
        *last = Some((revision, powers));
        powers[eye]
    }

    /// The proposals for what is wanted now; none when nothing is wanted.
    pub fn offers(&self) -> Option<Rc<Offers>> {
        self.offers_on(&self.ui)
    }

    /// The proposals as they are on a screen that is only being decided on.
    pub fn offers_on(&self, ui: &Ui) -> Option<Rc<Offers>> {
        let sought = proposals::sought(self.state(), ui)?;
        let revision = self.exam().revision();
        let mut last = self.offers.borrow_mut();
        let fitted = &self.state().fitted;
        let holds = |(of, offers): &(u64, Rc<Offers>)| {
            offers.search.sought == sought && (*of == revision || offers.search.fitted == *fitted)
        };
        let offers = match last.take() {
            Some(found) if holds(&found) => found.1,
            before => {
                let search = Search { fitted: fitted.clone(), sought };
                Rc::new(proposals::search(search, before.as_ref().map(|(_, offers)| offers.as_ref())))
            }
        };
        *last = Some((revision, Rc::clone(&offers)));
        Some(offers)
    }

    /// How the examiner's earlier retinoscopy differs steadily from what was then found, once that was asked for.
    pub fn earlier_retinoscopy(&self) -> Option<EarlierRetinoscopy> {
        self.earlier_retinoscopy
    }

    /// What the guide asks now.
    pub fn guidance(&self) -> Rc<Guidance> {
        let revision = self.exam().revision();
        let mut last = self.guidance.borrow_mut();
        let guidance = match last.take() {
            Some((of, guidance)) if of == revision => guidance,
            before => Rc::new(Guidance::of(self.exam(), before.as_ref().map(|(_, guidance)| guidance.as_ref()))),
        };
        *last = Some((revision, Rc::clone(&guidance)));
        guidance
    }

    /// Whether the guide leads this exam: it has begun, the prescription is not written, and it was not left last.
    pub fn is_led(&self) -> bool {
        let state = self.state();
        let last = state.guide.iter().rev().find(|event| !event.is_set_out());
        let goes_on = last.is_some_and(|event| *event != GuideEvent::Left);
        goes_on && !state.finished && !self.guidance().guide.findings().written
    }

    /// Whether the keys work on an eye now: the one in focus, or both where the guide asks about both.
    pub fn works_on(&self, eye: Eye) -> bool {
        let both = || self.ui.panel == Panel::Guide && self.guidance().meant() == Meant::Both;
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
        self.looked_up = false;
        self.earlier_retinoscopy = None;
    }

    /// The eye that the guide asks about is the eye that the keys work on; a closed exam is not led any more.
    pub(super) fn follow_the_guide(&mut self) {
        if self.state().finished && self.ui.panel.is_of_the_guide() {
            self.ui.panel = Panel::Cells;
        }
        if self.ui.panel == Panel::Guide
            && let Some(eye) = self.guidance().presentation().eye
        {
            self.ui.eye = eye;
        }
    }
}
