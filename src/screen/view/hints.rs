//! The bottom line: the keys that matter most where the keys are pressed now.

use ratatui::layout::Rect;
use unicode_width::UnicodeWidthStr as _;

use super::super::app::App;
use super::super::decide::is_available;
use super::super::keys::{Binding, Context, DetailsAction};
use super::super::ui::Target;
use super::pen::Pen;

/// Draws the hints that fit, the most important first.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let context = app.ui.context();
    let works = |binding: &&Binding| {
        let has_key = !context.takes_text() || !binding.key_beside_text().is_empty();
        binding.contexts.contains(&context) && is_available(app, binding.action) && has_key
    };
    let mut hints: Vec<&Binding> = app.settings.keys.bindings().iter().filter(works).collect();
    hints.retain(|binding| binding.hint.is_some());
    hints.sort_by_key(|binding| binding.hint);
    let mut column = 0;
    if context == Context::Words && is_available(app, DetailsAction::EnterDetail) {
        column = pen.text(area, 0, 1, "type it", pen.theme.text);
    }
    if context == Context::Cells && !app.state().finished {
        column = pen.text(area, 0, 1, "type a lens", pen.theme.text);
    }
    for binding in hints {
        let key = if context.takes_text() { binding.key_beside_text() } else { binding.key_in_words() };
        let width = (key.width() + binding.label.width() + 3) as u16;
        if column + width >= area.width {
            break;
        }
        let start = if column == 0 { 1 } else { column + 2 };
        column = pen.text(area, 0, start, &key, pen.theme.key);
        column = pen.text(area, 0, column + 1, &binding.label, pen.theme.quiet);
        let place = Rect { x: area.x + start, width: column - start, ..area };
        pen.clickable(place, Target::Action(binding.action));
    }
}
