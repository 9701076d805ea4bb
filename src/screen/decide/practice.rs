//! Commands of practice: choosing an eye, letting it answer, and the end of its exam.

use super::super::app::App;
use super::super::keys::PracticeAction;
use super::super::page::{Confirmation, Page};
use super::super::practice_page::{PracticeChoice, PracticePage, PracticeShown};
use super::super::request::PracticeRequest;
use super::super::ui::{PracticeLine, Purpose, Ui};
use super::asking::ask;
use super::decision::Decision;
use super::details::assumed;
use super::fault::LineFault;
use super::written::with;
use crate::exam::{Event, PracticeEvent};
use crate::practice::cases::shipped::{CASES, cases};

/// Does a command of practice.
pub fn act(app: &App, ui: Ui, action: PracticeAction, nth: usize) -> Decision {
    match action {
        PracticeAction::Open => Decision::of(ui).with_request(PracticeRequest::Show),
        PracticeAction::PracticePick => pick(app, ui, nth),
        PracticeAction::PracticeTake => {
            let chosen = app.ui.practice_page().map_or(0, |page| page.chosen);
            pick(app, ui, chosen)
        }
    }
}

/// Takes a row of the page.
pub fn pick(app: &App, ui: Ui, nth: usize) -> Decision {
    let Some(page) = app.ui.practice_page() else { return Decision::of(ui) };
    let chosen = match &page.shown {
        PracticeShown::Choices(choices) => choices.get(nth).map(|&choice| chosen(app, &ui, choice)),
        PracticeShown::Cases(_) => CASES.get(nth).map(|(name, _)| {
            Decision::of(ui.clone()).with_request(PracticeRequest::Named(format!("kits/eyes/{name}").into()))
        }),
    };
    chosen.unwrap_or_else(|| Decision::refused(app, "there is no such line"))
}

fn chosen(app: &App, ui: &Ui, choice: PracticeChoice) -> Decision {
    let of = |ui: Ui, request: PracticeRequest| Decision::of(ui).with_request(request);
    let ui = ui.clone();
    match choice {
        PracticeChoice::Back => Decision::of(Ui { page: None, ..ui }),
        PracticeChoice::Done => done(app, Ui { page: None, ..ui }),
        PracticeChoice::GiveUp => {
            let text = "Give this eye up, and see what it needs?";
            let confirmation = Confirmation::EndPractice { gave_up: true };
            ask(app, Ui { page: None, ..ui }, confirmation, text, "shows it", "goes on")
        }
        PracticeChoice::Next => of(ui, PracticeRequest::Next),
        PracticeChoice::LastOne => of(ui, PracticeRequest::LastOne),
        PracticeChoice::Drawn(level) => of(ui, PracticeRequest::Drawn(level)),
        PracticeChoice::Named => match cases() {
            Ok(cases) => {
                let page = PracticePage { chosen: 0, shown: PracticeShown::Cases(cases.into()) };
                Decision::of(Ui { page: Some(Page::Practice(page)), ..ui })
            }
            Err(faults) => Decision::refused(app, faults.to_string()),
        },
        PracticeChoice::Coded => Decision::line(ui, Purpose::Practice(PracticeLine::Code)),
        PracticeChoice::Leave => of(ui, PracticeRequest::Leave),
    }
}

/// Asks whether the student is done with an eye.
pub fn done(app: &App, ui: Ui) -> Decision {
    let text = format!("Done with this eye, with {}?", with(app));
    ask(app, ui, Confirmation::EndPractice { gave_up: false }, &text, "ends the exam and shows how it went", "goes on")
}

/// Ends the exam of a practice eye.
pub fn end(app: &App, ui: Ui, gave_up: bool) -> Decision {
    let mut step = assumed(app.state(), &app.settings);
    step.push(Event::Practice(PracticeEvent::Ended { gave_up }));
    step.push(Event::Finished);
    Decision::of(ui).with_step(step).with_request(PracticeRequest::Show)
}

/// Does what a typed line says.
///
/// # Errors
/// When it cannot be read.
pub fn confirm(ui: Ui, line: PracticeLine, text: &str) -> Result<Decision, LineFault> {
    match line {
        PracticeLine::Code => Ok(Decision::of(ui).with_request(PracticeRequest::Coded(text.to_owned()))),
    }
}

/// Goes some lines on or back.
pub fn choose(page: &mut PracticePage, step: isize) {
    page.chosen = page.chosen.saturating_add_signed(step).min(page.rows().saturating_sub(1));
}
