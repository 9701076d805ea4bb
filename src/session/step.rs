//! A step as it comes to a session.

use crate::exam::{CheckedStep, Event};

/// A step as it comes to a session: checked already where the guide gave it, so that none is checked twice.
#[derive(Debug, Clone)]
pub enum Step {
    /// Events that are still to be checked; none are no step.
    Events(Vec<Event>),
    /// What the exam has checked as it stands now.
    Checked(Box<CheckedStep>),
}

impl Step {
    /// Its events, in order.
    pub fn events(&self) -> &[Event] {
        match self {
            Self::Events(events) => events,
            Self::Checked(step) => step.events(),
        }
    }
}

/// No step.
impl Default for Step {
    fn default() -> Self {
        Self::Events(Vec::new())
    }
}

impl From<Event> for Step {
    fn from(event: Event) -> Self {
        Self::Events(vec![event])
    }
}

impl From<Vec<Event>> for Step {
    fn from(events: Vec<Event>) -> Self {
        Self::Events(events)
    }
}

impl From<CheckedStep> for Step {
    fn from(step: CheckedStep) -> Self {
        Self::Checked(Box::new(step))
    }
}
