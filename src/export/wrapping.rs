//! Breaking a text into lines, by whatever measure of width: columns of a terminal, or points of a face on paper.

use unicode_width::UnicodeWidthStr;

use super::words::{ISOLATE, ISOLATE_END, printable_parts};

/// Units that are not parted from their figure at the end of a line.
const UNITS: [&str; 5] = ["D", "Δ", "mm", "cm", "m"];

/// The words of a text, a unit together with its figure.
fn unparted(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in printable_parts(text).split(' ') {
        let unit = UNITS.contains(&word.trim_end_matches(['.', ',', ':', ';', ')']));
        match words.last_mut() {
            Some(figure) if unit && figure.ends_with(|letter: char| letter.is_ascii_digit()) => {
                figure.push(' ');
                figure.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Breaks a text into lines no wider than `most`, by a measure of width; a word that is wider alone is broken too.
pub fn wrapped(text: &str, most: f64, width: impl Fn(&str) -> f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in unparted(text) {
        let Some(line) = lines.last_mut() else { break };
        let longer = if line.is_empty() { word.clone() } else { format!("{line} {word}") };
        if width(&longer) <= most {
            *line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(String::new());
        }
        for letter in word.chars() {
            let Some(line) = lines.last_mut() else { break };
            let longer = format!("{line}{letter}");
            if width(&longer) <= most || line.is_empty() {
                *line = longer;
            } else {
                lines.push(letter.to_string());
            }
        }
    }
    closed_in_each(lines)
}

/// Lines in which each part that keeps its direction to itself ends with its line, and begins again with the next.
fn closed_in_each(lines: Vec<String>) -> Vec<String> {
    let mut is_open = false;
    let close = |line: String| {
        let begins = is_open;
        for letter in line.chars() {
            is_open = if letter == ISOLATE { true } else { is_open && letter != ISOLATE_END };
        }
        let [begin, end] = [(begins, ISOLATE), (is_open, ISOLATE_END)].map(|(needed, mark)| needed.then_some(mark));
        begin.into_iter().chain(line.chars()).chain(end).collect()
    };
    lines.into_iter().map(close).collect()
}

/// Breaks a text into lines of at most `most` columns of a terminal.
pub fn wrapped_to_columns(text: &str, most: usize) -> Vec<String> {
    wrapped(text, most as f64, |part| part.width() as f64)
}
