//! The screen's whole state, and what follows from it: proposals, what the guide asks, the power before each eye.

use std::cell::{Cell, RefCell};
use std::path::PathBuf;
use std::rc::Rc;
use std::sync::Arc;

use super::box_page::Buying;
use super::computed::Wake;
use super::coverage::{OfBoxes, Packed};
use super::guidance::{Meant, eyes_to_cover, meant};
use super::keys::Context;
use super::pictures::Pictures;
use super::proposals::{self, Offers, Search, Sought};
use super::settings::choices::Choices;
use super::settings::{PixelProtocol, Settings};
use super::shared::Shared;
use super::ui::{Panel, Ui};
use crate::exam::{Exam, GuideEvent, Practised, State};
use crate::frame::FittedFrame;
use crate::frame::fitted::EyePower;
use crate::frame::sureness::Sureness;
use crate::guide::Guide;
use crate::keeping::{Advice, Coverage, Loss};
use crate::kit::{Place, Stock};
use crate::optics::{Eye, Eyes, Millimetres, Power};
use crate::practice::lessons::Lesson;
use crate::session::Session;

/// What a person's hand may spoil before each eye; none where there is no power to spoil.
pub type SurenessOfBoth = Rc<Eyes<Option<Sureness>>>;

/// Everything the screen shows and the keys work on.
pub struct App {
    /// The open exam, and where it is kept.
    pub session: Session,
    /// The exam of a person that is set aside while a practice eye is examined, and its screen.
    pub(super) aside: Option<(Session, Box<Ui>)>,
    /// The lesson that was begun, where its file lies, and the part where it is.
    pub(super) lesson: Option<(Rc<Lesson>, PathBuf, usize)>,
    /// What belongs to the screen alone.
    pub ui: Ui,
    /// What the person has chosen.
    pub settings: Settings,
    /// What was chosen on the screen, where that is kept.
    pub choices: Option<Choices>,
    /// The rows that the lines of an open page had when it was last drawn.
    pub page_rows: Cell<u16>,
    /// Whether it was said that the disk does not take what is kept.
    pub said_that_the_disk_fails: bool,
    /// Whoever sends on what is kept, where the record is shared with other seats.
    pub(super) shared: Option<Shared>,
    /// What a practice eye sees, as far as it was drawn last.
    pub pictures: Pictures,
    /// Whether the terminal draws pictures in pixels of its own.
    pub in_pixels: bool,
    /// By which protocol this terminal may draw in pixels, where its surroundings name one that has such a protocol.
    pub may_draw: Option<PixelProtocol>,
    /// The last search, with all that it depends on, and the revision at which that was compared.
    offers: RefCell<Option<(u64, Rc<Offers>)>>,
    /// What boxes make.
    of_boxes: RefCell<OfBoxes>,
    /// The stacks that were last asked for on what a box makes.
    stacks_of_map: RefCell<Option<Rc<Offers>>>,
    /// The eyes to cover at a revision of the exam.
    cover: RefCell<Option<(u64, Rc<[Eye]>)>>,
    /// The power before each eye at a revision of the exam.
    powers: RefCell<Option<(u64, Eyes<EyePower>)>>,
    /// What a hand may spoil of it at a revision of the exam.
    sureness: RefCell<Option<(u64, SurenessOfBoth)>>,
}

impl App {
    /// A screen on an exam.
    pub fn new(session: Session, settings: Settings) -> Self {
        let form = session.state().fitted.stock.form_in_use(settings.form);
        let ui = Ui { form, ..Ui::new(&settings) };
        let mut app = Self {
            session,
            aside: None,
            lesson: None,
            ui,
            settings,
            choices: None,
            page_rows: Cell::new(0),
            said_that_the_disk_fails: false,
            shared: None,
            pictures: Pictures::default(),
            in_pixels: false,
            may_draw: None,
            offers: RefCell::new(None),
            of_boxes: RefCell::default(),
            stacks_of_map: RefCell::new(None),
            cover: RefCell::new(None),
            powers: RefCell::new(None),
            sureness: RefCell::new(None),
        };
        app.seat_whoever_sits_there();
        app.open_where_led();
        app
    }

    /// The open exam as it stands, for whoever only looks at it.
    pub fn exam(&self) -> &Exam {
        self.session.exam()
    }

    /// The state of the exam now.
    pub fn state(&self) -> &State {
        self.session.state()
    }

    /// What names the exam on the top line: `Exam 14`.
    pub fn heading(&self) -> String {
        match &self.state().practised {
            Some(Practised { sitter, .. }) => format!("PRACTICE eye {} of {}", sitter.number, sitter.of),
            None => self.session.heading(),
        }
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

    /// What a person's hand may spoil of what stands before each eye; computed once for each state of the exam.
    pub fn sureness(&self) -> SurenessOfBoth {
        let revision = self.exam().revision();
        let mut last = self.sureness.borrow_mut();
        let sureness = last.take_if(|(of, _)| *of == revision).map(|(_, sureness)| sureness);
        let tolerance = self.settings.mark_tolerance;
        let sureness =
            sureness.unwrap_or_else(|| Rc::new(Eyes::from_fn(|eye| self.state().fitted.sureness(eye, tolerance))));
        *last = Some((revision, Rc::clone(&sureness)));
        sureness
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
        let elsewhere = self.lenses_all_elsewhere();
        let holds = |(of, offers): &(u64, Rc<Offers>)| {
            (offers.search.sought, offers.search.form) == (sought, ui.form)
                && offers.search.elsewhere == elsewhere
                && (*of == revision || offers.search.fitted == *fitted)
        };
        let offers = match last.take() {
            Some(found) if holds(&found) => found.1,
            before => {
                let search = Search { fitted: fitted.clone(), sought, form: ui.form, elsewhere };
                Rc::new(proposals::search(search, before.as_ref().map(|(_, offers)| offers.as_ref())))
            }
        };
        *last = Some((revision, Rc::clone(&offers)));
        Some(offers)
    }

    /// What is computed from now on is computed beside the screen, and somebody is told of it.
    pub(super) fn compute_beside(&self, wake: Wake) {
        if let Some(shared) = &self.shared {
            shared.sends().when_new(Arc::clone(&wake));
        }
        self.of_boxes.borrow_mut().wake = Some(wake);
    }

    /// What a box makes with the frame of the exam, where that is known by now; else it is begun.
    pub fn makes(&self, stock: &Stock, both: bool) -> Option<Rc<Coverage>> {
        self.of_boxes.borrow_mut().makes(stock, &self.state().fitted.frame, both)
    }

    /// What to buy for a box, where that is known by now; else it is begun.
    pub fn advised(&self, stock: &Stock, buying: &Buying) -> Option<Rc<Advice>> {
        self.of_boxes.borrow_mut().advised(stock, &self.state().fitted.frame, buying)
    }

    /// What losing one piece of each lens of a box would cost, where that is known by now; else it is begun.
    pub fn losses(&self, stock: &Stock) -> Option<Rc<Vec<Loss>>> {
        self.of_boxes.borrow_mut().losses(stock, &self.state().fitted.frame)
    }

    /// The best bag of a box of so many pieces, where that is known by now; else it is begun.
    pub fn packed(&self, stock: &Stock, pieces: usize) -> Option<Rc<Packed>> {
        self.of_boxes.borrow_mut().packed(stock, &self.state().fitted.frame, pieces)
    }

    /// The stacks that make a power from a whole box, before one eye or both alike.
    pub fn stacks_of(&self, stock: &Stock, power: Power, both: bool) -> Rc<Offers> {
        let sought = if both { Sought::Both(Eyes::both(power)) } else { Sought::One(Eye::Right, power) };
        let mut at_rest = stock.clone();
        for stocked in stock.before_eyes() {
            // what is before an eye goes back into the box
            let _ = at_rest.place(&stocked.piece, Place::Box);
        }
        let fitted = FittedFrame::new(self.state().fitted.frame.clone(), at_rest);
        let search = Search { fitted, sought, form: self.ui.form, elsewhere: Vec::new() };
        let mut last = self.stacks_of_map.borrow_mut();
        let offers = match last.take() {
            Some(found) if found.search == search => found,
            _ => Rc::new(proposals::search(search, None)),
        };
        *last = Some(Rc::clone(&offers));
        offers
    }

    /// The guide of the exam as it stands.
    pub fn guide(&self) -> &Guide {
        self.session.guide()
    }

    /// The eyes to cover while the hands make the moves of the last step; computed once for each state of the exam.
    pub fn cover(&self) -> Rc<[Eye]> {
        let revision = self.exam().revision();
        let mut last = self.cover.borrow_mut();
        let cover = last.take_if(|(of, _)| *of == revision).map(|(_, cover)| cover);
        let cover = cover.unwrap_or_else(|| eyes_to_cover(self.exam()).into());
        *last = Some((revision, Rc::clone(&cover)));
        cover
    }

    /// Whether the guide leads this exam: it has begun, the prescription is not written, and it was not left last.
    pub fn is_led(&self) -> bool {
        let state = self.state();
        let goes_on = state.guide.iter().rev().find_map(GuideEvent::leads).unwrap_or(false);
        goes_on && !state.finished && !self.guide().findings().written
    }

    /// Whether the keys work on an eye now: the one in focus, or both where the guide asks about both.
    pub fn works_on(&self, eye: Eye) -> bool {
        let both = || self.ui.panel == Panel::Guide && meant(self.guide().presentation()) == Meant::Both;
        self.ui.eye == eye || both()
    }

    /// Opens the guide where it leads the exam.
    fn open_where_led(&mut self) {
        if self.is_led() {
            self.ui.panel = Panel::Guide;
            self.follow_the_guide();
        }
    }

    /// Whether a streak sweeps by itself on the screen now.
    pub(super) fn sweeps_by_itself(&self) -> bool {
        self.ui.context() == Context::Streak && self.ui.sight.by_itself.is_some()
    }

    /// The eye that the guide asks about is the eye that the keys work on; a closed exam is not led any more.
    pub(super) fn follow_the_guide(&mut self) {
        if self.state().finished && self.ui.panel.is_of_the_guide() {
            self.ui.panel = Panel::Cells;
        }
        if self.ui.panel == Panel::Guide
            && let Some(eye) = self.guide().presentation().eye
        {
            self.ui.eye = eye;
        }
    }
}
