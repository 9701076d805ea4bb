//! What is wrong with a file, where, and what to do about it.

use std::fmt;

use thiserror::Error;

/// The longest piece of a file that a message repeats, in characters.
const LONGEST_QUOTE: usize = 60;

/// A place in a text, both counted from 1, columns in characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Position {
    /// The line, from 1.
    pub line: usize,
    /// The column, from 1; a character of several bytes is one.
    pub column: usize,
}

impl Position {
    /// The beginning of a text; also where a fault of the file as a whole is reported.
    pub const START: Self = Self { line: 1, column: 1 };

    /// The place just after a text.
    pub fn behind(text: &str) -> Self {
        let line = text.matches('\n').count() + 1;
        let column = text.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
        Self { line, column }
    }
}

/// What is wrong, what is allowed instead, and what was perhaps meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    what: String,
    allowed: Option<String>,
    suggestion: Option<String>,
}

impl Refusal {
    /// Something wrong.
    pub fn new(what: impl Into<String>) -> Self {
        Self { what: what.into(), allowed: None, suggestion: None }
    }

    /// With what is allowed, or what to do.
    #[must_use]
    pub fn allowed(mut self, allowed: impl Into<String>) -> Self {
        self.allowed = Some(allowed.into());
        self
    }

    /// With what was perhaps meant.
    #[must_use]
    pub fn perhaps(mut self, suggestion: Option<impl Into<String>>) -> Self {
        self.suggestion = suggestion.map(Into::into);
        self
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&shown(&self.what))?;
        if let Some(allowed) = &self.allowed {
            write!(f, ": {}", shown(allowed))?;
        }
        if let Some(suggestion) = &self.suggestion {
            write!(f, "; did you mean `{}`?", shown(suggestion))?;
        }
        Ok(())
    }
}

/// One fault of a file, written `FILE:LINE:COL: message`.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{file}:{}:{}: {refusal}", at.line, at.column)]
pub struct Fault {
    /// The file as the user named it.
    pub file: String,
    /// Where in the file; the start when the file could not be read at all.
    pub at: Position,
    /// What is wrong and what to do.
    pub refusal: Refusal,
}

/// All faults of one file, at least one, in the order of their places; written one a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Faults(Vec<Fault>);

impl Faults {
    /// The faults found; `None` when there are none.
    pub fn found(mut faults: Vec<Fault>) -> Option<Self> {
        faults.sort_by_key(|fault| fault.at);
        (!faults.is_empty()).then_some(Self(faults))
    }

    /// Each fault.
    pub fn iter(&self) -> std::slice::Iter<'_, Fault> {
        self.0.iter()
    }
}

impl<'a> IntoIterator for &'a Faults {
    type Item = &'a Fault;
    type IntoIter = std::slice::Iter<'a, Fault>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl From<Fault> for Faults {
    fn from(fault: Fault) -> Self {
        Self(vec![fault])
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.iter().enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            fault.fmt(f)?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

/// Text from a file in a message, cut when long.
pub fn quoted(text: &str) -> String {
    let start: String = text.chars().take(LONGEST_QUOTE).collect();
    let more = if text.chars().nth(LONGEST_QUOTE).is_some() { "…" } else { "" };
    format!("`{start}{more}`")
}

/// Whether a character controls a terminal, or turns the order of those around it.
pub fn gives_orders(c: char) -> bool {
    c.is_control() || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Text with its control characters spelt out, so that they cannot reach a terminal.
pub fn shown(text: &str) -> String {
    text.chars().map(|c| if gives_orders(c) { c.escape_default().to_string() } else { c.to_string() }).collect()
}

/// A count with its word: `1 lens`, `2 lenses`.
pub fn counted(count: usize, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

/// Words as a choice: `a`, `a or b`, `a, b or c`.
pub fn choice<S: AsRef<str>>(words: &[S]) -> String {
    joined(words, "or")
}

/// Words as a list: `a`, `a and b`, `a, b and c`.
pub fn list<S: AsRef<str>>(words: &[S]) -> String {
    joined(words, "and")
}

fn joined<S: AsRef<str>>(words: &[S], last: &str) -> String {
    match words {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., end] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} {last} {}", first.join(", "), end.as_ref())
        }
    }
}

/// The candidate most like a word, if any is like enough to have been meant.
pub fn most_like<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    const LIKE_ENOUGH: f64 = 0.5;
    let word = word.to_lowercase();
    candidates
        .into_iter()
        .map(|candidate| (strsim::normalized_damerau_levenshtein(&word, &candidate.to_lowercase()), candidate))
        .filter(|(likeness, _)| *likeness >= LIKE_ENOUGH)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate)
}
