//! One key press, and how it is written: `w`, `X`, `ctrl-z`, `shift-tab`, `f1`, `enter`.
//!
//! The key table, the settings file and the strokes of `--keys` all read the same names.

use std::fmt;
use std::str::FromStr;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use serde::{Deserialize, Deserializer};
use thiserror::Error;

/// A key without its modifiers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Key {
    /// A character, upper or lower case as typed.
    Char(char),
    /// A key with a name of its own; the index into the table of names.
    Named(KeyCode),
    /// A function key.
    Function(u8),
}

/// A key press.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Chord {
    /// What is pressed while the others are held.
    pub key: Key,
    /// With the control key.
    pub ctrl: bool,
    /// With the alt key.
    pub alt: bool,
}

/// A key name that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{text}` names no key: write one character, `ctrl-z`, `f1`, or one of {}", names())]
pub struct ChordError {
    text: String,
}

/// Keys with names. `lt` and `gt` stand for the characters that enclose a name in `--keys`.
const NAMED: [(&str, KeyCode); 18] = [
    ("enter", KeyCode::Enter),
    ("esc", KeyCode::Esc),
    ("tab", KeyCode::Tab),
    ("shift-tab", KeyCode::BackTab),
    ("backspace", KeyCode::Backspace),
    ("delete", KeyCode::Delete),
    ("insert", KeyCode::Insert),
    ("up", KeyCode::Up),
    ("down", KeyCode::Down),
    ("left", KeyCode::Left),
    ("right", KeyCode::Right),
    ("home", KeyCode::Home),
    ("end", KeyCode::End),
    ("pageup", KeyCode::PageUp),
    ("pagedown", KeyCode::PageDown),
    ("space", KeyCode::Char(' ')),
    ("lt", KeyCode::Char('<')),
    ("gt", KeyCode::Char('>')),
];

fn names() -> String {
    NAMED.map(|(name, _)| name).join(", ")
}

impl Chord {
    /// A character without modifiers.
    pub fn char(character: char) -> Self {
        Self { key: Key::Char(character), ctrl: false, alt: false }
    }

    /// A named key without modifiers.
    pub fn named(code: KeyCode) -> Self {
        match code {
            KeyCode::Char(character) => Self::char(character),
            KeyCode::F(number) => Self { key: Key::Function(number), ctrl: false, alt: false },
            code => Self { key: Key::Named(code), ctrl: false, alt: false },
        }
    }

    /// The key press as the terminal reports it; shift is already in the character.
    pub fn of_event(event: KeyEvent) -> Self {
        let ctrl = event.modifiers.contains(KeyModifiers::CONTROL);
        let alt = event.modifiers.contains(KeyModifiers::ALT);
        let code = match event.code {
            KeyCode::Char(c) if ctrl => KeyCode::Char(c.to_ascii_lowercase()),
            code => code,
        };
        Self { ctrl, alt, ..Self::named(code) }
    }

    /// The character to be typed, when this is one.
    pub fn typed(self) -> Option<char> {
        match self.key {
            Key::Char(character) if !self.ctrl && !self.alt => Some(character),
            _ => None,
        }
    }

    /// The key code, for a line editor.
    pub fn code(self) -> KeyCode {
        match self.key {
            Key::Char(character) => KeyCode::Char(character),
            Key::Named(code) => code,
            Key::Function(number) => KeyCode::F(number),
        }
    }
}

impl fmt::Display for Chord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let code = self.code();
        let name = match (NAMED.iter().find(|(_, named)| *named == code), code) {
            (_, KeyCode::Char(c)) if c != ' ' => c.to_string(),
            (Some((name, _)), _) => (*name).to_owned(),
            (None, KeyCode::F(number)) => format!("f{number}"),
            (None, other) => format!("{other:?}").to_lowercase(),
        };
        let (ctrl, alt) = (if self.ctrl { "ctrl-" } else { "" }, if self.alt { "alt-" } else { "" });
        f.pad(&format!("{ctrl}{alt}{name}"))
    }
}

impl FromStr for Chord {
    type Err = ChordError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let refused = || ChordError { text: text.to_owned() };
        let mut rest = text;
        let (mut ctrl, mut alt) = (false, false);
        loop {
            if let Some(after) = rest.strip_prefix("ctrl-").filter(|after| !after.is_empty() && !ctrl) {
                (ctrl, rest) = (true, after);
            } else if let Some(after) = rest.strip_prefix("alt-").filter(|after| !after.is_empty() && !alt) {
                (alt, rest) = (true, after);
            } else {
                break;
            }
        }
        let mut characters = rest.chars();
        let code = match (characters.next(), characters.next()) {
            (Some(character), None) if !character.is_control() => KeyCode::Char(character),
            (Some('f'), Some(_)) if rest[1..].parse::<u8>().is_ok_and(|n| (1..=24).contains(&n)) => {
                KeyCode::F(rest[1..].parse().map_err(|_| refused())?)
            }
            _ => NAMED.iter().find(|(name, _)| *name == rest).map(|(_, code)| *code).ok_or_else(refused)?,
        };
        Ok(Self { ctrl, alt, ..Self::named(code) })
    }
}

impl<'de> Deserialize<'de> for Chord {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}
