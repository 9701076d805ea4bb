//! What the open exam comes to: chosen by digits, then closed.

use super::super::super::app::App;
use super::super::super::day_page::{DayShown, Offered};
use super::super::super::keys::OutcomeAction;
use super::super::super::page::Page;
use super::super::super::request::DayRequest;
use super::super::super::ui::{DayLine, Purpose, Ui};
use super::super::decision::Decision;
use super::super::details::assumed;
use super::super::practice;
use super::lines::chosen;
use crate::exam::{ComeBack, Event, HowSoon, Outcome, OutcomeKind};

/// Does a command on the outcome.
pub fn act(app: &App, ui: Ui, action: OutcomeAction, nth: usize) -> Decision {
    let Some(shown) = app.ui.day_page().map(|page| page.shown.clone()) else {
        return Decision::of(ui);
    };
    match (action, shown) {
        (OutcomeAction::OutcomePick, DayShown::Outcome) => match OutcomeKind::ALL.get(nth) {
            Some(OutcomeKind::NoGlasses) => chosen(ui, Outcome::NoGlasses),
            Some(OutcomeKind::Glasses) => chosen(ui, Outcome::Glasses),
            Some(OutcomeKind::ReadyMade) => Decision::of(ui).with_request(DayRequest::ReadyMade),
            Some(OutcomeKind::Refer) => Decision::line(ui, Purpose::Day(DayLine::ReferWhy)),
            Some(OutcomeKind::ComeBack) => shows(ui, DayShown::ComeBack),
            Some(OutcomeKind::NotRefracted) => Decision::line(ui, Purpose::Day(DayLine::NotRefractedWhy)),
            None => Decision::refused(app, "there is no such outcome"),
        },
        (OutcomeAction::OutcomePick, DayShown::HowSoon { why }) => match HowSoon::ALL.get(nth) {
            Some(soon) => chosen(ui, Outcome::Refer { why, soon: *soon }),
            None => Decision::refused(app, "there is no such answer"),
        },
        (OutcomeAction::OutcomePick, DayShown::ComeBack) => match ComeBack::ALL.get(nth) {
            Some(back) => chosen(ui, Outcome::ComeBack(*back)),
            None => Decision::refused(app, "there is no such answer"),
        },
        (OutcomeAction::OutcomePick, DayShown::ReadyMade(offered)) => ready_made(app, ui, &offered, nth),
        (OutcomeAction::OutcomePick, DayShown::List | DayShown::Screening | DayShown::Shelf { .. }) => Decision::of(ui),
        (OutcomeAction::OutcomeClose, _) if app.state().practised.is_some() => {
            practice::done(app, Ui { page: None, ..ui })
        }
        (OutcomeAction::OutcomeClose, _) => match &app.state().outcome {
            Some(outcome) => close(app, ui, Vec::new(), outcome),
            None => Decision::refused(app, "choose the outcome first, by its digit"),
        },
    }
}

/// Gives a pair that is offered; the digit after them takes another one of the shelf.
fn ready_made(app: &App, ui: Ui, offered: &Offered, nth: usize) -> Decision {
    match offered.offers.get(nth) {
        Some(offer) => match offered.outcome(offer) {
            Some(outcome) => chosen(ui, outcome),
            None => Decision::refused(app, "the shelf has no such pair for this person: it says why"),
        },
        None if nth == offered.offers.len() => Decision::line(ui, Purpose::Day(DayLine::OtherPair)),
        None => Decision::refused(app, "there is no such answer"),
    }
}

/// Closes the exam with its outcome, after further events, and shows the day again.
pub(super) fn close(app: &App, mut ui: Ui, further: Vec<Event>, outcome: &Outcome) -> Decision {
    let step: Vec<Event> =
        further.into_iter().chain(assumed(app.state(), &app.settings)).chain([Event::Finished]).collect();
    ui.done(format!("{} is closed: {outcome}", app.heading()));
    Decision::of(ui).with_step(step).with_request(DayRequest::Show)
}

fn shows(mut ui: Ui, shown: DayShown) -> Decision {
    if let Some(Page::Day(page)) = &mut ui.page {
        page.shown = shown;
    }
    Decision::of(ui)
}
