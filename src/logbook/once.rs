//! How the steps of an exam are written, each value that is shown once: form 2 of their rows.
//!
//! In form 1 a step is its events as they write themselves. In form 2 a power, and everything that is shown of one moment, is
//! written where it comes first in the exam; from then on `{"p":3}` stands for the fourth power and `{"s":3}` for the fourth
//! that is shown, counted over the rows of form 2 in the order of their numbers, undone ones among them. Events of form 2 are
//! those of form 1, so that whoever reads a row has the same.

use std::collections::HashMap;
use std::path::Path;

use serde_json::{Map, Value};

use super::error::LogbookError;
use super::row::{self, Stored};
use crate::exam::Event;

/// The form of the rows that are written now.
pub const FORMAT: i64 = 2;

/// The fields of a power, and of what is shown; the last one is only there where something is in the hand.
const POWER: [&str; 3] = ["j0", "j45", "m"];
const SHOWN: [&str; 3] = ["cells", "from", "to"];
const IN_HAND: &str = "mark_in_hand";

/// What is written a second time by its number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Kind {
    Power,
    Shown,
}

impl Kind {
    const ALL: [Self; 2] = [Self::Power, Self::Shown];

    /// What a whole value is, if it is one of these.
    fn of(fields: &Map<String, Value>) -> Option<Self> {
        let has = |names: [&str; 3]| names.iter().all(|name| fields.contains_key(*name));
        match fields.len() {
            3 if has(POWER) && fields.values().all(Value::is_number) => Some(Self::Power),
            3 if has(SHOWN) => Some(Self::Shown),
            4 if has(SHOWN) && fields.contains_key(IN_HAND) => Some(Self::Shown),
            _ => None,
        }
    }

    /// The field that holds the number in place of the value.
    fn field(self) -> &'static str {
        match self {
            Self::Power => "p",
            Self::Shown => "s",
        }
    }
}

/// How much the rows of an exam had written at a moment.
#[derive(Debug, Clone, Copy)]
pub struct Mark {
    powers: usize,
    shown: usize,
}

/// What the rows of form 2 of an exam have written so far.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Written {
    numbers: HashMap<(Kind, String), usize>,
    powers: Vec<Value>,
    shown: Vec<Value>,
}

impl Written {
    /// Writes a step, and refuses one that would not read back as it is; what it wrote counts from then on.
    /// [`Written::back_to`] takes it back when the step is not kept.
    pub fn encode(&mut self, events: &[Event]) -> Result<Stored, LogbookError> {
        let what = "this step";
        let refused = |reason: String| LogbookError::NotStorable { what: what.to_owned(), reason };
        let value = serde_json::to_value(events).map_err(|error| refused(error.to_string()))?;
        let before = self.mark();
        let text = self.shortened(value).to_string();
        self.back_to(before);
        let stored = Stored { format: FORMAT, text };
        let problem = match self.decode(&stored, Path::new(""), what) {
            Ok(back) if back == events => return Ok(stored),
            Ok(_) => "it would not read back as it was entered".to_owned(),
            Err(error) => format!("it holds something that is not a number or not a text ({error})"),
        };
        self.back_to(before);
        Err(refused(problem))
    }

    /// How much is written.
    pub fn mark(&self) -> Mark {
        Mark { powers: self.powers.len(), shown: self.shown.len() }
    }

    /// Takes back what was written since.
    pub fn back_to(&mut self, mark: Mark) {
        for (kind, before) in [(Kind::Power, mark.powers), (Kind::Shown, mark.shown)] {
            for value in self.of(kind).split_off(before) {
                self.numbers.remove(&(kind, value.to_string()));
            }
        }
    }

    /// Reads a step of any form; `what` names the row in an error. The rows of an exam are read one after the other.
    pub fn decode(&mut self, stored: &Stored, path: &Path, what: &str) -> Result<Vec<Event>, LogbookError> {
        let refused = |reason| LogbookError::unreadable(path, what, reason);
        match stored.format {
            row::FORMAT => stored.decode(path, what),
            FORMAT => {
                let value = serde_json::from_str(&stored.text).map_err(|error| refused(error.to_string()))?;
                let whole = self.whole(value).map_err(refused)?;
                serde_json::from_value(whole).map_err(|error| refused(error.to_string()))
            }
            newer => Err(refused(format!("it has row form {newer}, and this program knows forms to {FORMAT}"))),
        }
    }

    fn of(&mut self, kind: Kind) -> &mut Vec<Value> {
        match kind {
            Kind::Power => &mut self.powers,
            Kind::Shown => &mut self.shown,
        }
    }

    /// Notes a whole value; gives its number where it was there before.
    fn note(&mut self, kind: Kind, whole: &Value) -> Option<usize> {
        let next = self.of(kind).len();
        let number = *self.numbers.entry((kind, whole.to_string())).or_insert(next);
        if number < next {
            return Some(number);
        }
        self.of(kind).push(whole.clone());
        None
    }

    fn shortened(&mut self, value: Value) -> Value {
        match value {
            Value::Array(values) => values.into_iter().map(|value| self.shortened(value)).collect(),
            Value::Object(fields) => {
                let kind = Kind::of(&fields);
                let whole = Value::Object(fields.clone());
                if let Some((kind, number)) = kind.and_then(|kind| Some((kind, self.note(kind, &whole)?))) {
                    return Value::Object(Map::from_iter([(kind.field().to_owned(), number.into())]));
                }
                fields.into_iter().map(|(name, value)| (name, self.shortened(value))).collect()
            }
            other => other,
        }
    }

    fn whole(&mut self, value: Value) -> Result<Value, String> {
        match value {
            Value::Array(values) => values.into_iter().map(|value| self.whole(value)).collect(),
            Value::Object(fields) => {
                for kind in Kind::ALL.into_iter().filter(|_| fields.len() == 1) {
                    if let Some(number) = fields.get(kind.field()) {
                        let written = number.as_u64().and_then(|number| self.of(kind).get(number as usize));
                        return written
                            .cloned()
                            .ok_or_else(|| format!("{number} stands for what was not written before"));
                    }
                }
                // what is shown has its number before the powers in it have theirs, as it was written
                let place = Kind::of(&fields).map(|kind| (kind, self.of(kind).len()));
                if let Some((kind, _)) = place {
                    self.of(kind).push(Value::Null);
                }
                let whole: Map<String, Value> = fields
                    .into_iter()
                    .map(|(name, value)| Ok((name, self.whole(value)?)))
                    .collect::<Result<_, String>>()?;
                let whole = Value::Object(whole);
                if let Some((kind, place)) = place {
                    self.of(kind)[place] = whole.clone();
                    self.numbers.entry((kind, whole.to_string())).or_insert(place);
                }
                Ok(whole)
            }
            other => Ok(other),
        }
    }
}
