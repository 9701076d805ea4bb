//! Glasses that came back, as they are entered: each thing with what was ordered, and how the chosen one is answered.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::glasses_form::{GlassesForm, ordered};
use super::layout::MOST_TEXT;
use super::pen::{Pen, wrapped};
use crate::exam::Order;
use crate::exam::came_back::GlassesQuestion;

/// Columns at which what was ordered and what was found begin.
const ORDERED: u16 = 28;
const FOUND: u16 = 50;

const NOTE: &str = "note it";

/// Draws it.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, form: &GlassesForm, order: Option<&Order>) {
    pen.heading(area, &format!("exam {}: glasses that came back", form.exam), true);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    pen.text(room, 0, ORDERED, "ordered", pen.theme.quiet);
    pen.text(room, 0, FOUND, "found", pen.theme.quiet);
    let rows = GlassesQuestion::ALL.into_iter().map(Some).chain([None]);
    for (nth, question) in rows.enumerate() {
        let at = nth as u16 + 1;
        let chosen = nth == form.chosen;
        let style = if chosen { pen.theme.focus } else { pen.theme.text };
        pen.text(room, at, 0, if chosen { pen.glyphs.pointer } else { " " }, style);
        let Some(question) = question else {
            pen.text(room, at, 2, NOTE, style);
            continue;
        };
        pen.text(room, at, 2, question.name(), style);
        let of_order = order.map(|order| ordered(order, question, app.ui.form)).unwrap_or_default();
        pen.text(room, at, ORDERED, &of_order, pen.theme.text);
        let found = match form.answer(question) {
            None => "",
            Some("") => question.when_left_out(),
            Some(answer) => answer,
        };
        pen.text(room, at, FOUND, found, style);
    }
    let below = GlassesQuestion::ALL.len() as u16 + 3;
    let width = usize::from(room.width.saturating_sub(4).min(MOST_TEXT)).max(1);
    for (row, line) in wrapped(how(form), width).iter().enumerate() {
        pen.text(room, below + row as u16, 2, line, pen.theme.quiet);
    }
}

fn how(form: &GlassesForm) -> &'static str {
    match form.question() {
        Some(question) => question.how(),
        None => {
            "it is added to the closed exam, and held against the order; an empty line is for what was not measured"
        }
    }
}
