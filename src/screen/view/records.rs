//! Earlier exams: the list, and the record of one of them as text.

use crate::optics::Eyes;
use crate::session::{ExamLine, ListedExam, OpenedRecord};
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
    let own = records.list.len() - records.of_others;
    let title = match (own, records.of_others, records.search.as_str()) {
        (1, 0, "") => "1 exam".to_owned(),
        (own, 0, "") => format!("{own} exams, the latest first"),
        (own, others, "") => format!("{own} exams, the latest first, then {others} of other seats"),
        (_, _, search) => format!("{} of {} exams, with {search}", records.list.len(), records.of),
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
    let columns = Columns::of(records, wide);
    row(pen, room, 0, columns, &heads, pen.theme.quiet);
    room = Rect { y: room.y + 1, height: room.height.saturating_sub(1), ..room };
    // the chosen one takes a second row where the screen is narrow
    let height = usize::from(room.height).saturating_sub(usize::from(!wide));
    let first = (records.chosen + 1).saturating_sub(height.max(1));
    let mut at = 0;
    for (number, exam) in records.list.iter().enumerate().skip(first) {
        if at >= room.height {
            break;
        }
        let line = app.session.line(exam, app.ui.form);
        let chosen = number == records.chosen;
        let style = if chosen { pen.theme.focus } else { pen.theme.text };
        let is_current = *exam == ListedExam::Own(records.current);
        row(pen, room, at, columns, &cells(&line, is_current), style);
        let pointer = if chosen { pen.glyphs.pointer } else { " " };
        pen.text(room, at, 0, pointer, style);
        pen.clickable(Rect { y: room.y + at, height: 1, ..room }, Target::Row(number, None));
        at += 1;
        if chosen && !wide {
            let known = |what: &str, text: &str| if text.is_empty() { String::new() } else { format!("{what}{text}") };
            let (addition, outcome) = (known(", addition ", &line.addition), known(", ", &line.outcome));
            let began = if columns.began < BEGAN { format!("began {}, ", line.opened) } else { String::new() };
            pen.text(room, at, 6, &format!("{began}box {}{addition}{outcome}", line.box_name), pen.theme.quiet);
            at += 1;
        }
    }
}

fn cells(line: &ExamLine, is_current: bool) -> [String; 9] {
    let Eyes { right, left } = line.written.clone();
    let standing = match (line.closed, is_current) {
        (true, _) => "closed",
        (false, true) => "now",
        (false, false) => "open",
    };
    let known = |text: &str| if text.is_empty() { "–".to_owned() } else { text.to_owned() };
    let (label, addition) = (known(&line.label), known(&line.addition));
    [
        line.exam.clone(),
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

/// Widths of the columns after number and beginning, each with its space.
const WIDTHS: [u16; 7] = [12, 7, 18, 18, 9, 17, 30];

/// Widths of the number of one's own exams and of the time an exam began, each with its space.
const NUMBER: u16 = 6;
const BEGAN: u16 = 17;
/// The width of the day alone.
const BEGAN_ON: u16 = 11;

/// The columns of a list.
#[derive(Debug, Clone, Copy)]
struct Columns {
    name: u16,
    began: u16,
    count: usize,
}

impl Columns {
    /// Names of exams of other seats are longer than numbers: on a narrow screen the time gives way to them, then the day, and
    /// never a power.
    fn of(records: &Records, wide: bool) -> Self {
        let name = NUMBER.max(records.longest_name + 1);
        let room_for_both = NUMBER + BEGAN - name.min(NUMBER + BEGAN);
        let began = match room_for_both {
            _ if wide => BEGAN,
            room if room >= BEGAN => BEGAN,
            room if room >= BEGAN_ON => BEGAN_ON,
            _ => 0,
        };
        Self { name, began, count: if wide { 9 } else { 6 } }
    }
}

fn row(pen: &mut Pen<'_>, area: Rect, at: u16, columns: Columns, cells: &[String; 9], style: ratatui::style::Style) {
    let mut column = 1;
    let widths = [columns.name, columns.began].into_iter().chain(WIDTHS);
    let cells = cells.iter().zip(widths).take(columns.count);
    for (nth, (cell, width)) in cells.enumerate().filter(|(_, (_, width))| *width > 0) {
        // the day of `2026-03-14 09:30`
        let is_day = nth == 1 && width == BEGAN_ON;
        let cell = if is_day { cell.split(' ').next().unwrap_or_default() } else { cell };
        let place = Rect { width: area.width.min(column + width - 1), ..area };
        pen.text(place, at, column, cell, style);
        column += width;
    }
}

fn record(pen: &mut Pen<'_>, area: Rect, app: &App, open: &OpenedRecord, top: usize) {
    let can = match (&open.exam, &open.held, open.closed) {
        (ListedExam::Elsewhere(_), ..) => "of another seat: it can only be read".to_owned(),
        (ListedExam::Own(_), Some(holder), _) => format!("can only be read: open elsewhere, in {holder}"),
        (ListedExam::Own(_), None, true) => "closed: it can be amended, not changed".to_owned(),
        (ListedExam::Own(_), None, false) => "not closed yet".to_owned(),
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
