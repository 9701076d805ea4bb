//! The keys that work on a box and nowhere else, a word each: what they do in full is in the help.

use ratatui::layout::Rect;
use unicode_width::UnicodeWidthStr as _;

use super::super::super::app::App;
use super::super::super::decide::is_available;
use super::super::super::keys::{Binding, ScreenAction};
use super::super::super::ui::Target;
use super::super::pen::Pen;

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

/// How many columns fill a room best, and how many rows apart the keys of one are.
fn spread(keys: u16, room: Rect, most: u16) -> (u16, u16) {
    let fewest = room.width.div_ceil(MOST_COLUMN).min(most);
    let step = |columns: u16| (room.height / keys.div_ceil(columns).max(1)).clamp(1, MOST_STEP);
    let left = |columns: &u16| room.height.abs_diff(keys.div_ceil(*columns) * step(*columns));
    let columns = (fewest..=most).filter(|columns| keys.div_ceil(*columns) <= room.height).min_by_key(left);
    let columns = columns.unwrap_or(most).max(1);
    (columns, step(columns))
}

/// The keys with a word each, in as many columns as there is room for, with free rows between them where there are.
fn by_words(pen: &mut Pen<'_>, room: Rect, bindings: &[&Binding]) {
    let keys = bindings.len() as u16;
    let (most, least) = columns(bindings, room.width);
    let (count, step) = spread(keys, room, most);
    let rows = keys.div_ceil(count).min(room.height).max(1);
    let width = ((room.width + BETWEEN) / count).saturating_sub(BETWEEN).max(least);
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
    }
}
