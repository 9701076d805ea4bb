//! Lines that are said on a page, and how bright: the question stands out, answers are text, what only explains is quiet.

use ratatui::layout::Rect;

use super::layout::MOST_TEXT;
use super::pen::Pen;
use crate::export::wrapping::wrapped_to_columns;

/// One line that is said.
pub enum Said {
    /// The question, or what matters most.
    Strong(String),
    /// What is so.
    Text(String),
    /// What only explains.
    Quiet(String),
    /// An answer by its digit.
    Answer(usize, String),
    /// Nothing: a row is left empty.
    Nothing,
}

/// Draws lines from the second row of an area on, wrapped to its width.
pub fn draw(pen: &mut Pen<'_>, area: Rect, lines: &[Said]) {
    let room = Rect { y: area.y + 1, height: area.height.saturating_sub(1), ..area };
    let width = usize::from(room.width.saturating_sub(2).min(MOST_TEXT));
    let mut at = 0;
    for line in lines {
        let (text, style) = match line {
            Said::Strong(text) => (text.clone(), pen.theme.title),
            Said::Text(text) => (text.clone(), pen.theme.text),
            Said::Quiet(text) => (text.clone(), pen.theme.quiet),
            Said::Answer(digit, text) => (format!("{digit} {text}"), pen.theme.text),
            Said::Nothing => (String::new(), pen.theme.text),
        };
        for row in wrapped_to_columns(&text, width.max(1)) {
            if at < room.height {
                pen.text(room, at, 1, &row, style);
            }
            at += 1;
        }
    }
}

/// The same in words.
pub fn in_words(lines: Vec<Said>) -> Vec<String> {
    let text = |said: Said| match said {
        Said::Strong(text) | Said::Text(text) | Said::Quiet(text) => Some(text),
        Said::Answer(digit, text) => Some(format!("{digit} {text}")),
        Said::Nothing => None,
    };
    lines.into_iter().filter_map(text).collect()
}
