//! Commands on the day: who is called in, what an exam comes to, the screening pass.

mod lines;
mod outcome;
mod screening;

pub use lines::{confirm, takes_empty};
pub use outcome::act as act_on_outcome;
pub use screening::{act as act_in_screening, lines_offered};

use super::super::app::App;
use super::super::day_page::{DayPage, DayShown};
use super::super::keys::DayAction;
use super::super::page::Confirmation;
use super::super::page::Page;
use super::super::request::DayRequest;
use super::super::ui::{DayLine, Purpose, Ui};
use super::asking::ask;
use super::cells::emptied;
use super::decision::Decision;
use crate::day::{Caller, DayEvent, PersonState};

/// Does a command on the day.
pub fn act(app: &App, ui: Ui, action: DayAction) -> Decision {
    match action {
        DayAction::Open => Decision::of(ui).with_request(DayRequest::Show),
        DayAction::Outcome => show(app, ui, DayShown::Outcome),
        DayAction::Screening => show(app, Ui { screens: true, ..ui }, DayShown::Screening),
        DayAction::DayBegin => Decision::line(ui, Purpose::Day(DayLine::Place)),
        DayAction::CallIn => call_in(app, ui),
        DayAction::CallNew => Decision::line(ui, Purpose::Day(DayLine::New)),
        DayAction::PersonWaits => Decision::line(ui, Purpose::Day(DayLine::Waits)),
        DayAction::PersonLeft => match app.ui.day_page().and_then(DayPage::line) {
            Some(line) => {
                let said = format!("number {} went away", line.number);
                Decision::of(ui)
                    .with_request(DayRequest::Note { events: vec![DayEvent::Left { number: line.number }], said })
            }
            None => Decision::refused(app, "nobody is on the list"),
        },
        DayAction::DropsPut if app.state().finished => Decision::refused(app, "this exam is closed"),
        DayAction::DropsPut => Decision::line(ui, Purpose::Day(DayLine::Drops)),
        DayAction::DayShelf if ui.day_page().is_some_and(DayPage::shows_shelf) => {
            Decision::line(ui, Purpose::Day(DayLine::Shelf))
        }
        DayAction::DayShelf => Decision::of(ui).with_request(DayRequest::Shelf),
        DayAction::DayUndo => Decision::of(ui).with_request(DayRequest::Undo),
        DayAction::DayEnd => {
            let page = app.ui.day_page();
            let to_come = page.and_then(|page| page.now.as_ref()).map_or(0, |now| now.figures.to_come);
            let still = if to_come == 0 { String::new() } else { format!(" {to_come} are still to come.") };
            ask(app, ui, Confirmation::EndDay, &format!("End the day?{still}"), "ends it", "goes on")
        }
    }
}

/// Whether a command would do something now.
pub fn is_available(app: &App, action: DayAction) -> bool {
    let page = app.ui.day_page();
    let is_open = page.is_some_and(DayPage::is_open);
    match action {
        DayAction::Open => true,
        DayAction::Outcome | DayAction::Screening | DayAction::DropsPut => !app.state().finished,
        DayAction::DayBegin => page.is_some() && !is_open,
        DayAction::CallIn | DayAction::PersonLeft => is_open && page.and_then(DayPage::line).is_some(),
        DayAction::CallNew | DayAction::PersonWaits | DayAction::DayEnd | DayAction::DayShelf => is_open,
        DayAction::DayUndo => page.is_some_and(|page| page.now.is_some()),
    }
}

/// Shows something of the open exam: on the page that is open, or on one of its own.
fn show(app: &App, mut ui: Ui, shown: DayShown) -> Decision {
    if app.state().finished {
        return Decision::refused(app, format!("{} is closed: it can be amended", app.heading()));
    }
    let page = app.ui.day_page().cloned();
    let page = page.unwrap_or(DayPage { now: None, chosen: 0, person: None, shown: DayShown::List });
    ui.page = Some(Page::Day(DayPage { shown, ..page }));
    Decision::of(ui)
}

/// Calls in whoever is chosen: an exam that stands open goes on, else one begins.
fn call_in(app: &App, ui: Ui) -> Decision {
    let Some(line) = app.ui.day_page().and_then(DayPage::line) else {
        return Decision::refused(app, "nobody is on the list");
    };
    let number = line.number;
    match line.state {
        PersonState::InExam if app.ui.day_page().and_then(|page| page.person) == Some(number) => {
            Decision::of(Ui { page: None, ..ui })
        }
        PersonState::InExam => Decision::refused(app, format!("number {number} is in an exam elsewhere")),
        PersonState::DropsUntil(_) | PersonState::DropsReady | PersonState::Aside => {
            go_over(app, ui, DayRequest::TakeUp { number })
        }
        PersonState::Left if line.exam.is_some() => go_over(app, ui, DayRequest::TakeUp { number }),
        PersonState::Waits | PersonState::Left => go_over(app, ui, DayRequest::Call(Caller::Number(number))),
        PersonState::Refer | PersonState::Done => {
            let outcome = line.outcome.as_ref().map(|outcome| format!(" ({outcome})")).unwrap_or_default();
            let text = format!("Number {number} was seen already{outcome}. Begin another exam?");
            ask(app, ui, Confirmation::CallAgain { number }, &text, "begins it", "leaves it")
        }
    }
}

/// Calls somebody in who was seen already.
pub fn call_again(app: &App, ui: Ui, number: u32) -> Decision {
    go_over(app, ui, DayRequest::Call(Caller::Again(number)))
}

/// Goes over to another exam: what stands in front of the eyes of this one goes back into the box, where it stays open.
fn go_over(app: &App, ui: Ui, request: DayRequest) -> Decision {
    let moves = if app.state().finished { Vec::new() } else { emptied(app) };
    Decision::moves(ui, moves).with_request(request)
}

/// Closes what lies over the list; whether there was something.
pub fn close(page: &mut DayPage) -> bool {
    let below = match page.shown {
        DayShown::List => return false,
        DayShown::HowSoon { .. } | DayShown::ComeBack | DayShown::ReadyMade(_) => DayShown::Outcome,
        DayShown::Outcome | DayShown::Screening if page.now.is_none() => return false,
        DayShown::Outcome | DayShown::Screening | DayShown::Shelf { .. } => DayShown::List,
    };
    page.shown = below;
    true
}

/// Goes some lines on or back in what is shown: the list, or the shelf.
pub fn choose(page: &mut DayPage, step: isize) {
    let kinds = page.now.as_ref().map_or(0, |now| now.day.settings.shelf.as_ref().map_or(0, |shelf| shelf.pairs.len()));
    if let DayShown::Shelf { first } = &mut page.shown {
        *first = first.saturating_add_signed(step).min(kinds.saturating_sub(1));
        return;
    }
    let count = page.lines().len();
    page.chosen = page.chosen.saturating_add_signed(step).min(count.saturating_sub(1));
}
