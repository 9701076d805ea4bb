//! The net power in large characters: the largest thing on the screen.

use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::Line;
use ratatui::widgets::Widget;
use tui_big_text::{BigText, PixelSize};

use super::super::app::App;
use super::super::words;
use super::pen::Pen;
use crate::optics::{Axis, Eye};

/// Columns that the widest sphere takes (`-12.25`), with one to spare.
pub const COLUMNS: u16 = 25;
const CHARACTER: u16 = 4;
const LINE: u16 = 4;

/// Draws the net power of what is in the cells, or says that there is none.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, eye: Eye) {
    let style = if app.works_on(eye) { pen.theme.net } else { pen.theme.net_other };
    let before = app.in_front_of(eye);
    if before.occluded {
        write(pen, area, 0, 0, "occluded", pen.theme.warning);
        return;
    }
    if !before.net.is_finite() {
        write(pen, area, 0, 0, "focus", pen.theme.warning);
        pen.text(area, LINE, 0, "light comes to a focus between the cells", pen.theme.warning);
        return;
    }
    let net = app.ui.form.of(before.net);
    write(pen, area, 0, 0, &words::dioptres(net.sphere), style);
    if !words::is_written(net.cylinder) {
        pen.text(area, LINE, 0, "no cylinder", pen.theme.quiet);
        return;
    }
    let cylinder = words::dioptres(net.cylinder);
    let axis = format!("x{}", Axis::nearest(net.axis));
    let columns = CHARACTER * (cylinder.len() + axis.len()) as u16;
    write(pen, area, LINE, 0, &cylinder, style);
    if area.height >= 3 * LINE {
        write(pen, area, 2 * LINE, 0, &axis, style);
    } else if columns <= area.width {
        write(pen, area, LINE, CHARACTER * cylinder.len() as u16, &axis, style);
    } else {
        pen.text(area, LINE, CHARACTER * cylinder.len() as u16 + 1, &axis, style);
    }
}

fn write(pen: &mut Pen<'_>, area: Rect, row: u16, column: u16, text: &str, style: Style) {
    let place = Rect { x: area.x + column, y: area.y + row, width: area.width.saturating_sub(column), height: LINE }
        .intersection(area)
        .intersection(pen.buffer.area);
    if pen.glyphs.ascii {
        for (nth, character) in text.chars().enumerate() {
            for (row, part) in segments(character).into_iter().enumerate() {
                pen.text(place, row as u16, CHARACTER * nth as u16, part, style);
            }
        }
    } else {
        let text = BigText::builder().pixel_size(PixelSize::Quadrant).style(style).lines([Line::from(text)]).build();
        text.render(place, pen.buffer);
    }
}

/// A character of three columns and three rows, from the strokes that every terminal has.
fn segments(character: char) -> [&'static str; 3] {
    match character {
        '0' => [" _ ", "| |", "|_|"],
        '1' => ["   ", "  |", "  |"],
        '2' => [" _ ", " _|", "|_ "],
        '3' => [" _ ", " _|", " _|"],
        '4' => ["   ", "|_|", "  |"],
        '5' => [" _ ", "|_ ", " _|"],
        '6' => [" _ ", "|_ ", "|_|"],
        '7' => [" _ ", "  |", "  |"],
        '8' => [" _ ", "|_|", "|_|"],
        '9' => [" _ ", "|_|", " _|"],
        '-' => ["   ", " _ ", "   "],
        '+' => ["   ", "_|_", " | "],
        '.' => ["   ", "   ", " o "],
        'x' => ["   ", "\\ /", "/ \\"],
        'p' => ["   ", " _ ", "|_)"],
        'l' => ["   ", "|  ", "|_ "],
        'a' => ["   ", " _ ", "(_|"],
        'n' => ["   ", " _ ", "| |"],
        'o' => ["   ", " _ ", "(_)"],
        'c' => ["   ", " _ ", "(_ "],
        'u' => ["   ", "   ", "|_|"],
        'd' => ["   ", " _|", "(_|"],
        'e' => ["   ", " _ ", "(-_"],
        'f' => ["   ", " _ ", "|- "],
        's' => ["   ", " _ ", "_\\ "],
        _ => ["   ", "   ", "   "],
    }
}
