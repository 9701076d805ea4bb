//! The trail: the last things tried before either eye, or all of one eye with the keys that go back to them, and the plot.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::decide::trail::{page, points};
use super::super::ui::{Panel, Target};
use super::super::words;
use super::pen::Pen;
use super::plot::{self, put, shape, style};
use crate::exam::{Judgement, Tried};

/// Columns that the table of one eye takes.
const TABLE_WIDTH: u16 = 38;
/// A plot beside it has at least so many columns.
const LEAST_PLOT_WIDTH: u16 = 36;
const MOST_PLOT_ROWS: u16 = 18;

/// The most rows that the trail asks for.
const MOST_ROWS: u16 = 10;

/// How many rows the trail would like to have.
pub fn rows(app: &App) -> u16 {
    1 + (app.state().trail.len() as u16).clamp(1, MOST_ROWS) + 1 + plot::LEAST_ROWS
}

/// Draws the trail: in use, all of one eye with its plot; else the last things tried before either eye, and the plot where
/// there is room.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let focused = app.ui.panel == Panel::Trail;
    let plot_width = area.width.saturating_sub(TABLE_WIDTH);
    if plot_width >= LEAST_PLOT_WIDTH {
        let plot = Rect { width: plot_width - 1, ..area };
        plot::draw(pen, plot, app);
        let right = Rect { x: area.x + plot_width, width: TABLE_WIDTH, ..area };
        if focused {
            table(pen, right, app);
        } else {
            last(pen, right, app);
        }
        return;
    }
    let listed = 1 + if focused { points(app).len() } else { app.state().trail.len() } as u16;
    let plot = area.height.saturating_sub(listed.max(area.height / 3));
    let plot = if plot > plot::LEAST_ROWS { plot.min(MOST_PLOT_ROWS) } else { 0 };
    if plot > 0 {
        plot::draw(pen, Rect { height: plot, ..area }, app);
    }
    let below = Rect { y: area.y + plot, height: area.height - plot, ..area };
    if focused {
        table(pen, below, app);
    } else {
        last(pen, below, app);
    }
}

/// Draws the last things tried before either eye, newest first.
fn last(pen: &mut Pen<'_>, area: Rect, app: &App) {
    pen.heading(area, "trail, newest first", false);
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
