//! What lies over the panels when asked for, never over the eyes: the keys that work now, the cautions, the prescription.

use ratatui::layout::Rect;
use ratatui::widgets::{Clear, Widget};

use super::super::app::App;
use super::super::decide::is_available;
use super::super::keys::{Binding, BoxAction, Context, TypingAction};
use super::super::ui::Sheet;
use super::layout::MOST_TEXT;
use super::pen::{Line, Pen, wrapped};
use super::prescription;
use super::records::goes_on;
use crate::exam::cautions::GENERAL;
use crate::optics::CylinderForm;

/// Columns between two columns of a sheet.
const BETWEEN: u16 = 2;
/// The least columns of one column of keys, and how many columns there are at most.
const LEAST_COLUMN: u16 = 37;
const MOST_COLUMNS: u16 = 3;

/// Draws the open sheet at the bottom of an area, in the first of the heights in which it is whole, or in the last.
pub fn draw(pen: &mut Pen<'_>, most: Rect, heights: &[u16], app: &App, open: Sheet) {
    let count = columns_of(open, most.width);
    let (lines, first) = lines(pen, app, open, column_width(most.width, count));
    let rows = 1 + lines.len().div_ceil(count.into()) as u16;
    let height = heights.iter().copied().find(|height| *height >= rows).unwrap_or(most.height);
    let area = Rect { y: most.bottom() - height, height, ..most };
    Clear.render(area, pen.buffer);
    pen.buffer.set_style(area, pen.theme.text);
    pen.heading(area, title(app, open), true);
    if in_columns(pen, area, &lines, first.into(), count) {
        goes_on(pen, area, app);
    }
}

/// Draws the keys that work now, where they have a panel of their own.
pub fn keys(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let count = columns_of(Sheet::Help(0), area.width);
    pen.heading(area, title(app, Sheet::Help(0)), false);
    let lines = help(app, pen, column_width(area.width, count).into());
    in_columns(pen, area, &lines, 0, count);
}

/// Draws lines below the heading of an area, down one column after the other, and says whether there are more.
fn in_columns(pen: &mut Pen<'_>, area: Rect, lines: &[Line], first: usize, count: u16) -> bool {
    let shown = usize::from(area.height.saturating_sub(1)).max(1);
    let fit = shown * usize::from(count);
    let first = first.min(lines.len().saturating_sub(fit));
    let width = column_width(area.width, count);
    // columns of one height
    let rows = if count > 1 { shown.min(lines.len().div_ceil(count.into())) } else { shown }.max(1);
    for (nth, line) in lines.iter().skip(first).take(fit).enumerate() {
        let x = area.x + 1 + (nth / rows) as u16 * (width + BETWEEN);
        let place = Rect { x, y: area.y + 1, width, height: area.height.saturating_sub(1) }.intersection(area);
        let mut column = 0;
        for (text, style) in line {
            column = pen.text(place, (nth % rows) as u16, column, text, *style);
        }
    }
    first + fit < lines.len()
}

fn columns_of(open: Sheet, width: u16) -> u16 {
    match open {
        Sheet::Help(_) => (width / (LEAST_COLUMN + BETWEEN)).clamp(1, MOST_COLUMNS),
        Sheet::Cautions | Sheet::Notes(_) | Sheet::Prescription(_) => 1,
    }
}

fn column_width(width: u16, count: u16) -> u16 {
    (width / count).saturating_sub(BETWEEN).min(MOST_TEXT)
}

fn title(app: &App, open: Sheet) -> &'static str {
    match open {
        Sheet::Help(_) => "keys that work now",
        Sheet::Cautions | Sheet::Notes(_) if app.ui.offers_kit => "before you start. Any other key goes on.",
        Sheet::Cautions | Sheet::Notes(_) => "before you start. Press any key.",
        Sheet::Prescription(_) => "prescription",
    }
}

/// What a sheet says, and the line from which on it is shown.
fn lines(pen: &Pen<'_>, app: &App, open: Sheet, width: u16) -> (Vec<Line>, u16) {
    let width = usize::from(width);
    match open {
        Sheet::Help(first) => (help(app, pen, width), first),
        Sheet::Cautions => (with_offer(pen, app, width, cautions(pen, width)), 0),
        Sheet::Notes(first) => (with_offer(pen, app, width, notes(pen, app, width)), first),
        Sheet::Prescription(first) => (prescription::whole(pen, app, width), first),
    }
}

/// What a sheet says, line by line.
pub fn in_words(pen: &Pen<'_>, app: &App, open: Sheet) -> Vec<String> {
    let (lines, _) = lines(pen, app, open, u16::MAX);
    let text = |line: &Line| line.iter().map(|(text, _)| text.as_str()).collect::<String>().trim().to_owned();
    let said = lines.iter().map(text).filter(|line| !line.is_empty());
    std::iter::once(title(app, open).to_owned()).chain(said).collect()
}

/// Every key that would do something on the screen underneath, under the headings of the key table.
fn help(app: &App, pen: &Pen<'_>, width: usize) -> Vec<Line> {
    let context = app.ui.context_underneath();
    let works: Vec<&Binding> = app
        .settings
        .keys
        .bindings()
        .iter()
        .filter(|binding| binding.contexts.contains(&context) && is_available(app, binding.action))
        .collect();
    let mut lines = Vec::new();
    if context == Context::Cells {
        let confirm = app.settings.keys.key_of(TypingAction::Confirm);
        let cylinder = match app.ui.form {
            CylinderForm::Minus => "-0.75x180",
            CylinderForm::Plus => "+0.75x90",
        };
        let text = format!("A sign or a digit starts a lens: -4 or {cylinder} or 3BU, then {confirm}.");
        lines.extend(wrapped(&text, width).into_iter().map(|line| vec![(line, pen.theme.text)]));
    }
    let mut groups: Vec<&str> = Vec::new();
    for binding in &works {
        if !groups.contains(&binding.group.as_str()) {
            groups.push(&binding.group);
        }
    }
    let keys_width = if width < usize::from(MOST_TEXT) * 3 / 4 { FEW_KEYS_WIDTH } else { KEYS_WIDTH };
    for group in groups {
        lines.push(vec![(group.to_owned(), pen.theme.title)]);
        for binding in works.iter().filter(|binding| binding.group == group) {
            let keys = binding.keys_in_words();
            let mut keys = wrapped(&keys, keys_width - 2).into_iter();
            let mut help = wrapped(&binding.help, width.saturating_sub(keys_width)).into_iter();
            loop {
                let (keys, help) = (keys.next(), help.next());
                if keys.is_none() && help.is_none() {
                    break;
                }
                let keys = format!(" {:<w$} ", keys.unwrap_or_default(), w = keys_width - 2);
                lines.push(vec![(keys, pen.theme.key), (help.unwrap_or_default(), pen.theme.text)]);
            }
        }
    }
    lines
}

/// Columns of the keys, and where there are few.
const KEYS_WIDTH: usize = 16;
const FEW_KEYS_WIDTH: usize = 11;

fn notes(pen: &Pen<'_>, app: &App, width: usize) -> Vec<Line> {
    let apart = app.ui.notes.iter().flat_map(|note| {
        let mut lines = wrapped(&pen.glyphs.spell(note), width);
        lines.push(String::new());
        lines
    });
    apart.map(|line| vec![(line, pen.theme.text)]).collect()
}

/// What is said at the first start, and below it the offer of a kit of one's own.
fn with_offer(pen: &Pen<'_>, app: &App, width: usize, mut lines: Vec<Line>) -> Vec<Line> {
    if !app.ui.offers_kit {
        return lines;
    }
    let fitted = &app.state().fitted;
    let with = format!("To try it, this is {} with {}.", fitted.stock.box_name, fitted.frame.name);
    lines.extend(wrapped(&with, width).into_iter().map(|line| vec![(line, pen.theme.title)]));
    let key = |action: BoxAction| app.settings.keys.key_of(action);
    let boxes = format!("{} {}", key(BoxAction::Open), key(BoxAction::AllBoxes));
    let mut offer = |own: BoxAction, later: BoxAction, what: &str| {
        let says = format!("{what}, of a template or a file (later: {boxes} {})", key(later));
        let mut says = wrapped(&says, width.saturating_sub(2)).into_iter();
        lines.push(vec![(format!("{} ", key(own)), pen.theme.key), (says.next().unwrap_or_default(), pen.theme.text)]);
        lines.extend(says.map(|line| vec![(format!("  {line}"), pen.theme.text)]));
    };
    offer(BoxAction::OwnBox, BoxAction::NewBox, "a box of your own");
    offer(BoxAction::OwnFrame, BoxAction::NewFrame, "a frame of your own");
    lines
}

fn cautions(pen: &Pen<'_>, width: usize) -> Vec<Line> {
    GENERAL.iter().flat_map(|caution| wrapped(caution.short, width)).map(|line| vec![(line, pen.theme.text)]).collect()
}
