//! What every panel draws with: the buffer, the theme, the characters, and a note of what can be clicked where.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;
use unicode_width::UnicodeWidthStr;

use super::super::theme::{Glyphs, Theme};
use super::super::ui::Target;
pub use crate::export::wrapping::wrapped_to_columns as wrapped;

/// What can be clicked where, as it was drawn.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Hits(Vec<(Rect, Target)>);

impl Hits {
    /// What lies at a column and a row; the last drawn is on top.
    pub fn at(&self, column: u16, row: u16) -> Option<Target> {
        let hit = self.0.iter().rev().find(|(area, _)| area.contains(Position::new(column, row)));
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
        let (end, _) = self.buffer.set_stringn(area.x + column, area.y + row, shown, room, style);
        end - area.x
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
        self.hits.0.push((area, target));
    }
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
