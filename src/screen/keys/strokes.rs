//! What is fed to the screen without a terminal: `-4<enter>`, `<tab>`, `<ctrl-l>`, `<click:12,5>`.

use thiserror::Error;

use super::chord::Chord;

/// One thing a person does at the terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// A key is pressed.
    Key(Chord),
    /// The left button is pressed at a column and a row, from 0.
    Click(u16, u16),
    /// The wheel turns at a column and a row: 1 up (away from the hand), -1 down.
    Wheel(u16, u16, i8),
}

/// Strokes that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("keys, character {place}: {problem}\n  {text}\n  {}^", " ".repeat(place - 1))]
pub struct StrokesError {
    text: String,
    /// The character at fault, from 1.
    place: usize,
    problem: String,
}

/// Reads strokes: a character stands for itself, a name in angle brackets for a key, `<lt>` for `<`.
///
/// The mouse: `<click:COLUMN,ROW>`, `<wheel-up:COLUMN,ROW>`, `<wheel-down:COLUMN,ROW>`, counted from 0.
///
/// # Errors
/// [`StrokesError`], pointing at the place.
pub fn parse(text: &str) -> Result<Vec<Stroke>, StrokesError> {
    let mut strokes = Vec::new();
    let characters: Vec<char> = text.chars().collect();
    let mut at = 0;
    while let Some(&character) = characters.get(at) {
        let refused = |problem: String| StrokesError { text: text.to_owned(), place: at + 1, problem };
        if character == '<' {
            let Some(length) = characters[at..].iter().position(|&c| c == '>') else {
                return Err(refused("a key name is not closed by `>`; write `<lt>` for the character itself".into()));
            };
            let name: String = characters[at + 1..at + length].iter().collect();
            strokes.push(named(&name).map_err(refused)?);
            at += length + 1;
        } else if character.is_control() {
            return Err(refused("a control character: write keys by name, such as `<enter>`".into()));
        } else {
            strokes.push(Stroke::Key(Chord::char(character)));
            at += 1;
        }
    }
    Ok(strokes)
}

fn named(name: &str) -> Result<Stroke, String> {
    let Some((what, place)) = name.split_once(':').filter(|(what, _)| !what.is_empty()) else {
        return name.parse().map(Stroke::Key).map_err(|error: super::chord::ChordError| error.to_string());
    };
    let (column, row) = place
        .split_once(',')
        .and_then(|(column, row)| Some((column.trim().parse().ok()?, row.trim().parse().ok()?)))
        .ok_or_else(|| format!("`{name}`: a place of the mouse is written `COLUMN,ROW`, counted from 0"))?;
    match what {
        "click" => Ok(Stroke::Click(column, row)),
        "wheel-up" => Ok(Stroke::Wheel(column, row, 1)),
        "wheel-down" => Ok(Stroke::Wheel(column, row, -1)),
        _ => Err(format!("`{what}` is nothing the mouse does: use click, wheel-up or wheel-down")),
    }
}
