//! What the things in a logbook are called by: exams, boxes, and the programs that have them open.

use std::fmt;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use unicode_normalization::UnicodeNormalization as _;
use uuid::Uuid;

/// The number of an exam in its logbook, from 1; never given twice. It is what people say; see [`ExamId`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ExamNumber(pub i64);

impl fmt::Display for ExamNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The identity of an exam, the same in every copy of the logbook and wherever the exam is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ExamId(Uuid);

impl ExamId {
    /// The exam with this identity.
    pub fn new(id: Uuid) -> Self {
        Self(id)
    }

    /// As a UUID: of version 7, or of version 5 for exams that were there before exams had one.
    pub fn uuid(self) -> Uuid {
        self.0
    }
}

impl fmt::Display for ExamId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The identity of a day, the same in every copy of the logbook.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DayId(Uuid);

impl DayId {
    /// The day with this identity.
    pub fn new(id: Uuid) -> Self {
        Self(id)
    }

    /// As a UUID of version 7.
    pub fn uuid(self) -> Uuid {
        self.0
    }
}

impl fmt::Display for DayId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The identity of a sitting of a drill, the same in every copy of the logbook.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SittingId(Uuid);

impl SittingId {
    /// The sitting with this identity.
    pub fn new(id: Uuid) -> Self {
        Self(id)
    }

    /// As a UUID of version 7.
    pub fn uuid(self) -> Uuid {
        self.0
    }
}

/// By what the logbook knows a box: the `id` of its file, or its name where the file has none.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct BoxKey(String);

const BY_ID: &str = "id:";
const BY_NAME: &str = "name:";

impl BoxKey {
    /// Of a box whose file has an `id`.
    pub fn of_id(id: &str) -> Self {
        Self(format!("{BY_ID}{id}"))
    }

    /// Of a box whose file has none. One name in two Unicode forms is one box.
    pub fn of_name(name: &str) -> Self {
        Self(BY_NAME.chars().chain(name.nfc()).collect())
    }

    /// Whether it is the `id` of a file, not a name only.
    pub fn is_id(&self) -> bool {
        self.0.starts_with(BY_ID)
    }

    /// As it is kept.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// A key as it is kept.
    pub(super) fn kept(text: String) -> Self {
        Self(text)
    }
}

impl fmt::Display for BoxKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bare = [BY_ID, BY_NAME].into_iter().find_map(|kind| self.0.strip_prefix(kind));
        f.write_str(bare.unwrap_or(&self.0))
    }
}

/// A box as it is named: by what the logbook knows it, and what people call it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedBox {
    /// By what the logbook knows it.
    pub key: BoxKey,
    /// What people call it.
    pub name: String,
}

impl NamedBox {
    /// A box whose file may have an `id`.
    pub fn new(id: Option<&str>, name: &str) -> Self {
        let key = id.map_or_else(|| BoxKey::of_name(name), BoxKey::of_id);
        Self { key, name: name.to_owned() }
    }
}

/// The program that has a box open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder {
    /// Its process number; `None` when it has not said yet.
    pub process: Option<u32>,
    /// The computer or container it runs in, if it knows its name.
    pub host: Option<String>,
    /// Since when.
    pub since: Option<Timestamp>,
    /// The exam it is in, if any.
    pub exam: Option<ExamNumber>,
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("another Dioptray")?;
        let process = self.process.map(|process| format!(" (process {process}"));
        if let Some(process) = process {
            let host = self.host.as_ref().map(|host| format!(" on {host}")).unwrap_or_default();
            write!(f, "{process}{host})")?;
        }
        if let Some(exam) = self.exam {
            write!(f, ", in exam {exam}")?;
        }
        self.since.map_or(Ok(()), |since| write!(f, ", since {since:.0}"))
    }
}
