//! A frame that is being made: each question with what is so now, and how the chosen one is answered.

use ratatui::layout::Rect;

use super::super::super::box_page::NewFrame;
use super::super::super::ui::Target;
use super::super::layout::MOST_TEXT;
use super::super::pen::{Pen, wrapped};
use crate::frame::FrameQuestion;

/// Column at which the answers begin.
const ANSWERS: u16 = 30;

const WRITE: &str = "write the file";

/// What is so now.
fn now(frame: &NewFrame, question: FrameQuestion) -> String {
    let now = frame.draft.now(question);
    match (frame.draft.is_answered(question), now.is_empty()) {
        (true, _) => now,
        (false, true) => "not answered yet".to_owned(),
        (false, false) => format!("{now}   (the template's)"),
    }
}

/// How what is chosen is answered.
fn how(frame: &NewFrame) -> &'static str {
    match (frame.question(), frame.draft.asks()) {
        (Some(question), _) => question.how(),
        (None, None) => "everything is answered: the file is written beside the boxes, and exams are on this frame",
        (None, Some(_)) => "every question is answered first; what the template has is taken by answering with it",
    }
}

/// Draws it.
pub fn draw(pen: &mut Pen<'_>, area: Rect, frame: &NewFrame) {
    pen.heading(area, &format!("new frame: {}", frame.draft.name()), true);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let mut at = 1;
    for (nth, question) in FrameQuestion::ALL.into_iter().map(Some).chain([None]).enumerate() {
        let (name, answer) = match question {
            Some(question) => (question.name(), now(frame, question)),
            None => (WRITE, String::new()),
        };
        let style = if nth == frame.chosen { pen.theme.focus } else { pen.theme.text };
        pen.text(room, at, 0, if nth == frame.chosen { pen.glyphs.pointer } else { " " }, style);
        pen.text(room, at, 2, name, style);
        pen.clickable(Rect { y: room.y + at, height: 1, ..room }.intersection(room), Target::Row(nth, None));
        let width = usize::from(room.width.saturating_sub(ANSWERS).min(MOST_TEXT)).max(1);
        for line in wrapped(&answer, width) {
            pen.text(room, at, ANSWERS, &line, style);
            at += 1;
        }
        at += u16::from(answer.is_empty());
    }
    for line in wrapped(how(frame), usize::from(room.width.saturating_sub(4).min(MOST_TEXT)).max(1)) {
        at += 1;
        pen.text(room, at, 2, &line, pen.theme.quiet);
    }
}

/// The same in words.
pub fn in_words(frame: &NewFrame) -> Vec<String> {
    let mut lines = vec![format!("new frame: {}", frame.draft.name())];
    for (nth, question) in FrameQuestion::ALL.into_iter().enumerate() {
        let chosen = if nth == frame.chosen { "chosen: " } else { "" };
        lines.push(format!("{chosen}{}: {}", question.name(), now(frame, question)));
    }
    if frame.question().is_none() {
        lines.push(format!("chosen: {WRITE}"));
    }
    lines.push(how(frame).to_owned());
    lines
}
