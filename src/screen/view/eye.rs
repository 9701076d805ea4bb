//! One eye: title, large net power beside the dial, facts, strip and cells.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::ui::Target;
use super::pen::{Pen, row_of};
use super::{big, cells, dial, facts, strip};
use crate::optics::Eye;

/// Rows of the large net power: sphere, cylinder and axis each on their own, or cylinder and axis on one.
const BIG_ROWS: [u16; 2] = [8, 12];
const FACT_ROWS: [u16; 2] = [4, 5];

/// How many rows an eye takes.
pub fn rows(app: &App, large: bool) -> u16 {
    let size = usize::from(large);
    1 + BIG_ROWS[size] + FACT_ROWS[size] + strip::ROWS + cells::rows(app, large)
}

/// Draws one eye.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, eye: Eye) {
    let large = area.height >= rows(app, true);
    let size = usize::from(large);
    let focused = app.ui.eye == eye;
    title(pen, area, eye, focused);

    let big_area = Rect { y: area.y + 1, height: BIG_ROWS[size].min(area.height.saturating_sub(1)), ..area };
    let before = app.state().fitted.before(eye);
    let dial_area = if large {
        Rect { x: area.x + big::COLUMNS, y: area.y, width: area.width.saturating_sub(big::COLUMNS), height: 10 }
    } else {
        Rect { x: area.x + big::COLUMNS, y: area.y, width: area.width.saturating_sub(big::COLUMNS), height: 5 }
    };
    big::draw(pen, big_area, app, eye);
    if !before.occluded {
        dial::draw(pen, dial_area, app, eye);
    }

    let facts_area = Rect { y: big_area.bottom(), height: FACT_ROWS[size], ..area }.intersection(area);
    let strip_area = Rect { y: facts_area.bottom(), height: strip::ROWS, ..area }.intersection(area);
    let cells_area = Rect { y: strip_area.bottom(), height: cells::rows(app, large), ..area }.intersection(area);
    facts::draw(pen, facts_area, app, eye);
    strip::draw(pen, strip_area, app, eye);
    cells::draw(pen, cells_area, app, eye);
}

fn title(pen: &mut Pen<'_>, area: Rect, eye: Eye, focused: bool) {
    let name = format!("{eye} eye").to_uppercase();
    let (pointer, style) = if focused { (pen.glyphs.pointer, pen.theme.focus) } else { (" ", pen.theme.title) };
    pen.text(area, 0, 0, &format!("{pointer}{name} "), style);
    let title = Rect { width: area.width.min(big::COLUMNS), ..row_of(area, 0) };
    pen.clickable(title, Target::Dial(eye));
}
