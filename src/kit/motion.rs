//! How a line far away moves behind lenses that are held up and moved.

use serde::{Deserialize, Serialize};

/// How it moves. By Prentice's rule minus shifts it the way the lenses are moved, plus the other way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Motion {
    /// The way the lenses are moved: minus is left.
    With,
    /// The other way: plus is left.
    Against,
    /// Not at all.
    Still,
}

impl Motion {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::With, Self::Against, Self::Still];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::With => "with",
            Self::Against => "against",
            Self::Still => "still",
        }
    }
}
