//! The screening pass: a line of each eye, the look through +2.00, the near card.

use super::super::super::app::App;
use super::super::super::day_page::DayShown;
use super::super::super::detail_values::chart_place;
use super::super::super::keys::ScreeningAction;
use super::super::super::page::Page;
use super::super::super::ui::{DayLine, Purpose, Ui};
use super::super::decision::Decision;
use super::outcome::close;
use crate::exam::screening_pass::{ScreeningStep, as_the_person_came, next_step};
use crate::exam::{AcuityNote, Event, Outcome, Screened};
use crate::optics::Acuity;

/// The lines that are offered by digits, the best first; what is worse is typed.
pub fn lines_offered(app: &App) -> Vec<Acuity> {
    let lines = app.settings.acuity.chart_lines();
    let place = chart_place(app);
    lines
        .into_iter()
        .map(|line| place.filter(|place| !place.is_as_made()).map_or(line, |at| line.read_on(at)))
        .collect()
}

/// Does a command of the screening pass.
pub fn act(app: &App, mut ui: Ui, action: ScreeningAction, nth: usize) -> Decision {
    let step = next_step(app.state(), app.settings.screening_line);
    match (action, step) {
        (ScreeningAction::ScreeningAnswer, ScreeningStep::Read(eye)) => match lines_offered(app).get(nth) {
            Some(acuity) => {
                let through = as_the_person_came(app.state());
                let note = AcuityNote { eye: Some(eye), through, acuity: *acuity };
                Decision::of(ui).with_step(Event::Acuity(note))
            }
            None => Decision::refused(app, "there is no such line: type it instead"),
        },
        (ScreeningAction::ScreeningAnswer, ScreeningStep::ThroughPlusTwo(eye)) => match yes_or_no(nth) {
            Some(same) => Decision::of(ui).with_step(Event::Screened(Screened::PlusTwo(eye, same))),
            None => Decision::refused(app, "answer 1 or 2"),
        },
        (ScreeningAction::ScreeningAnswer, ScreeningStep::ReadNear) => match yes_or_no(nth) {
            Some(reads) => Decision::of(ui).with_step(Event::Screened(Screened::Near(reads))),
            None => Decision::refused(app, "answer 1 or 2"),
        },
        (ScreeningAction::ScreeningAnswer, ScreeningStep::Passes) if nth > 0 => {
            Decision::refused(app, "1 chooses an outcome")
        }
        (ScreeningAction::ScreeningAnswer, ScreeningStep::Passes) => {
            if let Some(Page::Day(page)) = &mut ui.page {
                page.shown = DayShown::Outcome;
            }
            Decision::of(ui)
        }
        (ScreeningAction::ScreeningAnswer, ScreeningStep::Fails(_)) if nth > 0 => {
            // it may be the answer to a question that is not asked any more
            Decision::refused(app, "1 goes on to refraction")
        }
        (ScreeningAction::ScreeningAnswer, ScreeningStep::Fails(_)) => {
            ui.page = None;
            ui.done("on to refraction: everything read so far is kept");
            Decision::of(ui)
        }
        (ScreeningAction::ScreeningType, ScreeningStep::Read(_)) => Decision::line(ui, Purpose::Day(DayLine::Acuity)),
        (ScreeningAction::ScreeningType, ScreeningStep::Passes) => {
            close(app, ui, vec![Event::Outcome(Outcome::NoGlasses)], &Outcome::NoGlasses)
        }
        (
            ScreeningAction::ScreeningType,
            ScreeningStep::ThroughPlusTwo(_) | ScreeningStep::ReadNear | ScreeningStep::Fails(_),
        ) => Decision::refused(app, "answer with a digit"),
    }
}

fn yes_or_no(nth: usize) -> Option<bool> {
    match nth {
        0 => Some(true),
        1 => Some(false),
        _ => None,
    }
}
