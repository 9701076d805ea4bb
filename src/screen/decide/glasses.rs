//! Glasses that came back to the exam that is open to be read: asked one thing after the other, then noted.

use super::super::app::App;
use super::super::glasses_form::GlassesForm;
use super::super::page::{Page, Records};
use super::super::request::Request;
use super::super::ui::{Purpose, Ui};
use super::decision::Decision;
use super::fault::LineFault;
use super::open_record::{amendable, records};
use crate::exam::came_back::GlassesQuestion;
use crate::exam::came_back::asked::AnswerFault;

impl From<AnswerFault> for LineFault {
    fn from(fault: AnswerFault) -> Self {
        Self { problem: fault.problem, place: fault.place }
    }
}

/// The exam whose glasses can come back.
pub fn orderable(ui: &Ui) -> Result<u64, String> {
    let exam = amendable(ui)?;
    let ordered = records(ui).and_then(|records| records.open.as_ref()?.order.as_ref()).is_some();
    if ordered { Ok(exam) } else { Err(format!("exam {exam} has no written power: no glasses are ordered by it")) }
}

/// Whether there are glasses that came back to be taken back.
pub fn may_take_back(ui: &Ui) -> Result<u64, String> {
    let exam = amendable(ui)?;
    let any = records(ui).and_then(|records| records.open.as_ref()).is_some_and(|open| open.came_back);
    if any { Ok(exam) } else { Err(format!("no glasses that came back stand in exam {exam}")) }
}

/// Shows what is entered, or goes on with it.
pub fn open(app: &App, mut ui: Ui) -> Decision {
    let exam = match orderable(&ui) {
        Ok(exam) => exam,
        Err(why) => return Decision::refused(app, why),
    };
    let begun = records(&ui).and_then(|records| records.glasses.clone()).filter(|begun| begun.exam == exam);
    let mut form = begun.map_or_else(|| GlassesForm::of(exam), |begun| *begun);
    let is_new = !form.is_through();
    form.shown = true;
    show(&mut ui, form);
    if is_new { ask_chosen(ui) } else { Decision::of(ui) }
}

/// The form that is shown.
pub fn shown(ui: &Ui) -> Option<&GlassesForm> {
    records(ui).and_then(Records::glasses_shown)
}

fn show(ui: &mut Ui, form: GlassesForm) {
    if let Some(Page::Records(records)) = &mut ui.page {
        records.glasses = Some(Box::new(form));
    }
}

/// Asks what is chosen; what was answered before stands in the line.
fn ask_chosen(mut ui: Ui) -> Decision {
    let asked = shown(&ui).and_then(|form| {
        let question = form.question()?;
        Some((question, form.answer(question).unwrap_or_default().to_owned()))
    });
    if let Some((question, before)) = asked {
        ui.start_line(Purpose::Glasses(question), before);
    }
    Decision::of(ui)
}

/// Takes an answer, an empty line for what was not measured, and asks the next question that was not asked yet.
pub fn answered(mut ui: Ui, question: GlassesQuestion, text: &str) -> Result<Decision, LineFault> {
    let Some(form) = shown(&ui) else { return Ok(Decision::of(ui)) };
    let form = form.answered(question, text)?;
    let goes_on = form.question().is_some_and(|next| form.answer(next).is_none());
    show(&mut ui, form);
    Ok(if goes_on { ask_chosen(ui) } else { Decision::of(ui) })
}

/// Asks what is chosen again, or notes it.
pub fn answer_or_note(ui: Ui) -> Decision {
    let Some(form) = shown(&ui) else { return Decision::of(ui) };
    if form.question().is_some() {
        return ask_chosen(ui);
    }
    let (exam, draft) = (form.exam, Box::new(form.draft.clone()));
    Decision::of(ui).with_request(Request::GlassesBack { exam, draft })
}

/// Takes the last of the glasses that came back back.
pub fn take_back(app: &App, ui: Ui) -> Decision {
    match may_take_back(&ui) {
        Ok(exam) => Decision::of(ui).with_request(Request::TakeGlassesBack(exam)),
        Err(why) => Decision::refused(app, why),
    }
}
