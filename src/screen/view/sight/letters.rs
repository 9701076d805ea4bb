//! Lines of the chart as the person sees them: a sign is as large on the screen in every line, what differs is how large its blur is
//! to it.

use ratatui::layout::Rect;

use super::super::super::app::App;
use super::super::super::pictures::Subject;
use super::super::pen::{Pen, row_of};
use super::tones;
use crate::practice::picture::patch::Patch;
use crate::practice::picture::targets::Optotype;

/// A line of the chart.
pub struct Line {
    /// What it is called, and what is said of it.
    pub title: String,
    /// Whether it is the one that is asked about.
    pub is_asked: bool,
    /// The stroke of its signs, in minutes of arc: its MAR.
    pub stroke_minutes: f64,
    /// Its signs, from left to right as the person sees them.
    pub signs: Vec<Optotype>,
}

/// A sign is never smaller, in rows.
const LEAST_ROWS: u16 = 4;
/// A further line is shown only where signs stay as large.
const READABLE_ROWS: u16 = 6;
/// Nor need they be larger.
const MOST_ROWS: u16 = 9;
/// Signs of a line that are shown at least, so that there is something to read.
const LEAST_SIGNS: u16 = 3;

/// Draws as many of the lines as there is room for, the one that is asked about among them, each below its title.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, lines: &[Line], patch: Patch) {
    let signs = lines.iter().map(|line| line.signs.len() as u16).max().unwrap_or(0);
    let Some(shown) = shown(area, lines.len() as u16, signs) else {
        pen.text(area, 0, 0, "no room for letters", pen.theme.quiet);
        return;
    };
    let asked = lines.iter().position(|line| line.is_asked).unwrap_or(0);
    let first = first_shown(lines.len(), asked, usize::from(shown.lines));
    for (nth, line) in lines.iter().skip(first).take(usize::from(shown.lines)).enumerate() {
        let y = area.y + nth as u16 * (shown.rows + 1);
        pen.heading(row_of(Rect { y, height: 1, ..area }, 0), &line.title, line.is_asked);
        let columns = 2 * shown.rows;
        let apart = area.width / shown.signs;
        for (nth, &sign) in line.signs.iter().take(usize::from(shown.signs)).enumerate() {
            let x = area.x + nth as u16 * apart + (apart - columns) / 2;
            let place = Rect { x, y: y + 1, width: columns, height: shown.rows };
            tones::ink(pen, place, app, Subject::Sign { sign, stroke_minutes: line.stroke_minutes, patch });
        }
    }
}

/// How much of the lines is shown.
struct LinesShown {
    lines: u16,
    signs: u16,
    /// Rows of a sign.
    rows: u16,
}

/// As many lines as stay readable, then as many signs as stay as large.
fn shown(area: Rect, lines: u16, signs: u16) -> Option<LinesShown> {
    let fitting = |lines: u16| {
        let high = (area.height / lines).saturating_sub(1).min(MOST_ROWS);
        // a column is left between two signs
        let rows = |signs: u16| high.min((area.width / signs.max(1)).saturating_sub(1) / 2);
        // fewer signs before they are too small to be told
        let rows = if rows(signs) >= READABLE_ROWS { rows(signs) } else { rows(LEAST_SIGNS.min(signs)) };
        let signs = (area.width / (2 * rows + 1)).min(signs);
        (rows >= LEAST_ROWS && signs > 0).then_some(LinesShown { lines, signs, rows })
    };
    (1..=lines).filter_map(fitting).reduce(|best, next| if next.rows >= READABLE_ROWS { next } else { best })
}

/// The first line that is shown, so that the one asked about stands among them, in the middle where that can be.
fn first_shown(lines: usize, asked: usize, shown: usize) -> usize {
    asked.saturating_sub((shown - 1) / 2).min(lines - shown)
}
