//! Located nodes become values; what cannot is noted as a fault, and reading goes on.

use super::fault::{Faults, Position, Refusal, choice, list, most_like, quoted};
use super::notes::{MOST_FAULTS, Notes};
use super::tree::{self, Entry, Node, Value};
use crate::optics::bounds::{Range, SignRule};
use crate::optics::notation::{NotationError, parse_figure};

/// The longest name or note, in characters.
const LONGEST_TEXT: usize = 500;

/// Reads one file and gathers its faults.
#[derive(Debug)]
pub struct Reader<'f> {
    notes: Notes<'f>,
}

/// What a plain value is by the core schema of YAML 1.2.
enum Plain<'n> {
    Nothing,
    Boolean(bool),
    Number(f64),
    Text(&'n str),
}

/// The keys of a mapping, all of them known.
#[derive(Debug, Clone, Copy)]
pub struct Fields<'n> {
    at: Position,
    of: &'static str,
    known: &'n [&'static str],
    entries: &'n [Entry],
}

impl<'n> Fields<'n> {
    /// The value of a key, if it is there.
    pub fn get(&self, key: &str) -> Option<&'n Node> {
        self.entry(key).map(|entry| &entry.value)
    }

    /// A key with its value, if it is there.
    pub fn entry(&self, key: &str) -> Option<&'n Entry> {
        self.entries.iter().find(|entry| entry.key == key)
    }

    /// Whether an unknown key was taken for a mistyped form of this one, and refused as such.
    fn has_mistyped(&self, key: &str) -> bool {
        let unknown = self.entries.iter().filter(|entry| !self.known.contains(&entry.key.as_str()));
        unknown.take(MOST_FAULTS).any(|entry| most_like(&entry.key, self.known.iter().copied()) == Some(key))
    }
}

impl<'f> Reader<'f> {
    /// A reader for a file, named as in its messages.
    pub fn new(file: &'f str) -> Self {
        Self { notes: Notes::new(file) }
    }

    /// Notes a fault.
    pub fn refuse(&mut self, at: Position, refusal: Refusal) {
        self.notes.refuse(at, refusal);
    }

    /// How many faults were noted so far.
    pub fn faults(&self) -> usize {
        self.notes.count()
    }

    /// Whether further faults are only counted, so that looking for what was meant is of no use.
    pub fn is_full(&self) -> bool {
        self.notes.is_full()
    }

    /// What was read, if nothing was wrong.
    ///
    /// # Errors
    /// All faults noted.
    pub fn finish<T>(self, value: Option<T>) -> Result<T, Faults> {
        self.notes.finish(value)
    }

    /// The one document of a text; `begins` says how such a file begins.
    pub fn document(&mut self, text: &str, begins: &str) -> Option<Node> {
        let root = tree::read(text, &mut self.notes);
        let empty = match &root {
            None => self.notes.count() == 0,
            Some(node) => node.value == Value::Scalar { text: String::new(), quoted: false },
        };
        if empty {
            self.refuse(Position::START, Refusal::new("the file is empty").allowed(begins));
            return None;
        }
        root
    }

    /// Whether a document plainly is of the other kind, which is then its one fault.
    pub fn is_other_kind(&mut self, root: &Node, own: &str, other: &str, begins: &str) -> bool {
        let Value::Mapping(entries) = &root.value else {
            return false;
        };
        let find = |key: &str| entries.iter().find(|entry| entry.key == key);
        let (None, Some(entry)) = (find(own), find(other)) else {
            return false;
        };
        let refusal = Refusal::new(format!("this file declares a {other}, not a {own}")).allowed(begins);
        self.refuse(entry.key_at, refusal);
        true
    }

    /// The keys of a mapping, checked against those it may have.
    pub fn fields<'n>(&mut self, node: &'n Node, of: &'static str, known: &'n [&'static str]) -> Option<Fields<'n>> {
        let Value::Mapping(entries) = &node.value else {
            self.wrong_shape(node, of, "needs keys and values", &format!("its keys are {}", ticked(known)));
            return None;
        };
        for entry in entries.iter().filter(|entry| !known.contains(&entry.key.as_str())) {
            let refusal = Refusal::new(format!("{of} has no key {}", quoted(&entry.key)))
                .allowed(format!("its keys are {}", ticked(known)))
                .perhaps(if self.is_full() { None } else { most_like(&entry.key, known.iter().copied()) });
            self.refuse(entry.key_at, refusal);
        }
        Some(Fields { at: node.at, of, known, entries })
    }

    /// The value of a key that must be there; `example` shows how to write it.
    pub fn required<'n>(&mut self, fields: &Fields<'n>, key: &str, example: &str) -> Option<&'n Node> {
        let found = fields.get(key);
        if found.is_none() && !fields.has_mistyped(key) {
            let what = format!("{} lacks the key `{key}`", fields.of);
            self.refuse(fields.at, Refusal::new(what).allowed(format!("add it, like `{example}`")));
        }
        found
    }

    /// The items of a list.
    pub fn items<'n>(&mut self, node: &'n Node, key: &str, example: &str) -> Option<&'n [Node]> {
        let Value::List(items) = &node.value else {
            self.wrong_shape(node, &ticks(key), "needs a list", &format!("write it like `{example}`"));
            return None;
        };
        Some(items)
    }

    /// A text on one line that is not empty, spaces at its ends taken off.
    pub fn text(&mut self, node: &Node, key: &str) -> Option<String> {
        let text = self.any_text(node, key)?.trim();
        let refusal = if text.is_empty() {
            Refusal::new(format!("{} is empty", ticks(key))).allowed("write a text of at least one letter")
        } else if text.chars().count() > LONGEST_TEXT {
            Refusal::new(format!("{} is too long", ticks(key))).allowed(format!("at most {LONGEST_TEXT} characters"))
        } else if text.chars().any(char::is_control) {
            Refusal::new(format!("{} has line ends or control characters in it", ticks(key))).allowed("write one line")
        } else {
            return Some(text.to_owned());
        };
        self.refuse(node.at, refusal);
        None
    }

    /// The text of a key that may be left out.
    pub fn optional_text(&mut self, fields: &Fields, key: &'static str) -> Option<String> {
        fields.get(key).and_then(|node| self.text(node, key))
    }

    fn any_text<'n>(&mut self, node: &'n Node, key: &str) -> Option<&'n str> {
        let what = match &node.value {
            Value::Scalar { text, quoted: true } => return Some(text),
            Value::Scalar { text, .. } => match plain(text) {
                Plain::Text(text) => return Some(text),
                Plain::Nothing => {
                    let refusal = Refusal::new(format!("{} is empty", ticks(key)));
                    self.refuse(node.at, refusal.allowed("write a text after it or leave the key out"));
                    return None;
                }
                Plain::Boolean(_) | Plain::Number(_) => format!("put it in quotes: \"{text}\""),
            },
            Value::List(_) | Value::Mapping(_) | Value::Refused => "write one text".to_owned(),
        };
        self.wrong_shape(node, &ticks(key), "needs a text", &what);
        None
    }

    /// The words of a plain or quoted value, as they are written; `key` names it in faults.
    pub fn written<'n>(&mut self, node: &'n Node, key: &str) -> Option<&'n str> {
        match &node.value {
            Value::Scalar { text, .. } if text.chars().count() > LONGEST_TEXT => {
                let refusal = Refusal::new(format!("an entry of {} is too long", ticks(key)));
                self.refuse(node.at, refusal.allowed(format!("at most {LONGEST_TEXT} characters")));
                None
            }
            Value::Scalar { text, .. } if !text.trim().is_empty() => Some(text.trim()),
            Value::Scalar { .. } => {
                self.refuse(node.at, Refusal::new(format!("an entry of {} is empty", ticks(key))));
                None
            }
            Value::List(_) | Value::Mapping(_) | Value::Refused => {
                self.wrong_shape(node, &format!("an entry of {}", ticks(key)), "needs a text", "write it in quotes");
                None
            }
        }
    }

    /// A value in one of the notations, such as a prescription, in quotes or not; `like` shows how to write one.
    pub fn notation<T>(
        &mut self,
        node: &Node,
        key: &str,
        parse: impl Fn(&str) -> Result<T, NotationError>,
        like: &str,
    ) -> Option<T> {
        let (text, quoted) = match &node.value {
            Value::Scalar { text, quoted } if !text.trim().is_empty() && text.chars().count() <= LONGEST_TEXT => {
                (text, *quoted)
            }
            Value::Scalar { .. } | Value::List(_) | Value::Mapping(_) | Value::Refused => {
                self.wrong_shape(node, &ticks(key), "needs a value", &format!("write it like `{key}: {like}`"));
                return None;
            }
        };
        match parse(text) {
            Ok(value) => Some(value),
            Err(error) => {
                let behind = text[..error.place().start].chars().count() + usize::from(quoted);
                // a text over several lines has no columns of its own
                let behind = if text.contains('\n') { 0 } else { behind };
                let at = Position { column: node.at.column + behind, ..node.at };
                self.refuse(at, Refusal::new(format!("{}: {}", ticks(key), error.problem())));
                None
            }
        }
    }

    /// One of the words that a key takes, with what it stands for; `of` says what they are.
    pub fn word<T: Copy>(&mut self, node: &Node, key: &str, of: &str, words: &[(&str, T)]) -> Option<T> {
        let word = match &node.value {
            // a number or yes is no word of theirs either, in quotes or not
            Value::Scalar { text, .. } if !text.trim().is_empty() => text.trim().to_owned(),
            Value::Scalar { .. } | Value::List(_) | Value::Mapping(_) | Value::Refused => self.text(node, key)?,
        };
        let named = words.iter().find(|(name, _)| *name == word).map(|(_, value)| *value);
        if named.is_none() {
            let names: Vec<&str> = words.iter().map(|(name, _)| *name).collect();
            let refusal = Refusal::new(format!("there is no {of} {}", quoted(&word)))
                .allowed(choice(&names))
                .perhaps(if self.is_full() { None } else { most_like(&word, names) });
            self.refuse(node.at, refusal);
        }
        named
    }

    /// A figure by its row of the table of ranges: as people type one, or in the forms that YAML has besides.
    pub fn number(&mut self, node: &Node, key: &str, row: &Range) -> Option<f64> {
        let Value::Scalar { text, quoted: false } = &node.value else {
            return self.not_a_number(node, key, row);
        };
        let (behind, what) = match (parse_figure(text, row), plain(text)) {
            (Ok(value), _) => return Some(value),
            (Err(_), Plain::Number(value)) if is_in_a_form_of_yaml(text) => {
                let needs_sign = row.sign == SignRule::Needed && value.is_finite() && value != 0.0;
                if needs_sign && !text.starts_with(['+', '-']) {
                    (0, format!("a power needs its sign: write +{text} or -{text}"))
                } else {
                    match row.check(value) {
                        Ok(value) => return Some(value),
                        Err(refusal) => (0, refusal.to_string()),
                    }
                }
            }
            (Err(error), Plain::Number(_) | Plain::Text(_)) if text.contains(|c: char| c.is_ascii_digit()) => {
                (text[..error.place().start].chars().count(), error.problem().to_owned())
            }
            (Err(_), Plain::Number(_) | Plain::Text(_) | Plain::Nothing | Plain::Boolean(_)) => {
                return self.not_a_number(node, key, row);
            }
        };
        self.refuse(Position { column: node.at.column + behind, ..node.at }, Refusal::new(what));
        None
    }

    fn not_a_number(&mut self, node: &Node, key: &str, row: &Range) -> Option<f64> {
        self.wrong_shape(node, &ticks(key), "needs a number", &format!("write it from {row}, without quotes"));
        None
    }

    /// A whole number by its row of the table of ranges, whose limits must lie in 0 to 255.
    pub fn whole(&mut self, node: &Node, key: &str, row: &Range) -> Option<u8> {
        self.number(node, key, row).map(|value| value as u8)
    }

    /// `true` or `false`.
    pub fn boolean(&mut self, node: &Node, key: &str) -> Option<bool> {
        if let Value::Scalar { text, quoted: false } = &node.value
            && let Plain::Boolean(value) = plain(text)
        {
            return Some(value);
        }
        self.wrong_shape(node, &ticks(key), "is yes or no", "write `true` or `false`, without quotes");
        None
    }

    /// Notes that a node is something else than is needed, unless it was refused already.
    fn wrong_shape(&mut self, node: &Node, of: &str, needs: &str, allowed: &str) {
        let is = match &node.value {
            Value::Refused => return,
            Value::Scalar { text, quoted: false } if text.is_empty() => "nothing".to_owned(),
            Value::Scalar { text, quoted: false } => quoted(text),
            Value::Scalar { text, .. } => format!("the quoted text {}", quoted(text)),
            Value::List(_) => "a list".to_owned(),
            Value::Mapping(_) => "keys and values".to_owned(),
        };
        self.refuse(node.at, Refusal::new(format!("{of} {needs}, but here is {is}")).allowed(allowed));
    }
}

fn ticks(key: &str) -> String {
    format!("`{key}`")
}

fn ticked(keys: &[&str]) -> String {
    let keys: Vec<String> = keys.iter().map(|key| ticks(key)).collect();
    list(&keys)
}

/// What a plain value is by the core schema of YAML 1.2 (section 10.3.2 of its specification).
fn plain(text: &str) -> Plain<'_> {
    match text {
        "" | "~" | "null" | "Null" | "NULL" => return Plain::Nothing,
        "true" | "True" | "TRUE" => return Plain::Boolean(true),
        "false" | "False" | "FALSE" => return Plain::Boolean(false),
        ".nan" | ".NaN" | ".NAN" => return Plain::Number(f64::NAN),
        _ => {}
    }
    let unsigned = text.strip_prefix(['+', '-']).unwrap_or(text);
    if matches!(unsigned, ".inf" | ".Inf" | ".INF") {
        return Plain::Number(if text.starts_with('-') { f64::NEG_INFINITY } else { f64::INFINITY });
    }
    // Rust reads words like `inf` as numbers too; YAML does not
    if unsigned.starts_with(|c: char| c.is_ascii_digit() || c == '.')
        && let Ok(value) = text.parse()
    {
        return Plain::Number(value);
    }
    Plain::Text(text)
}

/// Whether a number is written as YAML alone writes it: with an exponent, with nothing on one side of its point, or in words.
fn is_in_a_form_of_yaml(text: &str) -> bool {
    text.contains(['e', 'E', 'n', 'N']) || text.trim_start_matches(['+', '-']).starts_with('.') || text.ends_with('.')
}
