//! Values of arguments: texts and numbers that may begin with a minus.
//!
//! `-0.75x180` looks like a cluster of short options. Such arguments get a mark in front before they are parsed, which
//! the readers of values here take off again; so options may stand anywhere between lenses, and a misspelt option is
//! still refused as one.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::builder::{OsStringValueParser, StringValueParser, TypedValueParser};

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

/// Reads a text that has a figure in it; [`parse_figure`] reads the figure, by its row of the table of ranges.
///
/// # Errors
/// When there is no digit in it at all, so that something else was meant for this place.
///
/// [`parse_figure`]: crate::optics::notation::parse_figure
pub fn figure(value: &str) -> Result<String, &'static str> {
    let value = unmarked(value);
    // these are written by programs; they are refused with the limits of what was asked for
    let is_number_in_words = ["nan", "inf", "infinity"]
        .contains(&value.trim_start_matches(['+', '-', '\u{2212}']).to_ascii_lowercase().as_str());
    if is_number_in_words || value.contains(|c: char| c.is_ascii_digit()) {
        Ok(value.to_owned())
    } else {
        Err("this is not a number")
    }
}

fn unmarked(value: &str) -> &str {
    value.strip_prefix(MARK).unwrap_or(value)
}
