//! The trail as a table: the last things tried beside the proposals, and all of one eye beside the plot.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::decide::trail::{page, points};
use super::super::ui::Target;
use super::super::words;
use super::pen::Pen;
use super::plot::{put, shape, style};
use crate::exam::{Judgement, Tried};

/// Columns that the table of one eye takes.
pub const TABLE_WIDTH: u16 = 38;

/// Draws the last things tried before either eye, newest first.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    pen.heading(area, "trail", false);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    for (row, tried) in app.state().trail.iter().rev().take(usize::from(room.height)).enumerate() {
        let style = style(pen, tried);
        pen.text(room, row as u16, 1, &format!("{:<5}", tried.eye), style);
        one(pen, room, row as u16, 7, app, tried, true);
    }
}

/// Draws everything tried before the eye in focus, newest first, each with the key that goes back to it.
pub fn table(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let points = points(app);
    let count = points.len();
    pen.heading(area, &format!("{count} tried, newest first"), false);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let chosen = app.ui.chosen_tried.min(count.saturating_sub(1));
    let (page, keys) = page(app);
    let fit = usize::from(room.height).max(1);
    let first = page.max((chosen + 1).saturating_sub(fit));
    for (row, (nth, (_, tried))) in points.iter().enumerate().skip(first).take(fit).enumerate() {
        let row = row as u16;
        let pointer = if nth == chosen { pen.glyphs.pointer } else { " " };
        let key = nth.checked_sub(page).and_then(|at| keys.get(at)).map_or(" ", String::as_str);
        pen.text(room, row, 0, pointer, pen.theme.focus);
        pen.text(room, row, 1, key, pen.theme.key);
        one(pen, room, row, 3, app, tried, false);
        pen.clickable(Rect { y: room.y + row, height: 1, ..room }, Target::Tried(nth));
    }
}

/// One thing tried; where there is little room the line that was read stands for how it was judged.
fn one(pen: &mut Pen<'_>, area: Rect, row: u16, column: u16, app: &App, tried: &Tried, brief: bool) {
    let style = style(pen, tried);
    put(pen, area, row, column, shape(tried, pen.glyphs.ascii), style);
    let word = match (tried.judgement, tried.kept) {
        (Some(Judgement::Better), _) => "clearer",
        (Some(Judgement::Same), true) if !brief => "same, kept",
        (Some(Judgement::Same), _) => "same",
        (Some(Judgement::Worse), _) => "worse",
        (None, true) => "",
        (None, false) => "not kept",
    };
    let write = if brief { words::acuity_in_short } else { words::acuity };
    let acuity = tried.acuity.map(|acuity| write(acuity, app.settings.acuity)).unwrap_or_default();
    let power = words::power(tried.power, app.ui.form);
    let read = match acuity.as_str() {
        "" => word.to_owned(),
        acuity if brief => acuity.to_owned(),
        acuity => format!("{acuity} {word}"),
    };
    pen.text(area, row, column + 2, &format!("{power:<15} {read}"), style);
}
