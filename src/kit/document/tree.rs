//! Text becomes a tree of located nodes.
//!
//! Anchors, aliases, tags and further documents are faults: box and frame files need none, and without aliases no small
//! file can unfold into a large one.

use std::collections::HashMap;
use std::collections::hash_map::Entry as MapEntry;
use std::ops::ControlFlow;

use saphyr_parser::{Event, Marker, Parser, ScalarStyle};

use super::fault::{Position, Refusal, quoted as quoted_text};
use super::notes::Notes;

/// How deeply lists and keys may lie in each other; a box needs four levels.
const DEEPEST: usize = 16;

/// A located value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Node {
    /// Where it begins.
    pub at: Position,
    /// What stands there.
    pub value: Value,
}

/// What stands at a place of a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// A single value.
    Scalar {
        /// Its text, quotes taken off.
        text: String,
        /// Whether it was in quotes or a block of text, and so is text whatever it looks like.
        quoted: bool,
    },
    /// Values one after the other, in the order of the file.
    List(Vec<Node>),
    /// Keys and values, each key once, in the order of the file.
    Mapping(Vec<Entry>),
    /// Something that was refused already; no further fault is due for it.
    Refused,
}

/// A key with its value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its text, quotes taken off.
    pub key: String,
    /// Where the key stands.
    pub key_at: Position,
    /// What stands after the colon, with its own place.
    pub value: Node,
}

/// A list or mapping whose end was not reached yet.
struct Open {
    at: Position,
    what: Collection,
}

enum Collection {
    List(Vec<Node>),
    Mapping { entries: Vec<Entry>, seen: HashMap<String, Position>, key: Option<Key> },
}

/// A key that waits for its value; without text when it was refused.
struct Key {
    text: Option<String>,
    at: Position,
}

/// Reads the one document of a text; `None` when there is none or the text is no YAML, with the fault noted.
pub fn read(text: &str, notes: &mut Notes<'_>) -> Option<Node> {
    // an editor's byte order mark is not part of the text
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if let Some((index, c)) = text.char_indices().find(|(_, c)| c.is_control() && !matches!(c, '\t' | '\n' | '\r')) {
        let what = format!("the character U+{:04X} does not belong in a text file", u32::from(c));
        notes.refuse(Position::behind(&text[..index]), Refusal::new(what).allowed("is this the right file?"));
        return None;
    }
    let mut builder = Builder { notes, open: Vec::new(), root: None };
    let mut parser = Parser::new_from_str(text);
    while let Some(event) = parser.next_event() {
        match event {
            Ok((event, span)) => {
                if builder.take(event, position(span.start)).is_break() {
                    return None;
                }
            }
            Err(error) => {
                let what = format!("this is not well-formed YAML: {}", error.info());
                let refusal = Refusal::new(what).allowed("check the quotes, brackets and indentation here");
                builder.notes.refuse(position(*error.marker()), refusal);
                return None;
            }
        }
    }
    builder.root
}

fn position(marker: Marker) -> Position {
    Position { line: marker.line(), column: marker.col() + 1 }
}

struct Builder<'b, 'f> {
    notes: &'b mut Notes<'f>,
    open: Vec<Open>,
    root: Option<Node>,
}

impl Builder<'_, '_> {
    /// Takes one event of the parser; breaks off when reading on makes no sense.
    fn take(&mut self, event: Event<'_>, at: Position) -> ControlFlow<()> {
        match event {
            Event::Scalar(text, style, anchor, tag) => {
                let quoted = style != ScalarStyle::Plain;
                let refused = self.refuse_extras(at, anchor, tag.is_some());
                let value = if refused { Value::Refused } else { Value::Scalar { text: text.into_owned(), quoted } };
                self.add(Node { at, value });
            }
            Event::Alias(_) => {
                self.notes.refuse(at, Refusal::new("aliases (`*name`) are not allowed").allowed("write the value out"));
                self.add(Node { at, value: Value::Refused });
            }
            Event::SequenceStart(anchor, tag) => {
                self.refuse_extras(at, anchor, tag.is_some());
                return self.begin(at, Collection::List(Vec::new()));
            }
            Event::MappingStart(anchor, tag) => {
                self.refuse_extras(at, anchor, tag.is_some());
                return self.begin(at, Collection::Mapping { entries: Vec::new(), seen: HashMap::new(), key: None });
            }
            Event::SequenceEnd | Event::MappingEnd => {
                if let Some(Open { at, what }) = self.open.pop() {
                    let value = match what {
                        Collection::List(items) => Value::List(items),
                        Collection::Mapping { entries, .. } => Value::Mapping(entries),
                    };
                    self.add(Node { at, value });
                }
            }
            Event::DocumentStart(_) if self.root.is_some() => {
                let refusal = Refusal::new("a second document begins here").allowed("one file holds one document");
                self.notes.refuse(at, refusal);
                return ControlFlow::Break(());
            }
            Event::Nothing | Event::StreamStart | Event::StreamEnd | Event::DocumentStart(_) | Event::DocumentEnd => {}
        }
        ControlFlow::Continue(())
    }

    fn begin(&mut self, at: Position, what: Collection) -> ControlFlow<()> {
        if self.open.len() == DEEPEST {
            let refusal = Refusal::new(format!("lists and keys lie more than {DEEPEST} deep in each other here"))
                .allowed("a box or a frame needs no more than four");
            self.notes.refuse(at, refusal);
            return ControlFlow::Break(());
        }
        self.open.push(Open { at, what });
        ControlFlow::Continue(())
    }

    /// Puts a finished node where it belongs.
    fn add(&mut self, node: Node) {
        match self.open.last_mut().map(|open| &mut open.what) {
            None => self.root = Some(node),
            Some(Collection::List(items)) => items.push(node),
            Some(Collection::Mapping { entries, seen, key }) => match key.take() {
                None => *key = Some(read_key(node, seen, self.notes)),
                Some(Key { text: Some(text), at }) => entries.push(Entry { key: text, key_at: at, value: node }),
                Some(Key { text: None, .. }) => {}
            },
        }
    }

    /// Refuses an anchor or a tag; whether there was one.
    fn refuse_extras(&mut self, at: Position, anchor: usize, tagged: bool) -> bool {
        if anchor != 0 {
            self.notes.refuse(at, Refusal::new("anchors (`&name`) are not allowed").allowed("leave it out"));
        }
        if tagged {
            self.notes.refuse(at, Refusal::new("tags (`!name`) are not allowed").allowed("leave it out"));
        }
        anchor != 0 || tagged
    }
}

/// A node as a key that the mapping has not had yet.
fn read_key(node: Node, seen: &mut HashMap<String, Position>, notes: &mut Notes<'_>) -> Key {
    let Node { at, value } = node;
    let text = match value {
        Value::Scalar { text, quoted } if quoted || !text.is_empty() => text,
        Value::Refused => return Key { text: None, at },
        Value::Scalar { .. } | Value::List(_) | Value::Mapping(_) => {
            notes.refuse(at, Refusal::new("a word is missing before the colon").allowed("a key is a plain word"));
            return Key { text: None, at };
        }
    };
    match seen.entry(text.clone()) {
        MapEntry::Occupied(first) => {
            let what = format!("the key {} stands here a second time", quoted_text(&text));
            let allowed = format!("keep one of the two; the first is on line {}", first.get().line);
            notes.refuse(at, Refusal::new(what).allowed(allowed));
            Key { text: None, at }
        }
        MapEntry::Vacant(place) => {
            place.insert(at);
            Key { text: Some(text), at }
        }
    }
}
