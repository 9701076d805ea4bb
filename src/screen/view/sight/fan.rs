//! The fan as the person sees it, with the hours of a clock around it.

use ratatui::layout::Rect;

use super::super::super::app::App;
use super::super::super::pictures::Subject;
use super::super::pen::Pen;
use super::tones;
use crate::practice::picture::patch::Patch;

/// Columns beside the fan for an hour and a space.
const HOUR: u16 = 2;
/// A fan of fewer rows shows nothing.
const LEAST_ROWS: u16 = 6;

/// Draws the fan through a blur, as large as the area lets it be.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, patch: Patch) {
    let rows = area.height.saturating_sub(2).min(area.width.saturating_sub(2 * HOUR) / 2);
    if rows < LEAST_ROWS {
        pen.text(area, 0, 0, "no room for the fan", pen.theme.quiet);
        return;
    }
    // a cell is twice as high as wide
    let columns = 2 * rows;
    let fan = Rect {
        x: area.x + (area.width - columns) / 2,
        y: area.y + 1 + (area.height - 2 - rows) / 2,
        width: columns,
        height: rows,
    };
    tones::ink(pen, fan, app, Subject::Fan(patch));
    let (quiet, screen) = (pen.theme.quiet, pen.buffer.area);
    pen.text(screen, fan.y - 1, fan.x + columns / 2 - 1, "12", quiet);
    pen.text(screen, fan.y + rows / 2, fan.right() + 1, "3", quiet);
    pen.text(screen, fan.bottom(), fan.x + columns / 2, "6", quiet);
    pen.text(screen, fan.y + rows / 2, fan.x - HOUR, "9", quiet);
}
