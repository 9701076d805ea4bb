//! A grid of levels on the screen: half blocks where the terminal has tones, ten levels of ASCII characters where it has not.

use ratatui::layout::Rect;
use ratatui::style::{Color, Style};

use super::super::super::app::App;
use super::super::super::pictures::{Subject, Wanted};
use super::super::super::ramp::Ramp;
use super::super::pen::Pen;
use crate::practice::picture::levels::{ascii, half_blocks};
use crate::practice::picture::raster::{Grid, Shown};

/// The upper half of a cell in one colour, the lower half in another.
const UPPER_HALF: &str = "▀";

/// Draws a picture of ink so that it fills an area.
pub fn ink(pen: &mut Pen<'_>, area: Rect, app: &App, subject: Subject) {
    draw(pen, area, app, subject, Ramp::of_ink(app.ui.theme, app.settings.colours));
}

/// Draws a picture of light so that it fills an area.
pub fn light(pen: &mut Pen<'_>, area: Rect, app: &App, subject: Subject) {
    draw(pen, area, app, subject, Ramp::of_light(app.ui.theme, app.settings.colours));
}

fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, subject: Subject, ramp: Option<Ramp>) {
    let ramp = ramp.filter(|_| pen.glyphs.has_halves);
    let shown = if ramp.is_some() { Shown::Pixels } else { Shown::Characters };
    let (columns, rows) = (usize::from(area.width), 2 * usize::from(area.height));
    let grid = app.pictures.of(Wanted { subject, columns, rows, shown });
    match ramp {
        Some(ramp) => in_half_blocks(pen, area, &grid, &ramp),
        None => in_characters(pen, area, &grid),
    }
}

fn in_half_blocks(pen: &mut Pen<'_>, area: Rect, grid: &Grid, ramp: &Ramp) {
    for (y, cells) in (area.y..).zip(half_blocks(grid)) {
        for (x, halves) in (area.x..).zip(cells) {
            if let Some(cell) = pen.buffer.cell_mut((x, y)) {
                let colours: [Color; 2] = [halves.upper, halves.lower].map(|level| ramp.colour(level));
                // a space is never taken for something that is written
                let symbol = if colours[0] == colours[1] { " " } else { UPPER_HALF };
                cell.set_symbol(symbol).set_style(Style::new().fg(colours[0]).bg(colours[1]));
            }
        }
    }
}

fn in_characters(pen: &mut Pen<'_>, area: Rect, grid: &Grid) {
    let style = pen.theme.text;
    for (row, line) in (0..).zip(ascii(grid)) {
        pen.text(area, row, 0, &line, style);
    }
}
