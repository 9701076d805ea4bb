//! The Frame screen, composed. One panel a file; a panel draws the state and keeps nothing. Where each stands says
//! [`layout`] alone.
//!
//! Panels about one eye are drawn with their eye, the others by `draw(pen, area, app)`.

mod belief;
pub mod box_room;
mod cells;
mod day;
mod details;
mod dial;
mod drawer;
mod drills;
mod ended;
mod eye;
mod facts;
pub mod figures;
mod glasses;
mod guide;
mod head;
mod hints;
pub mod layout;
mod lesson;
mod line;
pub mod pen;
mod plot;
mod practice;
mod prescription;
mod proposals;
mod ready_made;
mod records;
mod said;
mod sheet;
pub mod sight;
mod strip;
mod trail;
pub mod tray;

use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::app::App;
use super::page::Page;
use super::settings::Characters;
use super::theme::{Glyphs, Theme};
use super::ui::Panel;
use crate::optics::Eye;
use layout::{Asked, LEAST, Part, Plan};
use pen::{Hits, Pen};

pub use layout::fits;

/// What is open instead of the frame, as lines of text: a page, a sheet, the tray, the trail, the list of procedures.
fn opened(app: &App) -> Vec<String> {
    const ROOM: Rect = Rect { x: 0, y: 0, width: 100, height: 60 };
    // rules and frames are told from signs by their characters, which in ASCII are the same
    let glyphs = Glyphs::chosen(Characters::Unicode);
    let mut buffer = Buffer::empty(ROOM);
    let mut pen = Pen {
        buffer: &mut buffer,
        theme: Theme::shown(app.ui.theme, app.settings.colours),
        glyphs,
        hits: Hits::default(),
    };
    if let Some(open) = app.ui.sheet {
        return sheet::in_words(&pen, app, open);
    }
    match (&app.ui.page, app.ui.panel) {
        (Some(Page::Details(row)), _) => details::draw(&mut pen, ROOM, app, *row),
        (Some(Page::Records(open)), _) => records::draw(&mut pen, ROOM, app, open),
        (Some(Page::Box(page)), _) => return box_room::in_words(app, page),
        (Some(Page::Day(page)), _) => return day::in_words(app, page),
        (Some(Page::Sight), _) => return sight::page::in_words(app),
        (Some(Page::Practice(page)), _) => return practice::in_words(app, page),
        (None, Panel::Drawer) => return drawer::in_words(app),
        (None, Panel::Trail) => trail::table(&mut pen, ROOM, app),
        (None, Panel::Choosing) => guide::draw(&mut pen, ROOM, app, false),
        (None, Panel::Cells | Panel::Proposals | Panel::Guide) => {}
    }
    let rows = buffer.content().chunks(usize::from(ROOM.width));
    let text = |row: &[Cell]| row.iter().map(Cell::symbol).collect::<String>();
    let is_frame = |c: char| c.is_whitespace() || c == '─';
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
    lines.extend(lesson::in_words(app));
    lines.extend(app.ui.prompt.as_ref().map(|prompt| line::in_words(app, prompt)));
    lines.into_iter().map(|line| glyphs.spell(&line)).collect()
}

/// Draws the whole screen and returns what can be clicked where.
pub fn draw(app: &App, glyphs: &'static Glyphs, buffer: &mut Buffer) -> Hits {
    let theme = Theme::shown(app.ui.theme, app.settings.colours);
    let whole = buffer.area;
    buffer.set_style(whole, theme.text);
    let mut pen = Pen { buffer, theme, glyphs, hits: Hits::default() };
    if !fits(whole) {
        too_small(&mut pen, whole);
        return pen.hits;
    }
    // whoever learns reads what to do below everything else
    let strip = lesson::rows(app, whole);
    let area = Rect { height: whole.height - strip, ..whole };
    lesson::draw(&mut pen, Rect { y: area.bottom(), height: strip, ..whole }, app);
    let plan = plan(&pen, area, app);
    match app.ui.box_page() {
        Some(page) => box_room::head(&mut pen, plan.head, app, page),
        None => head::draw(&mut pen, plan.head, app),
    }
    match &app.ui.page {
        Some(Page::Details(row)) => details::draw(&mut pen, plan.page, app, *row),
        Some(Page::Records(open)) => records::draw(&mut pen, plan.page, app, open),
        Some(Page::Box(page)) => box_room::draw(&mut pen, plan.page, app, page),
        Some(Page::Day(page)) => day::draw(&mut pen, plan.page, app, page),
        Some(Page::Sight) => sight::page::draw(&mut pen, plan.page, app),
        Some(Page::Practice(page)) => practice::draw(&mut pen, plan.page, app, page),
        None => frame(&mut pen, &plan, app),
    }
    if let Some(open) = app.ui.sheet {
        sheet::draw(&mut pen, plan.sheet, &plan.sheet_rows, app, open);
        return pen.hits;
    }
    let says_something = app.ui.prompt.is_some() || app.ui.says.is_some();
    if plan.line != plan.hints || !says_something {
        match lesson::no_room(app, whole) {
            Some(why) => {
                pen.text(plan.hints, 0, 1, &why, pen.theme.warning);
            }
            None => hints::draw(&mut pen, plan.hints, app),
        }
    }
    if says_something {
        line::draw(&mut pen, plan.line, app);
    }
    pen.hits
}

/// The eyes, and the panels below them.
fn frame(pen: &mut Pen<'_>, plan: &Plan, app: &App) {
    for eye in Eye::BOTH {
        eye::draw(pen, &plan.eyes[eye], plan.face, app, eye);
    }
    for row in 0..plan.divider.height {
        pen.text(plan.divider, row, 0, pen.glyphs.divider, pen.theme.quiet);
    }
    if !plan.keys.is_empty() {
        sheet::keys(pen, plan.keys, app);
    }
    let has_trail = plan.panels.iter().any(|(part, _)| *part == Part::Trail);
    for (part, area) in &plan.panels {
        match part {
            Part::Guide => guide::draw(pen, *area, app, !has_trail),
            Part::Stacks => proposals::draw(pen, *area, app),
            Part::Tray => drawer::draw(pen, *area, app),
            Part::Trail => trail::draw(pen, *area, app),
        }
    }
}

/// Whether the guide is to be seen: the keys work on it, or a procedure runs.
fn leads(app: &App) -> bool {
    app.ui.panel.is_of_the_guide() || app.is_led()
}

/// The panels that have something to say, the one in use first.
fn parts(app: &App) -> Vec<Part> {
    // the list of procedures is read whole
    if app.ui.panel == Panel::Choosing {
        return vec![Part::Guide];
    }
    let in_use = match app.ui.panel {
        Panel::Guide | Panel::Choosing => Some(Part::Guide),
        Panel::Proposals => Some(Part::Stacks),
        Panel::Drawer => Some(Part::Tray),
        Panel::Trail => Some(Part::Trail),
        Panel::Cells => None,
    };
    let guide = leads(app).then_some(Part::Guide);
    let stacks = app.offers().map(|_| Part::Stacks);
    let trail = (!app.state().trail.is_empty()).then_some(Part::Trail);
    let mut parts: Vec<Part> = in_use.into_iter().chain(guide).chain(stacks).collect();
    // what was tried is told by the guide too
    let last = if guide.is_some() { [Some(Part::Tray), trail] } else { [trail, Some(Part::Tray)] };
    parts.extend(last.into_iter().flatten());
    let mut seen = Vec::new();
    parts.retain(|part| {
        let is_new = !seen.contains(part);
        seen.push(*part);
        is_new
    });
    parts
}

fn plan(pen: &Pen<'_>, screen: Rect, app: &App) -> Plan {
    let parts = parts(app);
    layout::plan(&Asked {
        screen,
        ascii: pen.glyphs.ascii,
        has_no_cylinder: Eye::BOTH.into_iter().all(|eye| !eye::has_cylinder(app, eye)),
        is_busy_below: leads(app) || app.ui.panel == Panel::Trail,
        is_full_below: app.ui.panel == Panel::Choosing,
        warning_rows: &|columns| facts::warning_rows(app, columns),
        cell_rows: &|columns| strip::rows(app, columns),
        parts: &parts,
        rows_of: &|part, columns| match part {
            Part::Guide => guide::rows(pen, app, columns),
            Part::Stacks => proposals::rows(pen, app, columns),
            Part::Tray => drawer::rows(pen, app, columns),
            Part::Trail => trail::rows(app),
        },
    })
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
