//! A stock-take on the screen: the row and the lens in it that the keys work on.

use std::rc::Rc;

use crate::kit::stock_take::Said;
use crate::kit::{Lens, Place, StockTake, StockedPiece};

/// The most steps back.
const MOST_BACK: usize = 100;

/// A stock-take in progress.
#[derive(Debug, Clone, PartialEq)]
pub struct Counting {
    /// What was said so far, as it is kept.
    pub take: Rc<StockTake>,
    /// As it was before each thing that was said since it was opened, the last of them last.
    pub before: Vec<Rc<StockTake>>,
    /// The row, from 0.
    pub row: usize,
    /// The lens in the row, from 0.
    pub lens: usize,
    /// Which of its pieces is meant; whichever it can be where none is chosen.
    pub piece: Option<u8>,
    /// Whether the pieces are counted without seeing what should be there.
    pub blind: bool,
    /// Whether what it comes to is shown, and asked about.
    pub ends: bool,
}

impl Counting {
    /// Goes on with a stock-take at the first row that was not yet counted.
    pub fn of(take: StockTake) -> Self {
        let row = take.next_row().unwrap_or(0);
        let (before, lens, piece) = (Vec::new(), 0, None);
        Self { take: Rc::new(take), before, row, lens, piece, blind: false, ends: false }
    }

    /// The lens that the keys work on.
    pub fn lens(&self) -> Option<&Lens> {
        self.take.rows().get(self.row)?.lenses.get(self.lens)
    }

    /// Its pieces, as they were known to be when the count began.
    pub fn pieces(&self) -> Vec<StockedPiece> {
        self.lens().map(|lens| self.take.pieces_of(lens).cloned().collect()).unwrap_or_default()
    }

    /// The piece that is meant: the chosen one, or the first of which the row shows one thing rather than another.
    pub fn meant(&self, shows: impl Fn(&Said) -> bool) -> Option<StockedPiece> {
        let pieces = self.pieces();
        let chosen = |of: &&StockedPiece| self.piece == Some(of.piece.number);
        let found = match self.piece {
            Some(_) => pieces.iter().find(chosen),
            None => pieces.iter().find(|of| shows(&self.take.shown(of))),
        };
        found.cloned()
    }

    /// The stock-take as it becomes; what it was can be come back to.
    #[must_use]
    pub fn then(&self, change: impl FnOnce(&mut StockTake)) -> Self {
        let mut take = (*self.take).clone();
        change(&mut take);
        let mut next = self.clone();
        next.before.push(Rc::clone(&self.take));
        let spare = next.before.len().saturating_sub(MOST_BACK);
        next.before.drain(..spare);
        next.take = Rc::new(take);
        next
    }

    /// The stock-take before the last thing that was said since it was opened.
    pub fn back(&self) -> Option<Self> {
        let mut back = self.clone();
        back.take = back.before.pop()?;
        Some(back)
    }

    /// Goes to a lens of a row.
    pub fn go_to(&mut self, row: usize, lens: usize) {
        self.row = row.min(self.take.rows().len().saturating_sub(1));
        let lenses = self.take.rows().get(self.row).map_or(0, |row| row.lenses.len());
        (self.lens, self.piece) = (lens.min(lenses.saturating_sub(1)), None);
    }

    /// Goes some lenses on or back, from row to row.
    pub fn step(&mut self, step: isize) {
        let lenses = self.take.rows().get(self.row).map_or(0, |row| row.lenses.len());
        let to = self.lens.saturating_add_signed(step);
        if step < 0 && self.lens == 0 && self.row > 0 {
            self.go_to(self.row - 1, usize::MAX);
        } else if to >= lenses && self.row + 1 < self.take.rows().len() {
            self.go_to(self.row + 1, 0);
        } else {
            self.go_to(self.row, to);
        }
    }

    /// Where a lens lies: its row and its place there.
    pub fn place_of(&self, lens: &Lens) -> Option<(usize, usize)> {
        let place = |row: &crate::kit::stock_take::CountRow| row.lenses.iter().position(|of| of == lens);
        self.take.rows().iter().enumerate().find_map(|(at, row)| Some((at, place(row)?)))
    }

    /// How many pieces lie in the rows that were counted, or were spoken of apart, and how many there are in all.
    pub fn seen(&self) -> (usize, usize) {
        let rows = 0..self.take.rows().len();
        let of_row = |row: usize| {
            let counted = self.take.rows()[row].counted;
            let pieces: Vec<&StockedPiece> = self.take.pieces_of_row(row).collect();
            let seen = pieces.iter().filter(|of| counted || self.take.said(&of.piece).is_some()).count();
            (seen, pieces.len())
        };
        rows.map(of_row).fold((0, 0), |sum, of| (sum.0 + of.0, sum.1 + of.1))
    }
}

/// What a row shows of a piece, in a word; capitals where it was said and is otherwise than was known.
pub fn shown_in_words(take: &StockTake, stocked: &StockedPiece) -> String {
    let said = take.said(&stocked.piece);
    let word = match take.shown(stocked) {
        Said::Here => "here",
        Said::Damaged { .. } => "damaged",
        Said::Missing => match &stocked.place {
            Place::Lent { .. } => "lent",
            Place::Lost => "lost",
            Place::InTwoPlaces => "in two places",
            Place::Box | Place::Cell { .. } | Place::Hand { .. } | Place::Retired | Place::Moved { .. } => "gone",
        },
    };
    let was_there = stocked.place.is_at_hand();
    let is_damaged = |said: &Said| said.is_there() && *said != Said::Here;
    let differs =
        said.is_some_and(|said| said.is_there() != was_there || said.is_there() && is_damaged(said) != stocked.damaged);
    if differs { word.to_uppercase() } else { word.to_owned() }
}
