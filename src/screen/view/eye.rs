//! One eye: title, large net power beside the dial, facts, strip and cells.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::ui::Target;
use super::super::words;
use super::pen::{Pen, row_of};
use super::{big, cells, dial, facts, strip};
use crate::optics::Eye;

/// Rows of the large net power: sphere, cylinder and axis each on their own, or cylinder and axis on one.
const BIG_ROWS: [u16; 2] = [8, 12];
const FACT_ROWS: [u16; 2] = [4, 5];
const DIAL_ROWS: [u16; 2] = [5, 10];

/// How many rows an eye takes, with its facts or without.
pub fn rows(app: &App, width: u16, large: bool, with_facts: bool) -> u16 {
    let size = usize::from(large);
    let facts = if with_facts { FACT_ROWS[size] } else { 0 };
    1 + BIG_ROWS[size] + cells::rows(app, width, large) + (facts + strip::ROWS).max(warning_rows(app, width))
}

/// How many rows an eye takes at least: net power, warnings, and what is in the cells.
pub fn least_rows(app: &App, width: u16) -> u16 {
    1 + BIG_ROWS[0] + cells::rows(app, width, false) + warning_rows(app, width)
}

/// Rows for the warnings of the eye that has more to warn of, so that both eyes look alike.
fn warning_rows(app: &App, width: u16) -> u16 {
    Eye::BOTH.map(|eye| facts::warning_rows(app, eye, width)).into_iter().max().unwrap_or(0)
}

/// One eye line by line: net power, what is in its cells and before it, and the facts.
pub fn in_words(app: &App, eye: Eye) -> Vec<String> {
    let before = app.in_front_of(eye);
    let net = if before.occluded { "covered".to_owned() } else { words::power(before.net, app.ui.form) };
    let mut lines = vec![format!("{eye} eye: net {net}")];
    lines.extend(cells::in_words(app, eye));
    lines.extend(facts::in_words(app, eye).into_iter().map(|fact| format!("{eye} eye: {fact}")));
    lines
}

/// Draws one eye.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, eye: Eye) {
    let large = area.height >= rows(app, area.width, true, true);
    let size = usize::from(large);
    let focused = app.works_on(eye);
    title(pen, area, eye, focused);

    let big_area = Rect { y: area.y + 1, height: BIG_ROWS[size].min(area.height.saturating_sub(1)), ..area };
    let before = app.in_front_of(eye);
    let beside = area.width.saturating_sub(big::COLUMNS);
    let dial_area = Rect { x: area.x + big::COLUMNS, width: beside, height: DIAL_ROWS[size], ..area };
    big::draw(pen, big_area, app, eye);
    if !before.occluded {
        dial::draw(pen, dial_area, app, eye);
    }

    // where rows are short the facts give way, and the strip to warnings: these and what is in the cells must be seen
    let cell_rows = cells::rows(app, area.width, large);
    let warning_rows = warning_rows(app, area.width);
    let beside_cells = area.height.saturating_sub(1 + BIG_ROWS[size] + cell_rows);
    let strip_rows = if beside_cells >= strip::ROWS + warning_rows { strip::ROWS } else { 0 };
    let fact_rows = (beside_cells - strip_rows).min(FACT_ROWS[size]).max(warning_rows);
    let facts_area = Rect { y: big_area.bottom(), height: fact_rows, ..area }.intersection(area);
    let strip_area = Rect { y: facts_area.bottom(), height: strip_rows, ..area }.intersection(area);
    let cells_area = Rect { y: strip_area.bottom(), height: cell_rows, ..area }.intersection(area);
    facts::draw(pen, facts_area, app, eye);
    if strip_rows > 0 {
        strip::draw(pen, strip_area, app, eye);
    }
    cells::draw(pen, cells_area, app, eye);
}

fn title(pen: &mut Pen<'_>, area: Rect, eye: Eye, focused: bool) {
    let name = format!("{eye} eye").to_uppercase();
    let (pointer, style) = if focused { (pen.glyphs.pointer, pen.theme.focus) } else { (" ", pen.theme.title) };
    pen.text(area, 0, 0, &format!("{pointer}{name} "), style);
    let title = Rect { width: area.width.min(big::COLUMNS), ..row_of(area, 0) };
    pen.clickable(title, Target::Dial(eye));
}
