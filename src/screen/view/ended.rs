//! How an exam of a practice eye went, and the step that cost most with the cells before and after it.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::ended_page::{EndedLine, EndedPage, Moments};
use super::super::keys::PracticeAction;
use super::super::words;
use super::pen::Pen;
use super::{records, strip};
use crate::frame::FittedFrame;
use crate::practice::feedback::costliest::Why;

/// Columns of the table before each of its figures.
const COLUMNS: [u16; 4] = [2, 14, 34, 54];
/// Columns of the cells: no wider than they are on the widest screen of one eye.
const STRIP: u16 = 72;

/// Draws the page.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, page: &EndedPage) {
    match page.costliest.as_deref().filter(|_| page.replays) {
        Some(moments) => replay(pen, area, app, moments),
        None => said(pen, area, app, page),
    }
}

fn said(pen: &mut Pen<'_>, area: Rect, app: &App, page: &EndedPage) {
    pen.heading(area, heading(page), true);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    app.page_rows.set(room.height);
    let lines = page.lines(app.ui.form, app.settings.acuity);
    let shown = usize::from(room.height);
    let top = page.top.min(lines.len().saturating_sub(shown));
    for (at, line) in lines.iter().skip(top).take(shown).enumerate() {
        let at = at as u16;
        match line {
            EndedLine::Gap => {}
            EndedLine::Heading(heading) => {
                pen.text(room, at, 1, heading, pen.theme.title);
            }
            EndedLine::Row(cells) => {
                let is_head = cells[0].is_empty();
                let style = if is_head { pen.theme.quiet } else { pen.theme.text };
                for (cell, column) in cells.iter().zip(COLUMNS) {
                    pen.text(room, at, column, cell, style);
                }
            }
            EndedLine::Said(text) => {
                pen.text(room, at, 2, text, pen.theme.text);
            }
        }
    }
    if top + shown < lines.len() {
        records::goes_on(pen, area, app);
    }
}

fn heading(page: &EndedPage) -> &'static str {
    if page.replays { "practice: the step that cost most" } else { "practice: how it went" }
}

/// The cells before the step, and after it.
fn replay(pen: &mut Pen<'_>, area: Rect, app: &App, moments: &Moments) {
    pen.heading(area, "practice: the step that cost most", true);
    let room = Rect { y: area.y + 2, height: area.height.saturating_sub(2), ..area };
    let mut row = 0;
    for line in EndedPage::of_the_step(moments, app.ui.form, app.settings.acuity) {
        pen.text(room, row, 2, &line, pen.theme.text);
        row += 1;
    }
    for (name, power, fitted) in stood(moments, app) {
        row += 1;
        pen.text(room, row, 1, &format!("{name}: {power}"), pen.theme.title);
        let cells = Rect { y: room.y + row + 1, width: room.width.min(STRIP), ..room };
        let rows = strip::rows_of(fitted, cells.width).min(room.height.saturating_sub(row + 1));
        strip::draw_frame(pen, Rect { height: rows, ..cells }, fitted, moments.costliest.eye);
        row += 1 + rows;
    }
    let back = app.settings.keys.key_of(PracticeAction::PracticeReplay);
    pen.text(room, row + 1, 1, &format!("{back} back to how it went"), pen.theme.quiet);
}

/// What stood before the eye before the step and after it, each with its name.
fn stood<'a>(moments: &'a Moments, app: &App) -> [(&'static str, String, &'a FittedFrame); 2] {
    let eye = moments.costliest.eye;
    let net = |fitted: &FittedFrame| words::power(fitted.in_front_of(eye).net, app.ui.form);
    let names = match moments.costliest.why {
        Why::WentAway { .. } => ["before it", "after it"],
        Why::NoNearer { .. } => ["when these looks began", "when they ended"],
    };
    let [first, last] = [&moments.before, &moments.after];
    [(names[0], net(first), first), (names[1], net(last), last)]
}

/// The same in words.
pub fn in_words(app: &App, page: &EndedPage) -> Vec<String> {
    let mut lines = vec![heading(page).to_owned()];
    if let Some(moments) = page.costliest.as_deref().filter(|_| page.replays) {
        lines.extend(EndedPage::of_the_step(moments, app.ui.form, app.settings.acuity));
        for (name, power, fitted) in stood(moments, app) {
            lines.push(format!("{name}: {power}"));
            lines.extend(strip::frame_in_words(fitted, moments.costliest.eye));
        }
        return lines;
    }
    lines.extend(page.lines(app.ui.form, app.settings.acuity).into_iter().filter_map(|line| match line {
        EndedLine::Gap => None,
        EndedLine::Heading(heading) => Some(heading.to_owned()),
        EndedLine::Row(cells) => Some(cells.join("  ").trim().to_owned()),
        EndedLine::Said(text) => Some(text),
    }));
    lines
}
