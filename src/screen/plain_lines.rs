//! The screen line by line, for a screen reader or a pipe: what changed, no drawing. The decisions behind it are the same.

use std::io::{self, BufRead, Read as _, Write};

use crossterm::event::KeyCode;

use super::app::App;
use super::decide::After;
use super::keys::Chord;
use super::keys::strokes::{self, Stroke};
use super::start::{ScreenStart, start};
use super::theme::Glyphs;
use super::ui::Input;
use super::view;

/// The longest line that is read, in bytes.
const LONGEST_LINE: u64 = 4096;

/// Runs the screen line by line: each line that comes in is keys as `--keys` takes them, and what it leaves typed is taken as
/// if enter had been pressed; an empty line is enter. What is new afterwards is said, one thing a line.
///
/// # Errors
/// When lines cannot be read or written.
pub fn run_lines(options: ScreenStart, mut from: impl BufRead, to: &mut dyn Write) -> io::Result<()> {
    let glyphs = Glyphs::chosen(options.settings.characters);
    let mut app = start(options);
    let mut said: Vec<String> = Vec::new();
    say(&app, glyphs, &mut said, to)?;
    // the cautions were said: no key has to put them away
    app.ui.sheet = None;
    while let Some(line) = next_line(&mut from)? {
        match line.and_then(|line| keys_of(&line)) {
            Err(refused) => {
                writeln!(to, "! {refused}\n")?;
                to.flush()?;
            }
            Ok(keys) => {
                match take(&mut app, &keys) {
                    After::Leaves => return Ok(()),
                    // what could not be kept is given again whole, and not added to
                    After::NotKept => app.ui.prompt = None,
                    After::GoesOn | After::StepsAside | After::DrawsAll => {}
                }
                say(&app, glyphs, &mut said, to)?;
            }
        }
    }
    Ok(())
}

/// The next line without its end, or why it is not read; `None` where nothing more comes.
fn next_line(from: &mut impl BufRead) -> io::Result<Option<Result<String, String>>> {
    let mut line = Vec::new();
    if from.by_ref().take(LONGEST_LINE).read_until(b'\n', &mut line)? == 0 {
        return Ok(None);
    }
    if line.len() as u64 == LONGEST_LINE && !line.ends_with(b"\n") {
        // the rest of it is no line of its own
        from.skip_until(b'\n')?;
        return Ok(Some(Err(format!("the line has more than {LONGEST_LINE} bytes: nothing was done"))));
    }
    let line = String::from_utf8(line).map_err(|_| "the line is not UTF-8 text: nothing was done".to_owned());
    Ok(Some(line.map(|line| line.trim_end_matches(['\r', '\n']).to_owned())))
}

fn keys_of(line: &str) -> Result<Vec<Chord>, String> {
    let line = if line.is_empty() { "<enter>" } else { line };
    let key = |stroke| match stroke {
        Stroke::Key(chord) => Ok(chord),
        Stroke::Click(..) | Stroke::Wheel(..) => Err("there is nothing here to point at: nothing was done".to_owned()),
    };
    strokes::parse(line).map_err(|error| error.to_string())?.into_iter().map(key).collect()
}

fn take(app: &mut App, keys: &[Chord]) -> After {
    let enter = Chord::named(KeyCode::Enter);
    // a line that was refused is said again whole, and not added to
    if app.ui.prompt.as_ref().is_some_and(|prompt| prompt.fault.is_some()) {
        app.ui.prompt = None;
    }
    for chord in keys {
        match app.handle(&Input::Key(*chord)) {
            After::GoesOn | After::StepsAside | After::DrawsAll => {}
            // the rest was meant for another screen
            after @ (After::Leaves | After::NotKept) => return after,
        }
    }
    // a line of which not all was taken is not taken for the whole
    let is_whole = app.ui.prompt.as_ref().is_some_and(|prompt| prompt.fault.is_none());
    if is_whole && !keys.ends_with(&[enter]) { app.handle(&Input::Key(enter)) } else { After::GoesOn }
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
