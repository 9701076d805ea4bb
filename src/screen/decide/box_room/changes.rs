//! What happens to the marked pieces, or to the one that is meant: each change that follows, or why it cannot be.

use super::super::super::box_page::BoxPage;
use super::super::super::request::Request;
use crate::kit::{BoxChange, Piece, Place, StockedPiece};

/// What can happen to pieces, before more is said of it.
pub struct Without {
    /// What is said when it is noted, before the pieces.
    word: &'static str,
    /// To which pieces of several that are marked alike.
    to: fn(&StockedPiece) -> bool,
    /// What becomes of one.
    make: fn(Piece) -> BoxChange,
}

fn is_here(stocked: &StockedPiece) -> bool {
    stocked.place == Place::Box
}

fn is_whole(stocked: &StockedPiece) -> bool {
    stocked.place.is_at_hand() && !stocked.damaged
}

impl Without {
    pub const LOST: Self = Self { word: "lost", to: |of| is_here(of) || of.place.is_lent(), make: BoxChange::Lost };
    pub const FOUND: Self = Self { word: "found", to: |of| of.place == Place::Lost, make: BoxChange::Found };
    pub const BROUGHT_BACK: Self =
        Self { word: "brought back", to: |of| of.place.is_lent(), make: BoxChange::Returned };
    pub const LENT: Self =
        Self { word: "lent", to: is_here, make: |piece| BoxChange::Lent { piece, to: Some(String::new()) } };
    pub const DAMAGED: Self = Self { word: "damaged", to: is_whole, make: BoxChange::Damaged };
    pub const MENDED: Self = Self { word: "mended", to: |of| of.damaged, make: BoxChange::Mended };
    pub const MEASURED: Self = Self { word: "measured", to: |of| of.place != Place::Retired, make: BoxChange::Mended };
}

/// Taken out of the set for good.
pub const OUT_FOR_GOOD: Without =
    Without { word: "out for good", to: |of| is_here(of) || of.place == Place::Lost, make: BoxChange::Retired };

/// Something that happens to pieces.
pub struct Happening {
    /// What is said when it is noted.
    said: String,
    /// The pieces, in words.
    pub pieces: String,
    /// What happens to each.
    changes: Vec<BoxChange>,
}

impl Happening {
    /// The same as something else than its change says by itself, piece by piece.
    pub fn with(self, said: String, change: impl Fn(Piece) -> BoxChange) -> Self {
        let changes = self.changes.iter().filter_map(BoxChange::piece).cloned().map(change).collect();
        Self { said: format!("{said}: {}", self.pieces), changes, ..self }
    }

    /// Of how many pieces it is.
    pub fn count(&self) -> usize {
        self.changes.len()
    }

    /// What is asked for it to be noted.
    pub fn noted(self) -> Request {
        Request::ChangeBox { changes: self.changes, said: self.said }
    }
}

/// What happens to the marked pieces, all or none; without any to the chosen one, or to the first of the chosen place to
/// which it can.
///
/// # Errors
/// With the reason in words, where it can happen to none, or not to all that are marked.
pub fn happens(page: &BoxPage, without: &Without) -> Result<Happening, String> {
    let pieces = if page.marked.is_empty() { vec![meant(page, without)?] } else { page.marked.clone() };
    let mut stock = page.now.stock.clone();
    let mut changes = Vec::new();
    for piece in &pieces {
        let change = (without.make)(piece.clone());
        stock.change(&change).map_err(|why| why.to_string())?;
        changes.push(change);
    }
    let pieces = in_words(&pieces);
    Ok(Happening { said: format!("{}: {pieces}", without.word), pieces, changes })
}

/// The chosen piece, or the first of the place to which it can happen, or the first.
fn meant(page: &BoxPage, without: &Without) -> Result<Piece, String> {
    let mut here = page.pieces();
    let chosen = match page.piece {
        Some(number) => here.find(|stocked| stocked.piece.number == number),
        None => page.pieces().find(|stocked| (without.to)(stocked)).or_else(|| here.next()),
    };
    chosen.map(|stocked| stocked.piece.clone()).ok_or_else(|| "the box has no pieces".to_owned())
}

/// Pieces in words: each where they are few, else how many there are.
fn in_words(pieces: &[Piece]) -> String {
    match pieces {
        [only] => only.to_string(),
        few if few.len() <= 3 => few.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
        many => format!("{} pieces", many.len()),
    }
}
