//! Values of arguments: texts and numbers that may begin with a minus.
//!
//! `-0.75x180` looks like a cluster of short options. Such arguments get a mark in front before they are parsed, which
//! the readers of values here take off again; so options may stand anywhere between lenses, and a misspelt option is
//! still refused as one.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::builder::{OsStringValueParser, StringValueParser, TypedValueParser};

use crate::optics::bounds::{OutOfRange, Range};

/// Word joiner: it has no width, so that it does not show in a refusal that is phrased before it is taken off.
const MARK: char = '\u{2060}';

/// The arguments of the program, marked where they begin with the minus of a number.
pub fn marked(arguments: impl IntoIterator<Item = OsString>) -> impl Iterator<Item = OsString> {
    arguments.into_iter().map(|argument| match argument.to_str() {
        Some(text) if begins_like_a_negative_number(text) => format!("{MARK}{text}").into(),
        _ => argument,
    })
}

fn begins_like_a_negative_number(text: &str) -> bool {
    let Some(behind) = text.strip_prefix('-') else { return false };
    let word: String = behind.chars().take(3).collect::<String>().to_ascii_lowercase();
    matches!(word.as_str(), "inf" | "nan") || behind.starts_with(|c: char| c != '-' && !c.is_alphabetic())
}

/// Reads a text as it was given.
pub fn text() -> impl TypedValueParser<Value = String> {
    StringValueParser::new().map(|value| unmarked(&value).to_owned())
}

/// Reads a path as it was given.
pub fn path() -> impl TypedValueParser<Value = PathBuf> {
    OsStringValueParser::new().map(|value| match value.to_str() {
        Some(text) => unmarked(text).into(),
        None => value.into(),
    })
}

/// Reads a number.
///
/// # Errors
/// When it is none.
pub fn number(value: &str) -> Result<f64, String> {
    unmarked(value).parse().map_err(|_| "this is no number".to_owned())
}

fn unmarked(value: &str) -> &str {
    value.strip_prefix(MARK).unwrap_or(value)
}

/// A number within its range, when it was given.
///
/// # Errors
/// When it lies outside.
pub fn within(range: &Range, value: Option<f64>) -> Result<Option<f64>, OutOfRange> {
    value.map(|value| range.check(value)).transpose()
}
