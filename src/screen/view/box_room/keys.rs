//! The keys that work on a box: with what they do as far as there is room, else by their words alone.

use ratatui::layout::Rect;
use unicode_width::UnicodeWidthStr as _;

use super::super::super::app::App;
use super::super::super::decide::is_available;
use super::super::super::keys::{Binding, ScreenAction};
use super::super::super::ui::Target;
use super::super::pen::{Pen, wrapped};

/// Columns between two columns of keys.
const BETWEEN: u16 = 2;
/// Columns of one column in which what a key does is said, and of the key.
const LEAST_COLUMN: u16 = 34;
const KEY: u16 = 7;

fn bindings(app: &App) -> Vec<&Binding> {
    let context = app.ui.context_underneath();
    let works = |binding: &&Binding| {
        binding.contexts.contains(&context) && binding.is_of_a_box() && is_available(app, binding.action)
    };
    app.settings.keys.bindings().iter().filter(works).collect()
}

/// Those of the box first.
fn every_binding(app: &App) -> Vec<&Binding> {
    let context = app.ui.context_underneath();
    let works = |binding: &&Binding| binding.contexts.contains(&context) && is_available(app, binding.action);
    let (mut of_a_box, others): (Vec<&Binding>, Vec<&Binding>) =
        app.settings.keys.bindings().iter().filter(works).partition(|binding| binding.is_of_a_box());
    of_a_box.extend(others);
    of_a_box
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
    let (of_a_box, all) = (bindings(app), every_binding(app));
    let count = ((room.width + BETWEEN) / (LEAST_COLUMN + BETWEEN)).max(1);
    let rows = |bindings: &[&Binding]| (bindings.len() as u16).div_ceil(count);
    let bindings = if rows(&all) <= room.height { all } else { of_a_box };
    let each = rows(&bindings);
    if each > room.height {
        by_words(pen, room, &bindings);
        return;
    }
    let width = ((room.width + BETWEEN) / count).saturating_sub(BETWEEN);
    // the longest name of a key has a column more
    let text = usize::from(width.saturating_sub(KEY + 2));
    for (nth, column) in bindings.chunks(usize::from(each.max(1))).enumerate() {
        let place = Rect { x: room.x + nth as u16 * (width + BETWEEN), width, ..room };
        // what each does, as far as all have a row
        let mut spare = usize::from(room.height) - column.len();
        let mut row = 0;
        for binding in column {
            let help = wrapped(&binding.help, text);
            let said = if help.len() - 1 <= spare { help } else { vec![binding.label.clone()] };
            spare -= said.len() - 1;
            let end = pen.text(place, row, 0, &binding.key_in_words(), pen.theme.key);
            let at = KEY.max(end + 1);
            pen.clickable(Rect { y: place.y + row, height: 1, ..place }, Target::Action(binding.action));
            for line in said {
                pen.text(place, row, at, &line, pen.theme.text);
                row += 1;
            }
        }
    }
}

/// The keys with a word each, in as many columns as there is room for.
fn by_words(pen: &mut Pen<'_>, room: Rect, bindings: &[&Binding]) {
    let (count, width) = columns(bindings, room.width);
    let rows = (bindings.len() as u16).div_ceil(count).min(room.height).max(1);
    for (nth, binding) in bindings.iter().enumerate() {
        let (column, row) = (nth as u16 / rows, nth as u16 % rows);
        if column >= count {
            break;
        }
        let place = Rect { x: room.x + column * (width + BETWEEN), y: room.y + row, width, height: 1 };
        let place = place.intersection(room);
        pen.text(place, 0, 0, &binding.key_in_words(), pen.theme.key);
        pen.text(place, 0, KEY, &binding.label, pen.theme.text);
        pen.clickable(place, Target::Action(binding.action));
    }
}
