//! Earlier exams: the list, and the record of one of them as text.

use crate::optics::Eyes;
use crate::session::{ExamLine, OpenedRecord};
use ratatui::layout::Rect;

use super::super::app::App;
use super::super::keys::ListsAction;
use super::super::page::Records;
use super::super::ui::Target;
use super::glasses;
use super::pen::Pen;

/// From this width on the addition and the box have columns of their own.
const WIDE: u16 = 110;

/// Draws what is open: the list, or one record.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, records: &Records) {
    match (&records.open, records.glasses_shown()) {
        (Some(open), Some(form)) => glasses::draw(pen, area, app, form, open.order.as_deref()),
        (Some(open), None) => record(pen, area, app, open, records.top),
        (None, _) => list(pen, area, app, records),
    }
}

fn list(pen: &mut Pen<'_>, area: Rect, app: &App, records: &Records) {
    let title = match (records.list.len(), records.search.as_str()) {
        (1, "") => "1 exam".to_owned(),
        (count, "") => format!("{count} exams, the latest first"),
        (count, search) => format!("{count} of {} exams, with {search}", records.of),
    };
    pen.heading(area, &title, true);
    let mut room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    if records.list.is_empty() {
        let text = if app.session.lasts() { "No exam is kept yet." } else { "Nothing is saved: there is no logbook." };
        pen.text(room, 0, 1, text, pen.theme.quiet);
        return;
    }
    let wide = area.width >= WIDE;
    let heads =
        ["exam", "began", "label", "", "right eye", "left eye", "addition", "outcome", "box"].map(str::to_owned);
    row(pen, room, 0, wide, &heads, pen.theme.quiet);
    room = Rect { y: room.y + 1, height: room.height.saturating_sub(1), ..room };
    // the chosen one takes a second row where the screen is narrow
    let height = usize::from(room.height).saturating_sub(usize::from(!wide));
    let first = (records.chosen + 1).saturating_sub(height.max(1));
    let mut at = 0;
    for (number, exam) in records.list.iter().enumerate().skip(first) {
        if at >= room.height {
            break;
        }
        let line = app.session.line(*exam, app.ui.form);
        let chosen = number == records.chosen;
        let style = if chosen { pen.theme.focus } else { pen.theme.text };
        row(pen, room, at, wide, &cells(&line, records.current), style);
        let pointer = if chosen { pen.glyphs.pointer } else { " " };
        pen.text(room, at, 0, pointer, style);
        pen.clickable(Rect { y: room.y + at, height: 1, ..room }, Target::Row(number, None));
        at += 1;
        if chosen && !wide {
            let known = |what: &str, text: &str| if text.is_empty() { String::new() } else { format!("{what}{text}") };
            let (addition, outcome) = (known(", addition ", &line.addition), known(", ", &line.outcome));
            pen.text(room, at, 6, &format!("box {}{addition}{outcome}", line.box_name), pen.theme.quiet);
            at += 1;
        }
    }
}

fn cells(line: &ExamLine, current: u64) -> [String; 9] {
    let Eyes { right, left } = line.written.clone();
    let standing = match (line.closed, line.exam == current) {
        (true, _) => "closed",
        (false, true) => "now",
        (false, false) => "open",
    };
    let known = |text: &str| if text.is_empty() { "–".to_owned() } else { text.to_owned() };
    let (label, addition) = (known(&line.label), known(&line.addition));
    [
        line.exam.to_string(),
        line.opened.clone(),
        label,
        standing.to_owned(),
        known(&right),
        known(&left),
        addition,
        known(&line.outcome),
        line.box_name.clone(),
    ]
}

/// Widths of the columns, each with its space.
const WIDTHS: [u16; 9] = [6, 17, 12, 7, 18, 18, 9, 17, 30];

fn row(pen: &mut Pen<'_>, area: Rect, at: u16, wide: bool, cells: &[String; 9], style: ratatui::style::Style) {
    let mut column = 1;
    for (cell, width) in cells.iter().zip(WIDTHS).take(if wide { 9 } else { 6 }) {
        let place = Rect { width: area.width.min(column + width - 1), ..area };
        pen.text(place, at, column, cell, style);
        column += width;
    }
}

fn record(pen: &mut Pen<'_>, area: Rect, app: &App, open: &OpenedRecord, top: usize) {
    let can = match (&open.held, open.closed) {
        (Some(holder), _) => format!("can only be read: open elsewhere, in {holder}"),
        (None, true) => "closed: it can be amended, not changed".to_owned(),
        (None, false) => "not closed yet".to_owned(),
    };
    pen.heading(area, &format!("exam {}, {can}", open.exam), true);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    app.page_rows.set(room.height);
    let shown = usize::from(room.height);
    let top = top.min(open.lines.len().saturating_sub(shown));
    for (at, line) in open.lines.iter().skip(top).take(shown).enumerate() {
        pen.text(room, at as u16, 2, line, pen.theme.text);
    }
    if top + shown < open.lines.len() {
        goes_on(pen, area, app);
    }
}

/// Says at the upper right that there is more below.
pub fn goes_on(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let more = format!(" {} more below ", app.settings.keys.key_of(ListsAction::ChooseNext));
    let width = more.chars().count() as u16;
    pen.text(area, 0, area.width.saturating_sub(width + 1), &more, pen.theme.key);
}
