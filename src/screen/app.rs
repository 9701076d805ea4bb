//! The screen's whole state, and the one way in which it changes: decide, keep, apply.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use thiserror::Error;

use super::archive::Archive;
use super::decide::{Decision, decide};
use super::proposals::{self, Offers};
use super::settings::Settings;
use super::ui::{Input, Ui};
use crate::exam::{Event, Exam, State};
use crate::optics::Millimetres;

/// A step that could not be kept; the screen then does not show it either.
#[derive(Debug, Error)]
#[error("{0}")]
pub struct NotKept(pub String);

/// Keeps every step before the screen shows it.
pub trait Keeper {
    /// Keeps one step for good.
    ///
    /// # Errors
    /// [`NotKept`] with the reason; the step counts as not done.
    fn keep(&mut self, step: &[Event]) -> Result<(), NotKept>;

    /// Whether steps outlive the program.
    fn lasts(&self) -> bool;

    /// Earlier exams, where there are any to be had.
    fn archive(&mut self) -> Option<&mut dyn Archive> {
        None
    }
}

/// Keeps nothing: for a screen that was asked to run without a logbook.
#[derive(Debug, Clone, Copy, Default)]
pub struct InMemory;

impl Keeper for InMemory {
    fn keep(&mut self, _step: &[Event]) -> Result<(), NotKept> {
        Ok(())
    }

    fn lasts(&self) -> bool {
        false
    }
}

/// Everything the screen shows and the keys work on.
#[derive(Clone)]
pub struct App {
    /// The exam.
    pub exam: Exam,
    /// What belongs to the screen alone.
    pub ui: Ui,
    /// What the person has chosen.
    pub settings: Settings,
    /// The exam's number and whatever else names it, for the top line.
    pub heading: String,
    /// Whether steps are kept.
    pub lasts: bool,
    /// The rows that the lines of an open page had when it was last drawn.
    pub page_rows: Cell<u16>,
    /// The last search, with all that it was asked; a search is only run again when that changes.
    offers: RefCell<Option<Rc<Offers>>>,
}

impl App {
    /// A screen on an exam.
    pub fn new(exam: Exam, settings: Settings, heading: String, lasts: bool) -> Self {
        let ui = Ui::new(&settings);
        Self { exam, ui, settings, heading, lasts, page_rows: Cell::new(0), offers: RefCell::new(None) }
    }

    /// The state of the exam now.
    pub fn state(&self) -> &State {
        self.exam.state()
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
            *last = Some(Rc::new(proposals::search(asked)));
        }
        last.clone()
    }

    /// Takes one input all the way round. True when the person leaves.
    pub fn handle(&mut self, input: &Input, keeper: &mut dyn Keeper) -> bool {
        let Decision { step, ui, quit, errand } = decide(self, input);
        if let Err(refusal) = self.take_step(&step, keeper) {
            self.ui.refused(refusal);
            return quit;
        }
        self.ui = ui;
        if let Some(errand) = errand {
            self.run_errand(errand, keeper);
        }
        quit
    }

    /// Takes a step: what the exam would refuse must not be kept, and what is not kept must not be shown.
    pub(super) fn take_step(&mut self, step: &[Event], keeper: &mut dyn Keeper) -> Result<(), String> {
        if step.is_empty() {
            return Ok(());
        }
        self.exam.check(step).map_err(|error| error.to_string())?;
        keeper.keep(step).map_err(|error| format!("not kept, so not done: {error}"))?;
        self.exam.apply(step).map_err(|error| error.to_string())
    }
}
