//! What lies over the screen when asked for: the keys that work now, or the cautions.

use ratatui::layout::Rect;
use ratatui::widgets::{Block, Clear, Widget};

use super::super::app::App;
use super::super::decide::is_available;
use super::super::keys::{Binding, Context, ListsAction, TypingAction};
use super::super::ui::Sheet;
use super::pen::{Line, Pen, wrapped};
use super::prescription;
use crate::exam::cautions::GENERAL;
use crate::optics::CylinderForm;

/// Draws the open sheet.
pub fn draw(pen: &mut Pen<'_>, screen: Rect, app: &App, open: Sheet) {
    let width = (screen.width - 4).min(92);
    let text_width = usize::from(width - 4);
    let (title, lines, first) = match open {
        Sheet::Help(first) => ("keys that work now", help(pen, app, text_width), first),
        Sheet::Cautions => ("before you start", cautions(pen, text_width), 0),
        Sheet::Notes(first) => ("before you start", notes(pen, app, text_width), first),
        Sheet::Prescription(first) => ("prescription", prescription::whole(pen, app, text_width), first),
    };
    let mut lines = lines;
    if open == Sheet::Cautions && lines.len() as u16 + 2 > screen.height - 2 {
        lines.retain(|line| line.iter().any(|(text, _)| !text.is_empty()));
    }
    let height = (lines.len() as u16 + 2).min(screen.height - 2);
    let area =
        Rect { x: screen.x + (screen.width - width) / 2, y: screen.y + (screen.height - height) / 2, width, height };
    Clear.render(area, pen.buffer);
    pen.buffer.set_style(area, pen.theme.text);
    let mut block = Block::bordered().border_style(pen.theme.quiet).title(format!(" {title} "));
    block = block.title_style(pen.theme.title);
    if pen.glyphs.ascii {
        block = block.border_set(ASCII_BORDER);
    }
    block.render(area, pen.buffer);
    let inner = Rect { x: area.x + 2, y: area.y + 1, width: area.width - 4, height: area.height - 2 };
    let shown = usize::from(inner.height);
    let first = usize::from(first).min(lines.len().saturating_sub(shown));
    for (row, line) in lines.iter().skip(first).take(shown).enumerate() {
        let mut column = 0;
        for (text, style) in line {
            column = pen.text(inner, row as u16, column, text, *style);
        }
    }
    if first + shown < lines.len() {
        let more = format!(" {} goes on ", app.settings.keys.key_of(ListsAction::ChooseNext));
        let bottom = Rect { y: area.bottom() - 1, height: 1, ..area };
        pen.text(bottom, 0, 2, &more, pen.theme.key);
    }
}

const ASCII_BORDER: ratatui::symbols::border::Set<'_> = ratatui::symbols::border::Set {
    top_left: "+",
    top_right: "+",
    bottom_left: "+",
    bottom_right: "+",
    vertical_left: "|",
    vertical_right: "|",
    horizontal_top: "-",
    horizontal_bottom: "-",
};

/// Every key that would do something on the screen underneath, under the headings of the key table.
fn help(pen: &Pen<'_>, app: &App, width: usize) -> Vec<Line> {
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
        lines.push(vec![(text, pen.theme.text)]);
    }
    let mut groups: Vec<&str> = Vec::new();
    for binding in &works {
        if !groups.contains(&binding.group.as_str()) {
            groups.push(&binding.group);
        }
    }
    for group in groups {
        lines.push(vec![(group.to_owned(), pen.theme.title)]);
        for binding in works.iter().filter(|binding| binding.group == group) {
            let mut keys = binding.keys_in_words();
            for part in wrapped(&binding.help, width.saturating_sub(KEYS_WIDTH)) {
                lines.push(vec![(format!("  {keys:<20}"), pen.theme.key), (part, pen.theme.text)]);
                keys.clear();
            }
        }
    }
    lines
}

const KEYS_WIDTH: usize = 22;

fn notes(pen: &Pen<'_>, app: &App, width: usize) -> Vec<Line> {
    let broken = app.ui.notes.iter().flat_map(|note| {
        let mut lines = wrapped(&pen.glyphs.spell(note), width);
        lines.push(String::new());
        lines
    });
    broken.chain(["Any key goes on.".to_owned()]).map(|line| vec![(line, pen.theme.text)]).collect()
}

fn cautions(pen: &Pen<'_>, width: usize) -> Vec<Line> {
    let broken = GENERAL.iter().flat_map(|caution| {
        let mut lines = wrapped(caution.short, width);
        lines.push(String::new());
        lines
    });
    broken.chain(["Any key goes on.".to_owned()]).map(|line| vec![(line, pen.theme.text)]).collect()
}
