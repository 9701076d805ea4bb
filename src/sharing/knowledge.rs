//! Which entries the writer of an entry knew.

use std::collections::BTreeMap;

use super::writer::{EntryRef, Heads};

/// What was known when each of some entries was written: what it names, what its writer named before, and all that its writer
/// wrote before. Nothing is taken to be known since somebody else knew it: that may never have arrived.
#[derive(Debug)]
pub struct Knowledge(BTreeMap<EntryRef, Heads>);

impl Knowledge {
    /// Of entries with what each of them names. An entry never knows itself or what its writer wrote later, whatever it says.
    pub fn of<'a>(entries: impl IntoIterator<Item = (EntryRef, &'a Heads)>) -> Self {
        let entries: BTreeMap<EntryRef, &Heads> = entries.into_iter().collect();
        let mut known: BTreeMap<EntryRef, Heads> = BTreeMap::new();
        // writer by writer in the order of their numbers: what a writer knows only grows
        for (entry, after) in entries {
            let before = known.last_key_value().filter(|(before, _)| before.writer == entry.writer);
            let mut heads = before.map(|(_, heads)| heads.clone()).unwrap_or_default();
            after.iter().filter(|(writer, _)| *writer != entry.writer).for_each(|(of, last)| heads.learn(of, last));
            heads.learn(entry.writer, entry.number - 1);
            known.insert(entry, heads);
        }
        Self(known)
    }

    /// Whether the writer of one entry knew another one.
    pub fn knows(&self, one: EntryRef, other: EntryRef) -> bool {
        self.0.get(&one).is_some_and(|heads| heads.know(other.writer, other.number))
    }

    /// Whether one entry was written in the knowledge of another one, and that one was not in the knowledge of it.
    pub fn supersedes(&self, one: EntryRef, other: EntryRef) -> bool {
        self.knows(one, other) && !self.knows(other, one)
    }
}
