//! The strip at the bottom of the screen that leads through the first exam.

use ratatui::layout::Rect;

use super::super::app::App;
use super::super::keys::ScreenAction;
use super::super::learning;
use super::layout::LEAST;
use super::pen::Pen;
use crate::export::wrapping::wrapped_to_columns;

/// The rows of the strip on a screen; none where nothing is learnt, or the screen has no room for all that is said.
pub fn rows(app: &App, screen: Rect) -> u16 {
    let wanted = wanted(app, screen);
    if LEAST.1 + wanted > screen.height { 0 } else { wanted }
}

/// What stands in place of the keys where the screen has no room for the strip.
pub fn no_room(app: &App, screen: Rect) -> Option<String> {
    let wanted = LEAST.1 + wanted(app, screen);
    let learns = app.ui.learns.is_some();
    (learns && wanted > screen.height).then(|| format!("the first exam needs {wanted} rows: make this terminal higher"))
}

/// The rows that all that is said takes, with its heading.
fn wanted(app: &App, screen: Rect) -> u16 {
    learning::says(app).map_or(0, |(_, _, says)| 1 + wrapped_to_columns(&says, width(screen)).len() as u16)
}

/// Draws it.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let Some((step, of, says)) = learning::says(app) else { return };
    let skip = app.settings.keys.key_of(ScreenAction::SkipLesson);
    pen.heading(area, &format!("first exam, {step} of {of}; {skip} skips this"), true);
    let below = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    for (row, line) in wrapped_to_columns(&says, width(area)).iter().enumerate().take(below.height.into()) {
        pen.text(below, row as u16, 1, line, pen.theme.text);
    }
}

/// The same in words.
pub fn in_words(app: &App) -> Vec<String> {
    learning::says(app).map(|(step, of, says)| format!("first exam, {step} of {of}: {says}")).into_iter().collect()
}

fn width(area: Rect) -> usize {
    usize::from(area.width.saturating_sub(2)).max(1)
}
