//! A shelf as its file declares it.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::kit::Mark;

/// One kind of ready-made pair.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ShelfPair {
    /// The sphere of both eyes in dioptres.
    pub sphere: f64,
    /// Whether it is for reading.
    pub near: bool,
    /// How far the centres of its two lenses stand apart, in millimetres.
    pub centres_mm: f64,
}

/// In words: `-1.50, centres 62 mm`, or `+2.00 for near, centres 58 mm`.
impl fmt::Display for ShelfPair {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let near = if self.near { " for near" } else { "" };
        write!(f, "{}{near}, centres {} mm", Mark::nearest(self.sphere), self.centres_mm)
    }
}

/// One kind of pair and how many there are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShelfLine {
    /// The kind.
    pub pair: ShelfPair,
    /// How many there ever were.
    pub pieces: u32,
}

/// One declared shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct DeclaredShelf {
    /// What its owner calls it; by this the logbook counts what was given out.
    pub name: String,
    /// What is to be remembered of it.
    pub note: Option<String>,
    /// Every kind of pair, in the order of the file.
    pub lines: Vec<ShelfLine>,
}
