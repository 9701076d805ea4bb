//! The day on the screen: its list, the outcome of the open exam, and a screening pass.

use std::rc::Rc;

use crate::day::DayLine;
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
#[derive(Debug, Clone, PartialEq, Eq)]
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
    /// The screening pass of the open exam.
    Screening,
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
