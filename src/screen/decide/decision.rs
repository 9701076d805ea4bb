//! What an input comes to, as the places of the screen decide it.

use super::super::app::App;
use super::super::request::Request;
use super::super::ui::{Purpose, Ui};
use crate::exam::Event;
use crate::frame::Move;
use crate::session::Step;

/// What happens to the screen itself after an input.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum After {
    /// It goes on.
    #[default]
    GoesOn,
    /// The person leaves.
    Leaves,
    /// It gives the terminal to others for a while.
    StepsAside,
    /// It draws every cell again.
    DrawsAll,
    /// It goes on, and a step could not be kept: what was typed after it was meant for another screen.
    NotKept,
}

/// What an input comes to.
#[derive(Debug, Clone)]
pub struct Decision {
    /// What happens in the exam; nothing when it has no events.
    pub step: Step,
    /// The screen afterwards.
    pub ui: Ui,
    /// What happens to the screen itself.
    pub after: After,
    /// What is asked beside the step, once that is done.
    pub request: Option<Request>,
}

impl Decision {
    pub(super) fn of(ui: Ui) -> Self {
        Self { step: Step::default(), ui, after: After::GoesOn, request: None }
    }

    /// Moves of the hand, as one step.
    pub(super) fn moves(ui: Ui, moves: Vec<Move>) -> Self {
        Self::of(ui).with_step(moves.into_iter().map(Event::Moved).collect::<Vec<_>>())
    }

    /// Nothing but the reason why nothing is done.
    pub(super) fn refused(app: &App, text: impl Into<String>) -> Self {
        let mut ui = app.ui.clone();
        ui.refused(text);
        Self::of(ui)
    }

    /// A line to be typed.
    pub(super) fn line(mut ui: Ui, purpose: Purpose) -> Self {
        ui.start_line(purpose, "");
        Self::of(ui)
    }

    pub(super) fn with_step(self, step: impl Into<Step>) -> Self {
        Self { step: step.into(), ..self }
    }

    pub(super) fn with_request(self, request: impl Into<Request>) -> Self {
        Self { request: Some(request.into()), ..self }
    }
}
