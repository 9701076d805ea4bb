//! The screen line by line, for a screen reader or a pipe: what changed, no drawing. The decisions behind it are the same.

use std::io::{self, BufRead, Write};

use crossterm::event::KeyCode;
use thiserror::Error;

use super::app::App;
use super::decide::After;
use super::keys::Chord;
use super::keys::strokes::{self, Stroke, StrokesError};
use super::start::{ScreenStart, start};
use super::theme::Glyphs;
use super::ui::Input;
use super::view;

/// Why it ended before the person left.
#[derive(Debug, Error)]
pub enum PlainLinesError {
    /// Nothing more can be read or written.
    #[error("lines cannot be read or written: {0}")]
    Io(#[from] io::Error),
}

/// The longest line that is read, in bytes.
const LONGEST_LINE: usize = 4096;

/// Runs the screen line by line: each line that comes in is keys as `--keys` takes them, and what it leaves typed is taken as
/// if enter had been pressed; an empty line is enter. What is new afterwards is said, one thing a line.
///
/// # Errors
/// [`PlainLinesError`] when lines cannot be read or written.
pub fn run_lines(options: ScreenStart, from: impl BufRead, to: &mut dyn Write) -> Result<(), PlainLinesError> {
    let glyphs = Glyphs::chosen(options.settings.characters);
    let mut app = start(options);
    let mut said: Vec<String> = Vec::new();
    say(&app, glyphs, &mut said, to)?;
    // the cautions were said: no key has to put them away
    app.ui.sheet = None;
    let mut from = from;
    loop {
        let mut line = Vec::new();
        let read = io::Read::take(&mut from, LONGEST_LINE as u64).read_until(b'\n', &mut line)?;
        if read == 0 {
            return Ok(());
        }
        let text = String::from_utf8_lossy(&line);
        match keys_of(text.trim_end_matches(['\r', '\n'])) {
            Err(error) => {
                writeln!(to, "! {error}")?;
                to.flush()?;
            }
            Ok(keys) => {
                if take(&mut app, &keys) == After::Leaves {
                    return Ok(());
                }
                say(&app, glyphs, &mut said, to)?;
            }
        }
    }
}

fn keys_of(line: &str) -> Result<Vec<Chord>, StrokesError> {
    let line = if line.is_empty() { "<enter>" } else { line };
    // there is nothing to point at
    let key = |stroke| match stroke {
        Stroke::Key(chord) => Some(chord),
        Stroke::Click(..) | Stroke::Wheel(..) => None,
    };
    Ok(strokes::parse(line)?.into_iter().filter_map(key).collect())
}

fn take(app: &mut App, keys: &[Chord]) -> After {
    let enter = Chord::named(KeyCode::Enter);
    // a line that was refused is said anew, and not added to
    if at_fault(app) {
        app.ui.prompt = None;
    }
    for chord in keys {
        match app.handle(&Input::Key(*chord)) {
            After::GoesOn | After::StepsAside | After::DrawsAll => {}
            // the rest was meant for another screen
            after @ (After::Leaves | After::NotKept) => return after,
        }
    }
    if app.ui.prompt.is_some() && !keys.ends_with(&[enter]) { app.handle(&Input::Key(enter)) } else { After::GoesOn }
}

fn at_fault(app: &App) -> bool {
    app.ui.prompt.as_ref().is_some_and(|prompt| prompt.fault.is_some())
}

/// Says what was not said of the screen before, and what was done or refused.
fn say(app: &App, glyphs: &'static Glyphs, said: &mut Vec<String>, to: &mut dyn Write) -> io::Result<()> {
    let now = view::in_words(app, glyphs);
    let done = app.ui.says.iter().map(|says| glyphs.spell(&says.text));
    let news: Vec<String> = done.chain(now.iter().filter(|line| !said.contains(line)).cloned()).collect();
    let news = if news.is_empty() { vec!["nothing new".to_owned()] } else { news };
    for line in news {
        writeln!(to, "{line}")?;
    }
    *said = now;
    // whoever listens knows that it is their turn
    writeln!(to)?;
    to.flush()
}
