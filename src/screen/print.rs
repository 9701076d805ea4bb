//! The screen without a terminal: keys in, the last frame out as text or as a picture.

use std::str::FromStr;

use ratatui::Terminal;
use ratatui::backend::TestBackend;
use thiserror::Error;

use super::app::App;
use super::decide::After;
use super::keys::strokes::{self, Stroke, StrokesError};
use super::printed::{Recording, ansi, svg, text};
use super::start::{ScreenStart, start};
use super::theme::Glyphs;
use super::ui::Input;
use super::view::{self, pen::Hits};

/// Columns and rows of a screen, written `120x36`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Width in character cells.
    pub columns: u16,
    /// Height in character cells.
    pub rows: u16,
}

impl Default for Size {
    fn default() -> Self {
        Self { columns: 120, rows: 36 }
    }
}

/// The most columns or rows of a screen that is printed.
const MOST: u16 = 1000;

/// The most keys that are fed.
const MOST_STROKES: usize = 10_000;

/// How frames are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PrintForm {
    /// The last as text alone.
    Text,
    /// The last as text with the colours that a terminal understands.
    Ansi,
    /// The last as a picture in SVG.
    Svg,
    /// All of them, a key after the other, to be played in a terminal (asciicast, version 2).
    Recording,
}

/// A frame that cannot be printed.
#[derive(Debug, Error)]
pub enum PrintError {
    /// The keys cannot be read.
    #[error(transparent)]
    Strokes(#[from] StrokesError),
    /// The keys are more than any exam has.
    #[error("{0} keys are too many: at most {MOST_STROKES} are fed")]
    TooMany(usize),
    /// The size cannot be read.
    #[error("`{0}` is not a size: write columns and rows like 120x36, each from 1 to {MOST}")]
    Size(String),
    /// The frame cannot be drawn.
    #[error("the frame cannot be drawn: {0}")]
    Draw(#[from] std::convert::Infallible),
}

impl FromStr for Size {
    type Err = PrintError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let part = |part: &str| part.parse::<u16>().ok().filter(|n| (1..=MOST).contains(n));
        let (columns, rows) = text.split_once(['x', 'X', '\u{d7}']).ok_or_else(|| PrintError::Size(text.to_owned()))?;
        match (part(columns), part(rows)) {
            (Some(columns), Some(rows)) => Ok(Self { columns, rows }),
            _ => Err(PrintError::Size(text.to_owned())),
        }
    }
}

/// Starts the screen, feeds it the keys, and gives the last frame.
///
/// Keys after one that leaves are not fed.
///
/// # Errors
/// [`PrintError`] when the keys cannot be read.
pub fn print(options: ScreenStart, keys: &str, size: Size, form: PrintForm) -> Result<String, PrintError> {
    let strokes = strokes::parse(keys)?;
    if strokes.len() > MOST_STROKES {
        return Err(PrintError::TooMany(strokes.len()));
    }
    let characters = options.settings.characters;
    let glyphs = match form {
        PrintForm::Text => Glyphs::printed(characters),
        PrintForm::Ansi | PrintForm::Svg | PrintForm::Recording => Glyphs::chosen(characters),
    };
    let mut recording = Recording::of(size.columns, size.rows);
    let mut app = start(options);
    let mut terminal = Terminal::new(TestBackend::new(size.columns, size.rows))?;
    let mut hits = Hits::default();
    let mut frame = |app: &App, hits: &mut Hits| {
        let done = terminal.draw(|frame| *hits = view::draw(app, glyphs, frame.buffer_mut()))?;
        if form == PrintForm::Recording {
            recording.show(done.buffer, app.ui.prompt.is_some());
        }
        Ok::<(), PrintError>(())
    };
    for stroke in strokes {
        if form == PrintForm::Recording {
            frame(&app, &mut hits)?;
        }
        let input = match stroke {
            Stroke::Key(chord) => {
                // how far a page of an open page goes is known once it was drawn
                if app.ui.page.is_some() {
                    frame(&app, &mut hits)?;
                }
                Some(Input::Key(chord))
            }
            // what lies under the mouse is what was drawn last
            Stroke::Click(column, row) => {
                frame(&app, &mut hits)?;
                hits.at(column, row).map(Input::Click)
            }
            Stroke::Wheel(column, row, step) => {
                frame(&app, &mut hits)?;
                hits.at(column, row).map(|target| Input::Wheel(target, step))
            }
        };
        if input.is_some_and(|input| app.handle(&input) == After::Leaves) {
            break;
        }
    }
    frame(&app, &mut hits)?;
    let last = terminal.backend().buffer();
    Ok(match form {
        PrintForm::Text => text(last),
        PrintForm::Ansi => ansi(last),
        PrintForm::Svg => svg(last),
        PrintForm::Recording => recording.played(),
    })
}
