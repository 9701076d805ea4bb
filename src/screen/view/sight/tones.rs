//! A picture on the screen: left to the terminal where it draws in pixels of its own, else in half blocks where it has tones, in
//! ten levels of ASCII characters where it has not.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Style};

use super::super::super::app::App;
use super::super::super::pictures::{Pictures, Placed, Subject, Wanted};
use super::super::super::ramp::Ramp;
use super::super::super::settings::{Colours, ThemeName};
use super::super::pen::Pen;
use crate::practice::picture::levels::{self, ascii};
use crate::practice::picture::raster::{Grid, Shown};

/// The upper half of a cell in one colour, the lower half in another.
const UPPER_HALF: &str = "▀";

/// Draws a picture of ink so that it fills an area.
pub fn ink(pen: &mut Pen<'_>, area: Rect, app: &App, subject: Subject) {
    draw(pen, area, app, subject, Ramp::of_ink);
}

/// Draws a picture of light so that it fills an area.
pub fn light(pen: &mut Pen<'_>, area: Rect, app: &App, subject: Subject) {
    draw(pen, area, app, subject, Ramp::of_light);
}

/// The tones of a picture with a theme in colours.
type Tones = fn(ThemeName, Colours) -> Option<Ramp>;

fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, subject: Subject, tones: Tones) {
    if let Some(ramp) = in_pixels(pen, app, tones) {
        leave(pen, Placed { area, subject, ramp });
        return;
    }
    let ramp = tones(app.ui.theme, app.settings.colours).filter(|_| pen.glyphs.has_halves);
    let shown = if ramp.is_some() { Shown::Pixels } else { Shown::Characters };
    let (columns, rows) = (usize::from(area.width), 2 * usize::from(area.height));
    let grid = app.pictures.of(Wanted { subject, columns, rows, shown });
    match ramp {
        Some(ramp) => half_blocks(pen.buffer, area, &grid, &ramp),
        None => in_characters(pen, area, &grid),
    }
}

/// The tones in which the terminal draws by itself, where it does: not below a sheet, whose words would lie under its pixels,
/// and not where characters alone are wanted.
fn in_pixels(pen: &Pen<'_>, app: &App, tones: Tones) -> Option<Ramp> {
    if app.in_pixels && app.ui.sheet.is_none() && pen.glyphs.has_halves {
        // whoever has pixels mixes their colours freely
        tones(app.ui.theme, Colours::All)
    } else {
        None
    }
}

/// Leaves the cells of a picture empty, in the colour of its ground.
fn leave(pen: &mut Pen<'_>, placed: Placed) {
    let ground = Style::new().bg(placed.ramp.colour(0.0));
    for position in placed.area.intersection(pen.buffer.area).positions() {
        pen.buffer[position].set_symbol(" ").set_style(ground);
    }
    pen.hits.pictures.push(placed);
}

/// Draws a picture in half blocks, for a terminal that was to draw it by itself and cannot.
pub fn stand_in(buffer: &mut Buffer, placed: &Placed, pictures: &Pictures) {
    let Placed { area, subject, ramp } = placed;
    let (columns, rows) = (usize::from(area.width), 2 * usize::from(area.height));
    let grid = pictures.of(Wanted { subject: *subject, columns, rows, shown: Shown::Pixels });
    half_blocks(buffer, *area, &grid, ramp);
}

fn half_blocks(buffer: &mut Buffer, area: Rect, grid: &Grid, ramp: &Ramp) {
    for (y, cells) in (area.y..).zip(levels::half_blocks(grid)) {
        for (x, halves) in (area.x..).zip(cells) {
            if let Some(cell) = buffer.cell_mut((x, y)) {
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
