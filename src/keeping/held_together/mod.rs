//! Which lenses are off their mark, found without an instrument: two lenses of the box are held together before a line far
//! away and moved, and the line moves *with* them (minus is left), *against* them (plus is left) or stands still.
//!
//! A plus lens and a minus lens of one power neutralise each other; where they do not, one of the two is off, and further
//! looks with others of their like say which. Each look is worth little, a hand being no finer than about an eighth; what
//! many looks say together is computed as chances ([`belief`]), and the next look is the one that is expected to say most
//! ([`choosing`]).
//!
//! - [`law`]: what a hand sees, with the figures it rests on;
//! - [`belief`]: what the looks say of every lens; [`mod@suspects`]: which lenses are named;
//! - [`choosing`]: what to look at next.

pub mod belief;
pub mod choosing;
pub mod law;
pub mod suspects;

pub use belief::Beliefs;
pub use suspects::{Suspect, suspects};

use crate::kit::{BoxChange, Motion, Piece};

/// Lenses that were held together, and how the line moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// The two lenses, and where no two come near nothing a weak third one.
    pub pieces: Vec<Piece>,
    /// How the line behind them moved.
    pub seen: Motion,
}

impl Look {
    /// The look that a change of a box notes, if it notes one.
    pub fn noted(change: &BoxChange) -> Option<Self> {
        change.looked().map(|(pieces, seen)| Self { pieces, seen })
    }

    /// What notes it; `None` of fewer than two lenses.
    pub fn to_note(&self) -> Option<BoxChange> {
        let [piece, with @ ..] = self.pieces.as_slice() else { return None };
        (!with.is_empty()).then(|| BoxChange::Looked { piece: piece.clone(), with: with.to_vec(), seen: self.seen })
    }
}
