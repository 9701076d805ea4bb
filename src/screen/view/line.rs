//! The line above the hints: what is being typed, or what was done or refused.

use ratatui::layout::Rect;
use ratatui::style::Modifier;

use super::super::app::App;
use super::super::keymap::Action;
use super::super::ui::{Prompt, Purpose, Spot, Tone};
use super::super::words;
use super::pen::Pen;

/// Draws the line.
pub fn draw(pen: &mut Pen<'_>, area: Rect, app: &App) {
    let theme = pen.theme;
    let mut column = 1;
    if let Some(prompt) = &app.ui.prompt {
        column = typed(pen, area, app, prompt);
    }
    match &app.ui.says {
        Some(says) => {
            let style = if says.tone == Tone::Done { theme.done } else { theme.warning };
            let text = if says.tone == Tone::Refused { format!("! {}", says.text) } else { says.text.clone() };
            pen.text(area, 0, column, &text, style);
        }
        None if app.ui.prompt.is_some() => {
            let keys = &app.settings.keys;
            let text =
                format!("{} takes it, {} leaves it", keys.key_of(Action::Confirm), keys.key_of(Action::Cancel));
            pen.text(area, 0, column, &text, theme.quiet);
        }
        None => {}
    }
}

fn typed(pen: &mut Pen<'_>, area: Rect, app: &App, prompt: &Prompt) -> u16 {
    let theme = pen.theme;
    let eye = app.ui.eye;
    let lead = match (prompt.purpose, app.ui.spot()) {
        (Purpose::Lens, Spot::Cell(_)) => format!("lens for {}: ", words::place(eye, app.ui.spot())),
        (Purpose::Lens | Purpose::Hold, _) => format!("hold before the {eye} eye: "),
        (Purpose::Wanted, _) => format!("wanted for the {eye} eye: "),
        (Purpose::PlannedVertex, _) => "glasses at, in mm: ".to_owned(),
    };
    let start = pen.text(area, 0, 1, &lead, theme.title);
    let end = pen.text(area, 0, start, prompt.line.value(), theme.net);
    // the character at which the line was refused, and the cursor, are told apart by underline and reverse
    let mut mark = |at: usize, modifier: Modifier| {
        let column = start + at as u16;
        if column < area.width && area.y < pen.buffer.area.bottom() {
            let place = Rect { x: area.x + column, width: 1, ..area }.intersection(pen.buffer.area);
            pen.buffer.set_style(place, theme.net.add_modifier(modifier));
        }
    };
    if let Some(fault) = prompt.fault {
        mark(fault, Modifier::UNDERLINED);
    }
    mark(prompt.line.visual_cursor(), Modifier::REVERSED);
    end + 2
}
