//! A bag that went out of a box as a box of its own, and what of it is in that box again.

use super::error::LogbookError;
use super::happened::{BoxEntries, StoredBoxEntry};
use super::names::{BoxKey, NamedBox};
use super::store::Logbook;
use crate::kit::bag::{note_of_bag, numbered_afresh};
use crate::kit::{BoxChange, DeclaredBox, Lens, Piece, Place, Stock, StockedPiece};

/// What the box from which a bag went knows of it.
#[derive(Debug, Clone, PartialEq)]
pub struct OfBag {
    /// That box.
    pub home: NamedBox,
    /// How many pieces went.
    went: usize,
    /// Those that came back or are lost there, as they are numbered in the bag.
    settled: Vec<Piece>,
    /// What came into the bag while it was away, and went into the box with it.
    further: Vec<Lens>,
}

impl OfBag {
    /// Whether all of it came back or is lost, by `box return` or piece by piece.
    pub fn is_back(&self) -> bool {
        self.settled.len() == self.went
    }

    /// Takes out of the bag what is in the box again: no piece is in both.
    pub(super) fn take_out_of(&self, bag: &mut Stock, declared: &DeclaredBox) {
        let went = Stock::of(declared);
        let mut gone: Vec<StockedPiece> = self.settled.iter().filter_map(|piece| bag.get(piece)).cloned().collect();
        for lens in &self.further {
            let came = |of: &&StockedPiece| of.place.is_at_hand() && went.get(&of.piece).is_none();
            let is_taken = |of: &&StockedPiece| gone.iter().any(|gone| gone.piece == of.piece);
            let next = bag.of_lens(lens).filter(came).find(|of| !is_taken(of)).cloned();
            gone.extend(next);
        }
        for of in gone.into_iter().filter(|of| !of.place.has_left_the_set()) {
            let place = Place::Moved { to: self.home.key.as_str().to_owned() };
            // a piece that the file of the bag does not declare any more is not in it either
            let _ = bag.put_back(&StockedPiece { place, ..of });
        }
    }
}

/// The entries about a bag that stand, in the box from which it went.
pub fn about_bag<'a>(entries: &'a BoxEntries, bag: &str) -> impl Iterator<Item = &'a StoredBoxEntry> {
    let text = note_of_bag(bag);
    entries.all.iter().filter(move |stored| {
        stored.body.note() == Some(text.as_str())
            && !stored.body.changes().is_empty()
            && entries.taken_back_by(stored.entry).is_none()
    })
}

/// Whether it lends all that it is about.
pub fn goes_out(stored: &StoredBoxEntry) -> bool {
    stored.body.changes().iter().all(BoxChange::lends)
}

impl Logbook {
    /// What the box from which a bag went knows of it; nothing for what is not a bag. What cannot be read there is passed over.
    ///
    /// # Errors
    /// When the logbook cannot be read.
    pub fn bag(&self, bag: &BoxKey) -> Result<Option<OfBag>, LogbookError> {
        if !bag.is_id() {
            return Ok(None);
        }
        let id = bag.to_string();
        for (home, _) in self.boxes()? {
            let entries = self.entries_read(&home.key)?.entries;
            let Some(out) = about_bag(&entries, &id).find(|stored| goes_out(stored)) else { continue };
            let later = entries.all.iter().filter(|stored| stored.place > out.place);
            let later = later.filter(|stored| entries.taken_back_by(stored.entry).is_none());
            let since: Vec<Piece> = later
                .flat_map(|stored| entries.changes_of(stored))
                .filter(|change| change.takes_away() || change.brings_back())
                .filter_map(|change| change.piece())
                .collect();
            let pieces: Vec<Piece> = out.body.changes().iter().filter_map(BoxChange::piece).collect();
            let numbered = pieces.iter().zip(numbered_afresh(&pieces));
            let settled = numbered.filter(|(piece, _)| since.contains(piece)).map(|(_, in_the_bag)| in_the_bag);
            let returns = about_bag(&entries, &id).filter(|stored| stored.place > out.place);
            let added = returns.flat_map(|stored| stored.body.changes()).filter(|change| change.added().is_some());
            return Ok(Some(OfBag {
                settled: settled.collect(),
                further: added.map(|change| change.lens().clone()).collect(),
                went: pieces.len(),
                home,
            }));
        }
        Ok(None)
    }
}
