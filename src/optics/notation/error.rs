//! The refusal of a text that cannot be read, with the place that is wrong.

use std::fmt;
use std::ops::Range;

use unicode_width::UnicodeWidthChar;

/// How many columns of a long text are shown on each side of the place.
const SHOWN_COLUMNS: usize = 40;

/// A text that cannot be read.
///
/// Displayed on three lines: what is wrong, the text, and carets under the place:
///
/// ```text
/// axis 190° is outside 0° to 180°
///   −0.75×190
///         ^^^
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotationError {
    problem: String,
    text: String,
    place: Range<usize>,
}

impl std::error::Error for NotationError {}

impl NotationError {
    /// `place` in bytes of `text`, on character boundaries; an empty place points at the character that is missing there.
    pub(super) fn new(problem: impl Into<String>, text: &str, place: Range<usize>) -> Self {
        Self { problem: problem.into(), text: text.to_owned(), place }
    }

    /// What is wrong and what would be right, in one line.
    pub fn problem(&self) -> &str {
        &self.problem
    }

    /// The text that was to be read.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The place that is wrong, in bytes of the text; empty where something is missing.
    pub fn place(&self) -> Range<usize> {
        self.place.clone()
    }

    /// The text with the columns of the place, shortened around it when long.
    fn shown(&self) -> (String, usize, usize) {
        let (mut shown, mut start, mut width) = (String::new(), 0, 0);
        let mut columns = 0;
        let place_column: usize = self.text[..self.place.start].chars().map(shown_width).sum();
        for (at, character) in self.text.char_indices() {
            let before_window = columns + SHOWN_COLUMNS < place_column;
            let behind_window = columns > place_column + SHOWN_COLUMNS;
            columns += shown_width(character);
            if behind_window {
                shown.push('…');
                break;
            }
            if before_window {
                if shown.is_empty() {
                    shown.push('…');
                    start = 1;
                }
                continue;
            }
            shown.push(printable(character));
            if at < self.place.start {
                start += shown_width(character);
            } else if at < self.place.end {
                width += shown_width(character);
            }
        }
        (shown, start, width.max(1))
    }
}

/// Control characters would move the caret: white space is shown as a space, the rest as the replacement character.
fn printable(character: char) -> char {
    match character {
        c if c.is_whitespace() => ' ',
        c if c.is_control() => '\u{fffd}',
        c => c,
    }
}

fn shown_width(character: char) -> usize {
    printable(character).width().unwrap_or(0)
}

impl fmt::Display for NotationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (text, start, width) = self.shown();
        write!(f, "{}\n  {text}\n  {:start$}{}", self.problem, "", "^".repeat(width))
    }
}
