//! The Frame screen, composed. One panel a file; a panel draws the state and keeps nothing.
//!
//! Panels about one eye are drawn by `draw(pen, area, app, eye)`, the others by `draw(pen, area, app)`.
//!
//! Large (from 110x34, here 120x36):
//!
//! ```text
//! head ────────────────────────────────────────────────────────────────────────────────────┬──────────────────────────────
//! title RIGHT           ⡠⠤⠤⡀        │ title LEFT            ⡠⠤⠤⡀                          │ drawer
//! ▄▄▄ large              dial       │ ▄▄▄ large              dial                         │
//! ▄▄▄ net power         ⠑⠤⠤⠊        │ ▄▄▄ net power         ⠑⠤⠤⠊                          │ (the guide, when it leads,
//! facts: wanted, marks, cornea, prism│ facts                                               │  stands above it)
//! strip: eye, cells outward to scale │ strip                                               │
//! cells: rear to front, then the hand│ cells                                               │
//! proposals ──────────────────────────────────────────────  trail, once there is one ──────│
//! the typed line, or what was done                                                         │
//! hints ───────────────────────────────────────────────────────────────────────────────────┴──────────────────────────────
//! ```
//!
//! Small (from 60x20, here 80x24): the same without the column on the right; below the eyes stands the guide, the trail, the
//! proposals or the drawer, whichever is in use (the facts of the eyes give way to the first two, warnings never), and the last row holds the typed line, what was done, or the hints.

mod belief;
mod big;
mod cells;
mod details;
mod dial;
mod drawer;
mod eye;
mod facts;
mod guide;
mod head;
mod hints;
mod line;
pub mod pen;
mod plot;
mod prescription;
mod proposals;
mod records;
mod sheet;
mod strip;
mod trail;

use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::app::App;
use super::page::Page;
use super::settings::Characters;
use super::theme::{Glyphs, Theme};
use super::ui::Panel;
use crate::optics::{Eye, Eyes};
use pen::{Hits, Pen};
use trail::TABLE_WIDTH;

/// The least screen that can be worked with.
pub const LEAST: (u16, u16) = (60, 20);
const LARGE: (u16, u16) = (110, 34);
const SIDE_COLUMN: u16 = 36;
/// The guide has at least these rows, so that the drawer under it does not move with every question.
const GUIDE_ROWS: u16 = 24;
const LEAST_DRAWER_ROWS: u16 = 3;
/// What is below the eyes has at least these rows, but where the eyes have more to warn of.
const LEAST_ROWS_BELOW: u16 = 3;
const HEADING_AND_A_ROW: u16 = 2;

/// Where everything stands.
struct Plan {
    head: Rect,
    eyes: Eyes<Rect>,
    side: Option<Rect>,
    below: Rect,
    line: Rect,
    hints: Rect,
}

/// Whether the exam can be drawn in an area.
pub fn fits(area: Rect) -> bool {
    area.width >= LEAST.0 && area.height >= LEAST.1
}

/// What is open instead of the frame, as lines of text: a page, a sheet, the drawer, the trail, the list of procedures.
fn opened(app: &App) -> Vec<String> {
    const ROOM: Rect = Rect { x: 0, y: 0, width: 100, height: 60 };
    // rules and frames are told from signs by their characters, which in ASCII are the same
    let glyphs = Glyphs::chosen(Characters::Unicode);
    let mut buffer = Buffer::empty(ROOM);
    let mut pen = Pen { buffer: &mut buffer, theme: Theme::named(app.ui.theme), glyphs, hits: Hits::default() };
    match (&app.ui.page, app.ui.panel) {
        _ if app.ui.sheet.is_some() => app.ui.sheet.into_iter().for_each(|open| sheet::draw(&mut pen, ROOM, app, open)),
        (Some(Page::Details(row)), _) => details::draw(&mut pen, ROOM, app, *row),
        (Some(Page::Records(open)), _) => records::draw(&mut pen, ROOM, app, open),
        (None, Panel::Drawer) => drawer::draw(&mut pen, ROOM, app),
        (None, Panel::Trail) => trail::draw(&mut pen, ROOM, app),
        (None, Panel::Choosing) => guide::draw(&mut pen, ROOM, app),
        (None, Panel::Cells | Panel::Proposals | Panel::Guide) => {}
    }
    let rows = buffer.content().chunks(usize::from(ROOM.width));
    let text = |row: &[Cell]| row.iter().map(Cell::symbol).collect::<String>();
    let is_frame = |c: char| c.is_whitespace() || matches!(c, '│' | '─' | '┌' | '┐' | '└' | '┘');
    rows.map(text).map(|row| row.trim_matches(is_frame).to_owned()).filter(|row| !row.is_empty()).collect()
}

/// Everything that the screen says now, line by line, without a drawing.
pub fn in_words(app: &App, glyphs: &'static Glyphs) -> Vec<String> {
    let mut lines = vec![app.heading()];
    for eye in Eye::BOTH {
        lines.extend(eye::in_words(app, eye));
    }
    lines.extend(proposals::in_words(app));
    if leads(app) {
        lines.extend(guide::in_words(app));
    }
    lines.extend(opened(app));
    lines.extend(app.ui.prompt.as_ref().map(|prompt| line::in_words(app, prompt)));
    lines.into_iter().map(|line| glyphs.spell(&line)).collect()
}

/// Draws the whole screen and returns what can be clicked where.
pub fn draw(app: &App, glyphs: &'static Glyphs, buffer: &mut Buffer) -> Hits {
    let theme = Theme::named(app.ui.theme);
    let area = buffer.area;
    buffer.set_style(area, theme.text);
    let mut pen = Pen { buffer, theme, glyphs, hits: Hits::default() };
    if !fits(area) {
        too_small(&mut pen, area);
        return pen.hits;
    }
    let plan = plan(area, app);
    head::draw(&mut pen, plan.head, app);
    let whole = Rect { y: area.y + 1, height: plan.line.y.saturating_sub(area.y + 1), ..area };
    match &app.ui.page {
        Some(Page::Details(row)) => details::draw(&mut pen, whole, app, *row),
        Some(Page::Records(open)) => records::draw(&mut pen, whole, app, open),
        None => {
            for eye in Eye::BOTH {
                eye::draw(&mut pen, plan.eyes[eye], app, eye);
            }
            below(&mut pen, &plan, app);
        }
    }
    if plan.line != plan.hints {
        hints::draw(&mut pen, plan.hints, app);
        line::draw(&mut pen, plan.line, app);
    } else if app.ui.prompt.is_some() || app.ui.says.is_some() {
        line::draw(&mut pen, plan.line, app);
    } else {
        hints::draw(&mut pen, plan.hints, app);
    }
    if let Some(open) = app.ui.sheet {
        sheet::draw(&mut pen, area, app, open);
    }
    pen.hits
}

/// Whether the guide is to be seen: the keys work on it, or a procedure runs.
fn leads(app: &App) -> bool {
    app.ui.panel.is_of_the_guide() || app.is_led()
}

fn below(pen: &mut Pen<'_>, plan: &Plan, app: &App) {
    if let Some(side) = plan.side {
        beside(pen, side, app);
        if app.state().trail.is_empty() {
            proposals::draw(pen, plan.below, app);
        } else {
            let trail = plan.below.width * 2 / 5;
            let left = Rect { width: plan.below.width - trail - 1, ..plan.below };
            proposals::draw(pen, left, app);
            trail::draw(pen, Rect { x: left.right() + 1, width: trail, ..plan.below }, app);
        }
    } else if app.ui.panel == Panel::Trail {
        let plot = plan.below.width.saturating_sub(TABLE_WIDTH);
        plot::draw(pen, Rect { width: plot, ..plan.below }, app);
        trail::table(pen, Rect { x: plan.below.x + plot, width: TABLE_WIDTH, ..plan.below }, app);
    } else if leads(app) && !app.ui.panel.is_of_lenses() {
        guide::draw(pen, plan.below, app);
    } else if app.ui.panel == Panel::Proposals || app.ui.panel == Panel::Cells && app.offers().is_some() {
        proposals::draw(pen, plan.below, app);
    } else {
        drawer::draw(pen, plan.below, app);
    }
}

/// The column on the right: the drawer, under the guide when that leads, or the trail alone.
fn beside(pen: &mut Pen<'_>, side: Rect, app: &App) {
    if app.ui.panel == Panel::Trail {
        let plot = side.height / 2;
        plot::draw(pen, Rect { height: plot, ..side }, app);
        trail::table(pen, Rect { y: side.y + plot, height: side.height - plot, ..side }, app);
        return;
    }
    if !leads(app) {
        drawer::draw(pen, side, app);
        return;
    }
    let guide = guide::rows(pen, app, side.width).max(GUIDE_ROWS).min(side.height);
    guide::draw(pen, Rect { height: guide, ..side }, app);
    let drawer = Rect { y: side.y + guide, height: side.height - guide, ..side };
    if drawer.height >= LEAST_DRAWER_ROWS {
        drawer::draw(pen, drawer, app);
    }
}

fn plan(area: Rect, app: &App) -> Plan {
    let large = area.width >= LARGE.0 && area.height >= LARGE.1;
    let side_width = if large { SIDE_COLUMN } else { 0 };
    let main = Rect { width: area.width - side_width, ..area };
    let bottom = if large { 2 } else { 1 };
    let eye_width = (main.width - 1) / 2;
    let most = area.height.saturating_sub(1 + bottom + LEAST_ROWS_BELOW);
    let least = eye::least_rows(app, eye_width).min(area.height.saturating_sub(1 + bottom + HEADING_AND_A_ROW));
    let below_needs_rows = !large && (leads(app) || app.ui.panel == Panel::Trail);
    let eye_rows = eye::rows(app, eye_width, large, !below_needs_rows).min(most).max(least);
    let right_eye = Rect { x: area.x, y: area.y + 1, width: eye_width, height: eye_rows };
    let left_eye = Rect { x: right_eye.right() + 1, ..right_eye };
    let hints = Rect { y: area.bottom() - 1, height: 1, ..area };
    let line = if large { Rect { y: area.bottom() - 2, ..hints } } else { hints };
    let below = Rect { y: right_eye.bottom(), height: line.y - right_eye.bottom(), ..main };
    let side =
        large.then(|| Rect { x: main.right() + 1, y: area.y + 1, width: side_width - 1, height: line.y - area.y - 1 });
    Plan { head: Rect { height: 1, ..area }, eyes: Eyes::new(right_eye, left_eye), side, below, line, hints }
}

fn too_small(pen: &mut Pen<'_>, area: Rect) {
    let lines = [
        "too small".to_owned(),
        format!("{}x{}", area.width, area.height),
        format!("needs {}x{}", LEAST.0, LEAST.1),
        "nothing is lost".to_owned(),
        "no key works but to quit".to_owned(),
    ];
    for (row, text) in lines.iter().enumerate() {
        pen.text(area, row as u16, 0, text, Style::new());
    }
}
