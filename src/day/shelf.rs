//! The shelf of a day: what was declared, what was given out, what is left.

use serde::{Deserialize, Serialize};

use crate::exam::{OffTheShelf, ReadyMadeLimits};
use crate::kit::shelf::{DeclaredShelf, ShelfPair};

/// The shelf from which pairs are given in a day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DayShelf {
    /// What it is called; by this earlier days counted off it too.
    pub name: String,
    /// By which limits two eyes are held against one sphere.
    #[serde(default)]
    pub limits: ReadyMadeLimits,
    /// Every kind of pair.
    pub pairs: Vec<DayShelfLine>,
}

/// One kind of pair on the shelf of a day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DayShelfLine {
    /// The kind.
    pub pair: ShelfPair,
    /// How many there ever were, as the file declares it.
    pub declared: u32,
    /// How many of them were given out on earlier days.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub gone: u32,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands it so")]
fn is_zero(count: &u32) -> bool {
    *count == 0
}

/// One kind of pair with what is left of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShelfLeft {
    /// The kind.
    pub pair: ShelfPair,
    /// How many there ever were.
    pub declared: u32,
    /// How many of them were given out, on any day.
    pub given: u32,
}

impl ShelfLeft {
    /// How many are left.
    pub fn left(&self) -> u32 {
        self.declared.saturating_sub(self.given)
    }
}

/// A pair that was given to somebody.
#[derive(Debug, Clone, PartialEq)]
pub struct PairGiven {
    /// The running number of the person.
    pub number: u32,
    /// In which exam.
    pub exam: uuid::Uuid,
    /// The pair.
    pub off: OffTheShelf,
}

impl DayShelf {
    /// A declared shelf, of which earlier days gave pairs out.
    pub fn of(declared: &DeclaredShelf, limits: ReadyMadeLimits, earlier: &[OffTheShelf]) -> Self {
        let gone = |pair: &ShelfPair| {
            let same = |off: &&OffTheShelf| off.shelf == declared.name && off.pair == *pair;
            u32::try_from(earlier.iter().filter(same).count()).unwrap_or(u32::MAX)
        };
        let line = |line: &crate::kit::shelf::ShelfLine| DayShelfLine {
            pair: line.pair,
            declared: line.pieces,
            gone: gone(&line.pair),
        };
        Self { name: declared.name.clone(), limits, pairs: declared.lines.iter().map(line).collect() }
    }

    /// What is left of each kind, once these were given out today.
    pub fn left(&self, given: &[PairGiven]) -> Vec<ShelfLeft> {
        let today = |pair: &ShelfPair| {
            let same = |given: &&PairGiven| given.off.shelf == self.name && given.off.pair == *pair;
            u32::try_from(given.iter().filter(same).count()).unwrap_or(u32::MAX)
        };
        let left = |line: &DayShelfLine| ShelfLeft {
            pair: line.pair,
            declared: line.declared,
            given: line.gone.saturating_add(today(&line.pair)),
        };
        self.pairs.iter().map(left).collect()
    }
}
