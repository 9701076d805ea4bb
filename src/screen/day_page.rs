//! The day on the screen: its list, the outcome of the open exam, and a screening pass.

use std::rc::Rc;

use crate::day::{Day, DayLine, Offer, ShelfLeft, Wearer};
use crate::exam::{GivenPair, Outcome, ReadyMadeLimits, State};
use crate::kit::shelf::ShelfPair;
use crate::session::DayNow;

/// The day that is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct DayPage {
    /// The day as it was when it was looked at; `None` where none ever began.
    pub now: Option<Rc<DayNow>>,
    /// The chosen line, from 0.
    pub chosen: usize,
    /// The running number of the person whose exam is open.
    pub person: Option<u32>,
    /// What is shown.
    pub shown: DayShown,
}

/// What of a day is shown.
#[derive(Debug, Clone, PartialEq)]
pub enum DayShown {
    /// The list.
    List,
    /// What the open exam comes to.
    Outcome,
    /// How soon somebody is to be seen elsewhere, and why.
    HowSoon {
        /// Why.
        why: String,
    },
    /// For what the person comes back.
    ComeBack,
    /// The ready-made pairs of the shelf for the person of the open exam.
    ReadyMade(Rc<Offered>),
    /// The screening pass of the open exam.
    Screening,
    /// What is left on the shelf.
    Shelf {
        /// The first line that is shown, from 0.
        first: usize,
    },
}

/// What the shelf has for somebody.
#[derive(Debug, Clone, PartialEq)]
pub struct Offered {
    /// What the shelf is called.
    pub shelf: String,
    /// Who would wear a pair.
    pub wearer: Wearer,
    /// What was left when it was looked at; it is looked at again when a pair is given.
    pub left: Vec<ShelfLeft>,
    /// A pair for far away, and one for near where an addition is written.
    pub offers: Vec<Offer>,
    /// By which limits.
    pub limits: ReadyMadeLimits,
}

impl Offered {
    /// For whoever is examined, off the shelf of a day.
    pub fn of(state: &State, day: &Day) -> Option<Self> {
        let shelf = day.settings.shelf.as_ref()?;
        let (wearer, left, limits) = (Wearer::of(state), day.left_on_shelf(), shelf.limits);
        let offers = Offer::all(&wearer, &left, limits);
        Some(Self { shelf: shelf.name.clone(), wearer, left, offers, limits })
    }

    /// The outcome by which a pair that is offered is given; none where the offer has no pair.
    pub fn outcome(&self, offer: &Offer) -> Option<Outcome> {
        Some(self.outcome_of(offer.pair?, offer.serves()))
    }

    /// The outcome by which a pair is given.
    pub fn outcome_of(&self, pair: ShelfPair, meets: bool) -> Outcome {
        let given = GivenPair { shelf: self.shelf.clone(), centres_mm: pair.centres_mm, limits: self.limits, meets };
        Outcome::ReadyMade { sphere: pair.sphere, near: pair.near, given: Some(given) }
    }
}

impl DayPage {
    /// A day with its first waiting person chosen.
    pub fn of(now: Option<DayNow>, person: Option<u32>) -> Self {
        let next = now.as_ref().and_then(next_to_call).unwrap_or(0);
        Self { now: now.map(Rc::new), chosen: next, person, shown: DayShown::List }
    }

    /// The lines of the list.
    pub fn lines(&self) -> &[DayLine] {
        self.now.as_ref().map_or(&[], |now| &now.lines)
    }

    /// The chosen line.
    pub fn line(&self) -> Option<&DayLine> {
        self.lines().get(self.chosen)
    }

    /// Whether what is left on the shelf is shown.
    pub fn shows_shelf(&self) -> bool {
        match self.shown {
            DayShown::Shelf { .. } => true,
            DayShown::List
            | DayShown::Outcome
            | DayShown::HowSoon { .. }
            | DayShown::ComeBack
            | DayShown::ReadyMade(_)
            | DayShown::Screening => false,
        }
    }

    /// Whether a day has begun and not ended.
    pub fn is_open(&self) -> bool {
        self.now.as_ref().is_some_and(|now| now.day.ended.is_none())
    }
}

/// Whose drops are ready comes before whoever has waited longest.
fn next_to_call(now: &DayNow) -> Option<usize> {
    let ready = now.lines.iter().position(|line| line.state.has_ready_drops());
    ready.or_else(|| now.lines.iter().position(|line| line.state.waits()))
}
