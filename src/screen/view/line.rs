//! The line above the hints: what is being typed, or what was done or refused.

use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};
use ratatui::widgets::{Clear, Widget};
use unicode_width::UnicodeWidthStr;

use super::super::app::App;
use super::super::decide::guide::hint;
use super::super::keys::TypingAction;
use super::super::spot::Spot;
use super::super::ui::{Prompt, Purpose, Tone};
use super::super::words;
use super::pen::{Pen, wrapped};

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
            let text = pen.glyphs.spell(&text);
            if text.width() <= usize::from(area.width.saturating_sub(column)) {
                pen.text(area, 0, column, &text, style);
            } else {
                above(pen, area, &text, app.ui.prompt.is_some(), style);
            }
        }
        None if app.ui.prompt.is_some() => {
            let keys = &app.settings.keys;
            let text = format!(
                "{} takes it, {} leaves it",
                keys.key_of(TypingAction::Confirm),
                keys.key_of(TypingAction::Cancel)
            );
            pen.text(area, 0, column, &text, theme.quiet);
        }
        None => {}
    }
}

/// A long message takes rows of the panel above rather than being cut.
fn above(pen: &mut Pen<'_>, area: Rect, text: &str, line_is_taken: bool, style: Style) {
    let lines = wrapped(text, usize::from(area.width.saturating_sub(2)));
    let bottom = if line_is_taken { area.y } else { area.bottom() };
    let height = (lines.len() as u16).min(bottom - pen.buffer.area.y);
    let place = Rect { y: bottom - height, height, ..area };
    Clear.render(place, pen.buffer);
    pen.buffer.set_style(place, pen.theme.text);
    for (row, line) in lines.iter().enumerate() {
        pen.text(place, row as u16, 1, line, style);
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
        (Purpose::Answer, _) => {
            let typed = app.guide().presentation().question.typed();
            format!("{}: ", typed.map_or("answer", |typed| hint(app, &typed)))
        }
        (Purpose::Detail(field), _) => format!("{} ({}): ", field.full_name(), field.hint_in(app.ui.form)),
        (Purpose::NewExam, _) => "label of the new exam, or nothing: ".to_owned(),
        (Purpose::Find, _) => "exams with, in label, number or date: ".to_owned(),
        (Purpose::Amendment(exam), _) => format!("add to exam {exam}: "),
    };
    let start = pen.text(area, 0, 1, &lead, theme.title);
    // a line longer than its room is shown around the cursor
    let room = usize::from(area.width.saturating_sub(start + 1)).max(1);
    let first = prompt.line.visual_scroll(room);
    let shown: String = prompt.line.value().chars().skip(first).collect();
    let end = pen.text(area, 0, start, &shown, theme.net);
    // the character at which the line was refused, and the cursor, differ by underline and reverse
    let mut mark = |at: usize, modifier: Modifier| {
        let column = start + at.saturating_sub(first) as u16;
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
