//! The details of the exam: one row each, the right eye on the left, and what holds where nothing was typed.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::detail_values::{default, shorter, value};
use super::super::field::{DetailRow, Field, GROUPS};
use super::super::ui::Target;
use super::facts::induced_in_words;
use super::layout::MOST_TEXT;
use super::pen::Pen;
use super::records::goes_on;
use crate::optics::Eye;

/// Columns of the names; the two eyes share the rest.
const NAMES: u16 = 22;

/// From so many columns on the groups stand in two columns.
const TWO_FROM: u16 = 110;
/// Columns between two columns of groups.
const BETWEEN: u16 = 3;

/// A line of the page: a heading, or a row by its number.
enum PageLine {
    Heading(&'static str),
    Row(usize, DetailRow),
}

/// The groups as lines, in columns that are read one after the other.
fn in_columns(count: usize) -> Vec<Vec<PageLine>> {
    let mut number = 0;
    let mut columns: Vec<Vec<PageLine>> = vec![Vec::new()];
    let whole: usize = GROUPS.iter().map(|(_, rows)| rows.len() + 1).sum();
    for (heading, rows) in GROUPS {
        let full = columns.last().is_some_and(|column| column.len() + rows.len() / 2 >= whole.div_ceil(count));
        if full && columns.len() < count {
            columns.push(Vec::new());
        }
        let Some(column) = columns.last_mut() else { continue };
        column.push(PageLine::Heading(heading));
        for row in *rows {
            column.push(PageLine::Row(number, *row));
            number += 1;
        }
    }
    columns
}

/// Draws the details around the chosen row, each column of groups below the names of the eyes.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, chosen: usize) {
    let count = if area.width >= TWO_FROM { 2 } else { 1 };
    let width = (area.width + BETWEEN) / count - BETWEEN;
    let mut goes_further = false;
    for (nth, lines) in in_columns(count.into()).into_iter().enumerate() {
        let column = Rect { x: area.x + nth as u16 * (width + BETWEEN), width: width.min(MOST_TEXT), ..area };
        // the first heading stays, with the names of the eyes on it
        let mut lines = lines.into_iter();
        if let Some(PageLine::Heading(heading)) = lines.next() {
            pen.heading(column, heading, false);
        }
        columns(pen, column, app);
        let lines: Vec<PageLine> = lines.collect();
        let room = Rect { y: column.y + 1, height: column.height.saturating_sub(1), ..column };
        let height = usize::from(room.height);
        let is_chosen = |line: &PageLine| if let PageLine::Row(number, _) = line { *number == chosen } else { false };
        let chosen_line = lines.iter().position(is_chosen).unwrap_or(0);
        let first = (chosen_line + 2).saturating_sub(height).min(lines.len().saturating_sub(height));
        for (at, line) in lines.iter().skip(first).take(height).enumerate() {
            let place = Rect { y: room.y + at as u16, height: 1, ..room };
            match line {
                PageLine::Heading(heading) => pen.heading(place, heading, false),
                PageLine::Row(number, row) => draw_row(pen, place, app, *number, *row, *number == chosen),
            }
        }
        goes_further |= first + height < lines.len();
    }
    if goes_further {
        goes_on(pen, area, app);
    }
}

fn eye_place(area: Rect, eye: Eye) -> Rect {
    let width = area.width.saturating_sub(NAMES) / 2;
    let x = area.x + NAMES + if eye == Eye::Left { width } else { 0 };
    Rect { x, width: width.saturating_sub(1), ..area }
}

fn columns(pen: &mut Pen<'_>, area: Rect, app: &App) {
    for eye in Eye::BOTH {
        let style = if app.ui.eye == eye { pen.theme.focus } else { pen.theme.title };
        pen.text(eye_place(area, eye), 0, 0, &format!(" {} ", format!("{eye} eye").to_uppercase()), style);
    }
}

fn draw_row(pen: &mut Pen<'_>, area: Rect, app: &App, number: usize, row: DetailRow, chosen: bool) {
    let theme = pen.theme;
    let pointer = if chosen { pen.glyphs.pointer } else { " " };
    let names = Rect { width: area.width.min(NAMES - 1), ..area };
    let name_style = if chosen { theme.focus } else { theme.text };
    pen.text(names, 0, 0, &format!("{pointer}{}", row.field(app.ui.eye).name()), name_style);
    match row {
        DetailRow::One(field) => {
            let place = Rect { x: area.x + NAMES, width: area.width.saturating_sub(NAMES), ..area };
            draw_value(pen, place, app, field, chosen);
            pen.clickable(area, Target::Row(number, None));
        }
        DetailRow::Eyes(of) => {
            for eye in Eye::BOTH {
                let place = eye_place(area, eye);
                draw_value(pen, place, app, of(eye), chosen && app.ui.eye == eye);
                pen.clickable(place, Target::Row(number, Some(eye)));
            }
        }
    }
}

fn draw_value(pen: &mut Pen<'_>, area: Rect, app: &App, field: Field, focused: bool) {
    let theme = pen.theme;
    let (mut text, mut style) = match (value(field, app), default(field, app)) {
        (Some(value), _) => (value, theme.text),
        (None, Some(default)) => (format!("({default})"), theme.quiet),
        (None, None) => (pen.glyphs.empty.to_owned(), theme.quiet),
    };
    if let Field::FramePd(eye) = field
        && let Some(induced) = induced_in_words(app, eye)
    {
        text = format!("{text}, adds {induced}");
        style = theme.warning;
    }
    let fits = |text: &str| text.chars().count() + 2 <= usize::from(area.width);
    if !fits(&text)
        && let Some(shorter) = shorter(field, app).into_iter().find(|text| fits(text))
    {
        text = shorter;
    }
    // an acuity stays whole where there is no room for the power that it was read with
    if text.chars().count() + 2 > usize::from(area.width)
        && let Some((acuity, _)) = text.split_once(" with ")
    {
        text = acuity.to_owned();
    }
    let style = if focused { theme.focus } else { style };
    pen.text(area, 0, 0, &format!(" {text} "), style);
}
