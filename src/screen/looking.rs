//! Lenses that are looked through: pairs of the box held together, and a lens that nobody knows.

use crate::keeping::held_together::{Beliefs, Look, Suspect, choosing, suspects};
use crate::keeping::unknown_lens::{Ask, Turned, UnknownLens};
use crate::kit::{Motion, Piece, Stock};
use crate::session::BoxNow;

/// What the looks at pairs say so far.
#[derive(Debug, Clone, PartialEq)]
pub struct PairsSeen {
    /// How many looks there were.
    pub looks: usize,
    /// What to hold together next; nothing when no further look is worth it.
    pub next: Option<Vec<Piece>>,
    /// The lenses that may be off their mark, the surest first.
    pub suspects: Vec<Suspect>,
    /// Free lenses that no others come near.
    pub out_of_reach: Vec<Piece>,
}

impl PairsSeen {
    /// Of a box as it is now.
    pub fn of(now: &BoxNow) -> Self {
        let looks: Vec<Look> = now.looked.iter().filter_map(Look::noted).collect();
        let beliefs = Beliefs::of(&now.stock, &looks);
        let pieces = |lenses: Vec<usize>| -> Vec<Piece> {
            lenses.into_iter().map(|lens| beliefs.candidates()[lens].piece.clone()).collect()
        };
        Self {
            looks: looks.len(),
            next: choosing::next(&beliefs).map(pieces),
            suspects: suspects(&beliefs),
            out_of_reach: pieces(choosing::out_of_reach(&beliefs)),
        }
    }
}

/// What was seen through the lens that nobody knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Seen {
    Turned(Turned),
    Moved(Motion),
}

/// A lens that nobody knows, and what was seen through it so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Unmarked {
    begun: UnknownLens,
    seen: Vec<Seen>,
    /// The lens with all of it taken in.
    pub lens: UnknownLens,
}

impl Unmarked {
    /// Begins with the loose lenses of a box.
    pub fn begin(stock: &Stock) -> Self {
        let begun = UnknownLens::begin(stock);
        Self { lens: begun.clone(), begun, seen: Vec::new() }
    }

    /// Whether it is asked how the cross behaves.
    pub fn asks_to_turn(&self) -> bool {
        self.lens.ask() == Some(Ask::Turn)
    }

    /// Whether it is asked how the line moves.
    pub fn asks_how_it_moves(&self) -> bool {
        !self.asks_to_turn() && self.lens.ask().is_some()
    }

    /// Whether anything was said yet.
    pub fn is_begun(&self) -> bool {
        !self.seen.is_empty()
    }

    /// What was said so far, a word each.
    pub fn words(&self) -> Vec<&'static str> {
        let word = |seen: &Seen| match seen {
            Seen::Turned(turned) => turned.word(),
            Seen::Moved(motion) => motion.word(),
        };
        self.seen.iter().map(word).collect()
    }

    /// Takes in how the cross behaves.
    pub fn turned(&mut self, turned: Turned) {
        if self.asks_to_turn() {
            self.take_in(Seen::Turned(turned));
        }
    }

    /// Takes in how the line moves.
    pub fn moved(&mut self, motion: Motion) {
        if self.asks_how_it_moves() {
            self.take_in(Seen::Moved(motion));
        }
    }

    fn take_in(&mut self, seen: Seen) {
        self.seen.push(seen);
        match seen {
            Seen::Turned(turned) => self.lens.turned(turned),
            Seen::Moved(motion) => self.lens.moved(motion),
        }
    }

    /// Takes the last answer back.
    pub fn take_back(&mut self) {
        self.seen.pop();
        self.lens = self.begun.clone();
        for seen in std::mem::take(&mut self.seen) {
            self.take_in(seen);
        }
    }
}
