//! A new frame: its name and template, and then one question after the other.

use std::path::Path;

use super::super::super::app::App;
use super::super::super::box_page::{BoxShown, NewFrame};
use super::super::super::page::Page;
use super::super::super::request::BoxRequest;
use super::super::super::ui::{BoxLine, Purpose, Ui};
use super::super::decision::Decision;
use super::super::fault::LineFault;
use crate::frame::shipped::{frame_template, frame_templates};
use crate::frame::{DraftFault, FrameDraft, FrameQuestion};

impl From<DraftFault> for LineFault {
    fn from(fault: DraftFault) -> Self {
        Self { problem: fault.problem, place: fault.place }
    }
}

/// Whether what was typed is meant as the path of a file.
pub fn is_a_file(text: &str) -> bool {
    let ending = Path::new(text).extension();
    ending.is_some_and(|ending| ending.eq_ignore_ascii_case("yaml") || ending.eq_ignore_ascii_case("yml"))
}

/// A new frame of a template, `Clinic from four-cell`, or the file of a frame that is there.
pub fn begin(ui: Ui, text: &str) -> Result<Decision, LineFault> {
    if is_a_file(text) {
        return Ok(Decision::of(ui).with_request(BoxRequest::UseFrame(text.into())));
    }
    let there = || frame_templates().collect::<Vec<_>>().join(", ");
    let Some((name, named)) = text.rsplit_once(" from ") else {
        return Err(LineFault::plain(format!("write its name, then the template: Clinic from {}", there())));
    };
    let template = frame_template(named.trim()).map_err(|faults| LineFault::plain(faults.to_string()))?;
    let Some(template) = template else {
        let place = Some(name.chars().count() + " from ".len());
        let problem = format!("there is no template `{}`; there are {}", named.trim(), there());
        return Err(LineFault { problem, place });
    };
    let frame = NewFrame::of(FrameDraft::of(name.trim(), &template)?);
    Ok(asked(ui, frame))
}

/// Shows the frame, and asks its chosen question where that is not answered yet.
fn asked(mut ui: Ui, frame: NewFrame) -> Decision {
    if let Some(question) = frame.question().filter(|question| !frame.draft.is_answered(*question)) {
        ui.start_line(Purpose::Box(BoxLine::OfNewFrame(question)), "");
    }
    if let Some(Page::Box(page)) = &mut ui.page {
        page.shown = BoxShown::NewFrame(Box::new(frame));
    }
    Decision::of(ui)
}

/// Takes an answer, an empty line for what is so now, and goes on to the next question.
pub fn answered(ui: Ui, question: FrameQuestion, text: &str) -> Result<Decision, LineFault> {
    let Some(frame) = ui.box_page().and_then(|page| page.shown.new_frame()) else { return Ok(Decision::of(ui)) };
    let now = frame.draft.now(question);
    if text.is_empty() && now.is_empty() {
        return Err(LineFault::plain(format!("not known of these cells: {}", question.how())));
    }
    let draft = frame.draft.answer(question, if text.is_empty() { &now } else { text })?;
    let after = draft.asks().and_then(|next| FrameQuestion::ALL.iter().position(|of| *of == next));
    Ok(asked(ui, NewFrame { draft, chosen: after.unwrap_or(FrameQuestion::ALL.len()) }))
}

/// Asks what is chosen again, or writes the file.
pub fn answer_or_write(app: &App, mut ui: Ui) -> Decision {
    let Some(frame) = app.ui.box_page().and_then(|page| page.shown.new_frame()) else { return Decision::of(ui) };
    if let Some(question) = frame.question() {
        ui.start_line(Purpose::Box(BoxLine::OfNewFrame(question)), "");
        return Decision::of(ui);
    }
    match (frame.draft.declared(), frame.draft.asks()) {
        (Some(declared), _) => Decision::of(ui).with_request(BoxRequest::NewFrame(declared)),
        (None, open) => {
            let open = open.map_or("something", FrameQuestion::name);
            Decision::refused(app, format!("not answered yet: {open}"))
        }
    }
}
