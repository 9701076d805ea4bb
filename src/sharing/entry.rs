//! An entry: what is done for good, numbered and chained by the one who wrote it.

use std::fmt;

use super::body::{Fields, Hash};
use super::writer::WriterId;

/// The kinds of what is done for good.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EntryKind {
    /// A closed exam; about the exam's identity.
    Exam,
    /// Something added to a closed exam; about the exam's identity.
    Amendment,
    /// Something that happened to a piece of a box; about the box's key.
    BoxChange,
    /// Something that happened in a day; about the day's identity.
    Day,
    /// An answer to a drill; about the identity of its sitting.
    Drill,
    /// Made by a newer program: kept and passed on, but not understood here.
    Newer(String),
}

impl EntryKind {
    /// The kind with this kept name.
    pub fn from_name(name: &str) -> Self {
        match name {
            "exam" => Self::Exam,
            "amendment" => Self::Amendment,
            "box_change" => Self::BoxChange,
            "day" => Self::Day,
            "drill" => Self::Drill,
            other => Self::Newer(other.to_owned()),
        }
    }

    /// Whether its body is what was found of a person.
    pub fn is_of_exam(&self) -> bool {
        match self {
            Self::Exam | Self::Amendment => true,
            Self::BoxChange | Self::Day | Self::Drill | Self::Newer(_) => false,
        }
    }

    /// The name under which it is kept.
    pub fn name(&self) -> &str {
        match self {
            Self::Exam => "exam",
            Self::Amendment => "amendment",
            Self::BoxChange => "box_change",
            Self::Day => "day",
            Self::Drill => "drill",
            Self::Newer(name) => name,
        }
    }
}

impl fmt::Display for EntryKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// An entry before it has a number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Which kind, and so what `about` and the body are.
    pub kind: EntryKind,
    /// The bytes of an exam's identity, or of a box's key.
    pub about: Vec<u8>,
    /// Who did it, if that was said.
    pub by: Option<String>,
    /// When, RFC 3339 in UTC; nothing is ordered by it.
    pub at: String,
    /// Which earlier changes of the same piece its writer knew, as [`Heads`](super::Heads) in JSON.
    pub after: Option<String>,
    /// The form of its body.
    pub format: i64,
    /// SHA-256 of its body before it was deflated.
    pub body_hash: Hash,
}

/// An entry in its place in its writer's chain.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sealed {
    /// Who wrote it.
    pub writer: WriterId,
    /// Its number among those of the writer: 1, 2, 3 and so on without gaps.
    pub number: i64,
    /// What is numbered here.
    pub entry: Entry,
    /// The hash of the one before it and of every field; the body counts by its hash, so that it can be erased and the
    /// chain still holds.
    pub hash: Hash,
}

impl Entry {
    /// Puts the entry after the last one of its writer: that one's number and hash; 0 and [`Hash::NONE`] when it is the first.
    pub fn seal(self, writer: WriterId, last: i64, last_hash: Hash) -> Sealed {
        let number = last + 1;
        let hash = self.hash(writer, number, last_hash);
        Sealed { writer, number, entry: self, hash }
    }

    fn hash(&self, writer: WriterId, number: i64, before: Hash) -> Hash {
        Fields::default()
            .field(before.as_bytes())
            .field(writer.uuid().as_bytes())
            .field(&number.to_be_bytes())
            .field(self.kind.name().as_bytes())
            .field(&self.about)
            .maybe(self.by.as_deref().map(str::as_bytes))
            .field(self.at.as_bytes())
            .maybe(self.after.as_deref().map(str::as_bytes))
            .field(&self.format.to_be_bytes())
            .field(self.body_hash.as_bytes())
            .hash()
    }
}

impl Sealed {
    /// Whether the hash is that of this entry after one with this hash.
    pub fn follows(&self, before: Hash) -> bool {
        self.entry.hash(self.writer, self.number, before) == self.hash
    }
}
