//! The drills: which are due with how the last sitting went, and one item at a time.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::drill_page::{Asking, BAR, DrillLine, DrillRow, DrillsPage};
use super::super::keys::PracticeAction;
use super::super::ui::Target;
use super::pen::Pen;
use super::records;

/// Columns at which level, bar, day and what it is about stand.
const COLUMNS: [u16; 5] = [1, 18, 21, 33, 45];

/// Draws the page.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App, page: &DrillsPage, chosen: usize) {
    match page {
        DrillsPage::List(rows) => list(pen, area, app, rows, chosen),
        DrillsPage::Asking(asking) => asked(pen, area, app, asking),
    }
}

fn list(pen: &mut Pen<'_>, area: Rect, app: &App, rows: &[DrillRow], chosen: usize) {
    pen.heading(area, "drills, what is due first", true);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let heads = ["drill", "at", "last time", "due", ""];
    for (head, column) in heads.iter().zip(COLUMNS) {
        pen.text(room, 0, column, head, pen.theme.quiet);
    }
    let room = Rect { y: room.y + 1, height: room.height.saturating_sub(1), ..room };
    app.page_rows.set(room.height);
    let first = (chosen + 1).saturating_sub(usize::from(room.height).max(1));
    for (nth, row) in rows.iter().enumerate().skip(first).take(usize::from(room.height)) {
        let at = (nth - first) as u16;
        let style = if nth == chosen { pen.theme.focus } else { pen.theme.text };
        let pointer = if nth == chosen { pen.glyphs.pointer } else { " " };
        pen.text(room, at, 0, pointer, style);
        let [name, level, bar, due, about] = cells(row);
        for (cell, column) in [name, level, bar, due].iter().zip(COLUMNS) {
            pen.text(room, at, column, cell, style);
        }
        pen.text(room, at, COLUMNS[4], &about, pen.theme.quiet);
        pen.clickable(Rect { y: room.y + at, height: 1, ..room }, Target::Row(nth, None));
    }
}

fn cells(row: &DrillRow) -> [String; 5] {
    let bar = |right: u32| format!("{}{}", "#".repeat(right as usize), ".".repeat((BAR - right) as usize));
    let drill = row.skill.drill;
    [
        drill.name().to_owned(),
        row.skill.level.number().to_string(),
        row.right.map(bar).unwrap_or_default(),
        row.due.clone(),
        drill.about().to_owned(),
    ]
}

fn asked(pen: &mut Pen<'_>, area: Rect, app: &App, asking: &Asking) {
    pen.heading(area, &asking.heading(), true);
    pen.text(area, 1, 1, &asking.marks(), pen.theme.quiet);
    let room = Rect { y: area.y + 3, height: area.height.saturating_sub(4), ..area };
    app.page_rows.set(room.height);
    let (lines, shown) = (asking.lines(), usize::from(room.height));
    for (at, line) in lines.iter().skip(asking.top).take(shown).enumerate() {
        let (text, style) = match line {
            DrillLine::Gap => continue,
            DrillLine::Plain(text) => (text, pen.theme.text),
            DrillLine::Right(text) => (text, pen.theme.title),
            DrillLine::Wrong(text) => (text, pen.theme.warning),
        };
        pen.text(room, at as u16, 1, text, style);
    }
    if asking.top + shown < lines.len() {
        records::goes_on(pen, area, app);
    }
    let foot = Rect { y: area.y + area.height.saturating_sub(1), height: 1, ..area };
    pen.text(foot, 0, 1, &goes_on_by(app, asking), pen.theme.quiet);
}

fn goes_on_by(app: &App, asking: &Asking) -> String {
    let key = app.settings.keys.key_of(PracticeAction::PracticeTake);
    let does = match (asking.typed.is_some(), asking.is_over()) {
        (false, _) => "types the answer",
        (true, false) => "the next one",
        (true, true) => "back to the drills",
    };
    format!("{key} {does}")
}

/// The same in words.
pub fn in_words(app: &App, page: &DrillsPage, chosen: usize) -> Vec<String> {
    match page {
        DrillsPage::List(rows) => {
            let line = |(nth, row): (usize, &DrillRow)| {
                let pointer = if nth == chosen { "chosen: " } else { "" };
                let [name, level, bar, due, about] = cells(row);
                format!("{pointer}{name}, level {level}, {bar} due {due}: {about}")
            };
            let rows = rows.iter().enumerate().map(line);
            ["drills, what is due first".to_owned()].into_iter().chain(rows).collect()
        }
        DrillsPage::Asking(asking) => {
            let said = asking.lines().into_iter().filter_map(|line| match line {
                DrillLine::Gap => None,
                DrillLine::Plain(text) | DrillLine::Right(text) | DrillLine::Wrong(text) => Some(text),
            });
            [asking.heading(), asking.marks()].into_iter().chain(said).chain([goes_on_by(app, asking)]).collect()
        }
    }
}
