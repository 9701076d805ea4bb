//! Which entries the writer of an entry knew.

use std::collections::BTreeMap;

use super::writer::{EntryRef, Heads, WriterId};

/// What was known when each of some entries was written: what it names, all that its writer wrote before, and whatever was
/// known when those were written.
#[derive(Debug)]
pub struct Knowledge(BTreeMap<EntryRef, Heads>);

impl Knowledge {
    /// Of entries with what each of them names. An entry never knows itself or what its writer wrote later, whatever it says.
    pub fn of<'a>(entries: impl IntoIterator<Item = (EntryRef, &'a Heads)>) -> Self {
        let mut known: BTreeMap<EntryRef, Heads> = BTreeMap::new();
        for (entry, after) in entries {
            let mut heads = Heads::default();
            after.iter().filter(|(writer, _)| *writer != entry.writer).for_each(|(of, last)| heads.learn(of, last));
            if entry.number > 1 {
                heads.learn(entry.writer, entry.number - 1);
            }
            known.insert(entry, heads);
        }
        let mut known = Self(known);
        // what is known only grows, up to what all know together
        while known.pass_on() {}
        known
    }

    /// Has each entry know what those knew that it knows; whether anything came of it.
    fn pass_on(&mut self) -> bool {
        let mut grew = false;
        let entries: Vec<EntryRef> = self.0.keys().copied().collect();
        for entry in entries {
            let Some(heads) = self.0.get(&entry) else { continue };
            let mut more = heads.clone();
            for (writer, last) in heads.iter() {
                if let Some(known) = self.last_up_to(writer, last) {
                    known.iter().filter(|(of, _)| *of != entry.writer).for_each(|(of, last)| more.learn(of, last));
                }
            }
            if more != *heads {
                self.0.insert(entry, more);
                grew = true;
            }
        }
        grew
    }

    /// What was known to the last entry of a writer up to a number: all that was known to those before it too.
    fn last_up_to(&self, writer: WriterId, number: i64) -> Option<&Heads> {
        let range = EntryRef { writer, number: i64::MIN }..=EntryRef { writer, number };
        self.0.range(range).next_back().map(|(_, heads)| heads)
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
