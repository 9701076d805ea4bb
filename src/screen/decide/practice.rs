//! Commands of practice: choosing an eye, letting it answer, and the end of its exam.

use super::super::app::App;
use super::super::drill_page::DrillsPage;
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
use crate::practice::drills::{Unreadable, mark};

/// Does a command of practice.
pub fn act(app: &App, ui: Ui, action: PracticeAction, nth: usize) -> Decision {
    match action {
        PracticeAction::Open => Decision::of(ui).with_request(PracticeRequest::Show),
        PracticeAction::PracticeReplay => replay(ui),
        PracticeAction::PracticePick => pick(app, ui, nth),
        PracticeAction::PracticeTake => {
            if app.ui.practice_page().is_some_and(|page| page.ended().is_some()) {
                return Decision::of(ui).with_request(PracticeRequest::Show);
            }
            if let Some(asking) = app.ui.practice_page().and_then(PracticePage::asking) {
                return go_on_with_drill(ui, asking.is_over() && asking.typed.is_some());
            }
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
        PracticeShown::Drills(drills) => match &**drills {
            DrillsPage::List(rows) => {
                rows.get(nth).map(|row| Decision::of(ui.clone()).with_request(PracticeRequest::Drill(row.skill)))
            }
            DrillsPage::Asking(_) => None,
        },
        PracticeShown::Lessons(lessons) if nth == lessons.len() => {
            Some(Decision::line(ui.clone(), Purpose::Practice(PracticeLine::Lesson)))
        }
        PracticeShown::Lessons(lessons) => lessons.get(nth).map(|lesson| {
            let file = format!("kits/lessons/{}.yaml", lesson.name).into();
            Decision::of(ui.clone()).with_request(PracticeRequest::Lesson(file))
        }),
        PracticeShown::Lesson(_) => Some(Decision::of(ui.clone()).with_request(PracticeRequest::LessonPart(nth))),
        PracticeShown::Ended(_) => None,
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
        PracticeChoice::HowItWent => of(ui, PracticeRequest::HowItWent),
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
        PracticeChoice::Lessons => of(ui, PracticeRequest::Lessons),
        PracticeChoice::LastLesson => of(ui, PracticeRequest::LastLesson),
        PracticeChoice::Drills => of(ui, PracticeRequest::Drills),
        PracticeChoice::Leave => of(ui, PracticeRequest::Leave),
    }
}

/// Asks whether the student is done with an eye.
pub fn done(app: &App, ui: Ui) -> Decision {
    let hides = ui.practice.as_ref().is_some_and(|seated| seated.seat.hidden.net);
    let text =
        if hides { "Done with this eye?".to_owned() } else { format!("Done with this eye, with {}?", with(app)) };
    ask(app, ui, Confirmation::EndPractice { gave_up: false }, &text, "ends the exam and shows how it went", "goes on")
}

/// Ends the exam of a practice eye.
pub fn end(app: &App, ui: Ui, gave_up: bool) -> Decision {
    let mut step = assumed(app.state(), &app.settings);
    step.push(Event::Practice(PracticeEvent::Ended { gave_up }));
    step.push(Event::Finished);
    Decision::of(ui).with_step(step).with_request(PracticeRequest::HowItWent)
}

/// Does what a typed line says.
///
/// # Errors
/// When it cannot be read.
pub fn confirm(ui: Ui, line: PracticeLine, text: &str) -> Result<Decision, LineFault> {
    match line {
        PracticeLine::DrillAnswer => {
            let asking = ui.practice_page().and_then(PracticePage::asking);
            let asking = asking.ok_or_else(|| LineFault::plain("no drill is asked any more"))?;
            mark(asking.item(), text).map_err(|unreadable| match unreadable {
                Unreadable::Notation(error) => LineFault::from(error),
                other @ (Unreadable::NotAPrism(_)
                | Unreadable::NotAChoice { .. }
                | Unreadable::OtherNotation(_)
                | Unreadable::NoLine(_)) => LineFault::plain(other.to_string()),
            })?;
            Ok(Decision::of(ui).with_request(PracticeRequest::DrillAnswered(text.to_owned())))
        }
        PracticeLine::Lesson => Ok(Decision::of(ui).with_request(PracticeRequest::Lesson(text.into()))),
        PracticeLine::Code => Ok(Decision::of(ui).with_request(PracticeRequest::Coded(text.to_owned()))),
    }
}

/// Goes on in a sitting at a drill: to the next item, or back to the list.
fn go_on_with_drill(mut ui: Ui, is_over: bool) -> Decision {
    if is_over {
        return Decision::of(ui).with_request(PracticeRequest::Drills);
    }
    if let Some(Page::Practice(page)) = &mut ui.page
        && let Some(asking) = page.asking_mut()
    {
        asking.go_on();
    }
    Decision::line(ui, Purpose::Practice(PracticeLine::DrillAnswer))
}

/// Goes some lines on or back.
pub fn choose(app: &App, page: &mut PracticePage, step: isize) {
    let (rows, shown) = (page.rows(), usize::from(app.page_rows.get()));
    if let Some(asking) = page.asking_mut() {
        return asking.scroll(step, shown);
    }
    match page.ended_mut() {
        Some(ended) => {
            let count = ended.lines(app.ui.form, app.settings.acuity).len();
            ended.scroll(step, count, shown);
        }
        None => page.chosen = page.chosen.saturating_add_signed(step).min(rows.saturating_sub(1)),
    }
}

/// Replays the step that cost most, or goes back to how it went.
fn replay(mut ui: Ui) -> Decision {
    if let Some(Page::Practice(page)) = &mut ui.page
        && let Some(ended) = page.ended_mut()
    {
        ended.replays = !ended.replays && ended.costliest.is_some();
    }
    Decision::of(ui)
}

/// Goes back from the step that is replayed to how it went.
pub fn stop_replay(page: &mut PracticePage) {
    if let Some(ended) = page.ended_mut() {
        ended.replays = false;
    }
}

/// Whether a command would do something now.
pub fn is_available(app: &App, action: PracticeAction) -> bool {
    let ended = app.ui.practice_page().and_then(PracticePage::ended);
    match action {
        PracticeAction::PracticeReplay => ended.is_some_and(|ended| ended.costliest.is_some()),
        PracticeAction::PracticePick => {
            ended.is_none() && app.ui.practice_page().and_then(PracticePage::asking).is_none()
        }
        PracticeAction::Open | PracticeAction::PracticeTake => true,
    }
}
