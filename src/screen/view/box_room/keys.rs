//! The keys that work on a box and nowhere else, a word each; what they do in full is in the help, and below them where there is room.

use ratatui::layout::Rect;
use unicode_width::UnicodeWidthStr as _;

use super::super::super::app::App;
use super::super::super::decide::is_available;
use super::super::super::keys::{Binding, ScreenAction};
use super::super::super::ui::Target;
use super::super::pen::{Pen, wrapped};

/// Columns between two columns of keys.
const BETWEEN: u16 = 2;
/// Columns of a key at least.
const KEY: u16 = 7;
/// Columns from one column of keys to the next at most, where there is room for more of them, and rows between two keys.
const MOST_COLUMN: u16 = 60;
const MOST_STEP: u16 = 4;

fn bindings(app: &App) -> Vec<&Binding> {
    let context = app.ui.context_underneath();
    let works = |binding: &&Binding| {
        binding.contexts.contains(&context) && binding.is_of_a_box() && is_available(app, binding.action)
    };
    app.settings.keys.bindings().iter().filter(works).collect()
}

fn columns(bindings: &[&Binding], width: u16) -> (u16, u16) {
    let of = |binding: &&Binding| (KEY + binding.label.width() as u16).max(12);
    let widest = bindings.iter().map(of).max().unwrap_or(12);
    (((width + BETWEEN) / (widest + BETWEEN)).max(1), widest)
}

/// Rows in which every key has its word; none where no key works.
pub fn rows(app: &App, width: u16) -> u16 {
    let bindings = bindings(app);
    if bindings.is_empty() {
        return 0;
    }
    let (count, _) = columns(&bindings, width);
    1 + (bindings.len() as u16).div_ceil(count)
}

/// Draws the keys.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let help = app.settings.keys.key_of(ScreenAction::Help);
    let (of_words, _) = columns(&bindings(app), area.width);
    let is_cut = usize::from(of_words * area.height.saturating_sub(1)) < bindings(app).len();
    let title = if is_cut { format!("keys, {help} shows all") } else { "keys".to_owned() };
    pen.heading(area, &title, false);
    let room = Rect {
        x: area.x + 1,
        y: area.y + 1,
        width: area.width.saturating_sub(1),
        height: area.height.saturating_sub(1),
    };
    by_words(pen, room, &bindings(app));
}

/// How the keys stand in a room.
struct Spread {
    /// Columns of keys.
    columns: u16,
    /// Rows from one key to the next.
    step: u16,
    /// Whether the rows between have the sentences of the help: those of all keys, or of none.
    with_help: bool,
}

/// Columns of one column of keys.
fn column_width(room: Rect, columns: u16, least: u16) -> u16 {
    ((room.width + BETWEEN) / columns).saturating_sub(BETWEEN).max(least)
}

/// The sentence of a key, in rows below its word.
fn help_rows(binding: &Binding, width: u16) -> Vec<String> {
    wrapped(&binding.help, usize::from(width.saturating_sub(KEY)))
}

/// How the keys fill a room best: with what they do in full where there is room for it.
fn spread(bindings: &[&Binding], room: Rect, most: u16, least: u16) -> Spread {
    let keys = bindings.len() as u16;
    let fewest = room.width.div_ceil(MOST_COLUMN).clamp(1, most);
    let step = |columns: u16| (room.height / keys.div_ceil(columns).max(1)).clamp(1, MOST_STEP);
    let left = |columns: &u16| room.height.abs_diff(keys.div_ceil(*columns) * step(*columns));
    let has_help = |columns: &u16| {
        let (width, rows) = (column_width(room, *columns, least), usize::from(step(*columns) - 1));
        bindings.iter().all(|binding| help_rows(binding, width).len() <= rows)
    };
    let fit = || (fewest..=most).filter(|columns| keys.div_ceil(*columns) <= room.height);
    let with_help = fit().filter(has_help).min_by_key(left);
    let columns = with_help.or_else(|| fit().min_by_key(left)).unwrap_or(most).max(1);
    Spread { columns, step: step(columns), with_help: with_help.is_some() }
}

/// The keys with a word each, in as many columns as there is room for, with what they do in full between them where that has room.
fn by_words(pen: &mut Pen<'_>, room: Rect, bindings: &[&Binding]) {
    let keys = bindings.len() as u16;
    let (most, least) = columns(bindings, room.width);
    let Spread { columns: count, step, with_help } = spread(bindings, room, most, least);
    let rows = keys.div_ceil(count).min(room.height).max(1);
    let width = column_width(room, count, least);
    for (nth, binding) in bindings.iter().enumerate() {
        let (column, row) = (nth as u16 / rows, nth as u16 % rows);
        if column >= count {
            break;
        }
        let (x, y) = (room.x + column * (width + BETWEEN), room.y + row * step);
        let place = Rect { x, y, width, height: 1 }.intersection(room);
        // the longest name of a key has a column more
        let end = pen.text(place, 0, 0, &binding.key_in_words(), pen.theme.key);
        pen.text(place, 0, KEY.max(end + 1), &binding.label, pen.theme.text);
        pen.clickable(place, Target::Action(binding.action));
        for (below, line) in (1..).zip(help_rows(binding, width)).take_while(|_| with_help) {
            pen.text(Rect { height: step, ..place }.intersection(room), below, KEY, &line, pen.theme.quiet);
        }
    }
}
