//! What every panel draws with: the buffer, the theme, the characters, and a note of what can be clicked where.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;
use unicode_width::UnicodeWidthStr;

use super::super::pictures::Placed;
use super::super::theme::{Glyphs, Theme};
use super::super::ui::Target;
pub use crate::export::wrapping::wrapped_to_columns as wrapped;

/// What can be clicked where, as it was drawn, and what else a frame asks of the terminal beside its cells.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Hits {
    targets: Vec<(Rect, Target)>,
    /// Where the next typed character goes, while a line is typed.
    pub cursor: Option<Position>,
    /// The pictures that are left to the terminal's own pixels.
    pub pictures: Vec<Placed>,
}

impl Hits {
    /// What lies at a column and a row; the last drawn is on top.
    pub fn at(&self, column: u16, row: u16) -> Option<Target> {
        let hit = self.targets.iter().rev().find(|(area, _)| area.contains(Position::new(column, row)));
        hit.map(|(_, target)| *target)
    }
}

/// One row of text in pieces.
pub type Line = Vec<(String, Style)>;

/// The drawing hand.
pub struct Pen<'a> {
    /// What is drawn on.
    pub buffer: &'a mut Buffer,
    /// Styles by meaning.
    pub theme: &'static Theme,
    /// Characters.
    pub glyphs: &'static Glyphs,
    /// What can be clicked so far.
    pub hits: Hits,
}

impl Pen<'_> {
    /// Writes text on a row of an area, from a column on, and gives the column after it. What does not fit is cut.
    pub fn text(&mut self, area: Rect, row: u16, column: u16, text: &str, style: Style) -> u16 {
        let area = area.intersection(self.buffer.area);
        if row >= area.height || column >= area.width {
            return column;
        }
        let spelt = self.glyphs.spell(text);
        let room = usize::from(area.width - column);
        let fits = spelt.width() <= room;
        let mark = if self.glyphs.ascii { "~" } else { "…" };
        let shown = if fits { spelt } else { cut(&spelt, room.saturating_sub(1)) + mark };
        let (start, y) = (area.x + column, area.y + row);
        let (end, _) = self.buffer.set_stringn(start, y, &shown, room, style);
        if shown.chars().any(is_right_to_left) {
            self.isolate(start, end, y);
        }
        end - area.x
    }

    /// Keeps text that runs from the right from turning round what stands beside it (Unicode Standard Annex 9: FSI and PDI).
    fn isolate(&mut self, start: u16, end: u16, y: u16) {
        if let Some(first) = self.buffer.cell_mut((start, y)) {
            first.set_symbol(&format!("\u{2068}{}", first.symbol()));
        }
        let last = (start..end).rev().find(|&x| self.buffer.cell((x, y)).is_some_and(|cell| !cell.symbol().is_empty()));
        if let Some(last) = last.and_then(|x| self.buffer.cell_mut((x, y))) {
            last.set_symbol(&format!("{}\u{2069}", last.symbol()));
        }
    }

    /// Writes pieces of text one after the other, and gives the column after the last.
    pub fn row(&mut self, area: Rect, row: u16, pieces: &[(&str, Style)]) -> u16 {
        pieces.iter().fold(0, |column, (text, style)| self.text(area, row, column, text, *style))
    }

    /// A heading on a rule across a whole row.
    pub fn heading(&mut self, area: Rect, text: &str, focused: bool) {
        let style = if focused { self.theme.focus } else { self.theme.title };
        let (rule, quiet) = (self.glyphs.rule.repeat(usize::from(area.width)), self.theme.quiet);
        self.text(area, 0, 0, &rule, quiet);
        let pointer = if focused { self.glyphs.pointer } else { "" };
        let inner = Rect { x: area.x + 1, width: area.width.saturating_sub(2), ..area };
        self.text(inner, 0, 0, &format!(" {pointer}{text} "), style);
    }

    /// Notes that a part of the screen can be clicked.
    pub fn clickable(&mut self, area: Rect, target: Target) {
        self.hits.targets.push((area, target));
    }
}

/// Whether a letter runs from the right: the blocks that Unicode keeps for such scripts.
fn is_right_to_left(character: char) -> bool {
    matches!(character,
        '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{feff}' | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}')
}

fn cut(text: &str, width: usize) -> String {
    let mut shown = String::new();
    for character in text.chars() {
        let mut longer = shown.clone();
        longer.push(character);
        if longer.width() > width {
            break;
        }
        shown = longer;
    }
    shown
}

/// One row of an area.
pub fn row_of(area: Rect, row: u16) -> Rect {
    Rect { y: area.y + row, height: u16::from(row < area.height), ..area }
}
