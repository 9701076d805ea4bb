//! The keys that work on a box: with what they do where there is room, else by their words alone.

use ratatui::layout::Rect;
use unicode_width::UnicodeWidthStr as _;

use super::super::super::app::App;
use super::super::super::decide::is_available;
use super::super::super::keys::Binding;
use super::super::super::ui::Target;
use super::super::pen::Pen;
use super::super::sheet;

/// Columns between two keys.
const BETWEEN: u16 = 2;

/// Draws the keys.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    if sheet::key_rows(pen, area.width, app) <= area.height {
        sheet::keys(pen, area, app);
        return;
    }
    pen.heading(area, "keys", false);
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let context = app.ui.context_underneath();
    let works = |binding: &&Binding| {
        binding.contexts.contains(&context) && binding.is_of_a_box() && is_available(app, binding.action)
    };
    let bindings: Vec<&Binding> = app.settings.keys.bindings().iter().filter(works).collect();
    let text = |binding: &Binding| (binding.key_in_words(), binding.label.clone());
    let width = |(key, label): &(String, String)| (key.width() + 1 + label.width()) as u16;
    let widest = bindings.iter().map(|binding| width(&text(binding))).max().unwrap_or(0);
    let count = ((room.width.saturating_sub(1) + BETWEEN) / (widest + BETWEEN)).max(1);
    let rows = (bindings.len() as u16).div_ceil(count).min(room.height).max(1);
    for (nth, binding) in bindings.into_iter().enumerate() {
        let (column, row) = (nth as u16 / rows, nth as u16 % rows);
        if column >= count {
            break;
        }
        let place = Rect { x: room.x + 1 + column * (widest + BETWEEN), y: room.y + row, width: widest, height: 1 };
        let (key, label) = text(binding);
        let at = pen.text(place.intersection(room), 0, 0, &key, pen.theme.key);
        pen.text(place.intersection(room), 0, at + 1, &label, pen.theme.text);
        pen.clickable(place, Target::Action(binding.action));
    }
}
