//! What happens to the marked pieces, or to the one that is meant: each change that follows, or why it cannot be.

use super::super::super::box_page::BoxPage;
use super::super::super::request::BoxRequest;
use crate::kit::{BoxChange, Mark, Measurement, Piece, Place, StockedPiece};
use crate::session::ToNote;

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

/// Said of a loan until it is said to whom.
const SOMEBODY: &str = "somebody";

impl Without {
    /// Nobody knows where it is.
    pub const LOST: Self = Self { word: "lost", to: |of| is_here(of) || of.place.is_lent(), make: BoxChange::Lost };
    /// It is here again.
    pub const FOUND: Self = Self { word: "found", to: |of| of.place == Place::Lost, make: BoxChange::Found };
    /// Whoever had it brought it back.
    pub const BROUGHT_BACK: Self =
        Self { word: "brought back", to: |of| of.place.is_lent(), make: BoxChange::Returned };
    /// Given to somebody for a while.
    pub const LENT: Self = Self {
        word: "lent",
        to: is_here,
        make: |piece| BoxChange::Lent { piece, to: Some(SOMEBODY.to_owned()), until: None },
    };
    /// Scratched, chipped or loose in its rim.
    pub const DAMAGED: Self =
        Self { word: "damaged", to: is_whole, make: |piece| BoxChange::Damaged { piece, what: None } };
    /// Whole again.
    pub const MENDED: Self = Self { word: "mended", to: |of| of.damaged, make: BoxChange::Mended };
    /// Measured, as yet at its mark.
    pub const MEASURED: Self = Self {
        word: "measured",
        to: |of| !of.place.has_left_the_set(),
        make: |piece| {
            let measurement = Measurement::of(piece.lens.mark().map_or(0.0, Mark::dioptres));
            BoxChange::Measured { piece, measurement }
        },
    };
    /// Taken out of the set.
    pub const OUT_FOR_GOOD: Self =
        Self { word: "out for good", to: |of| is_here(of) || of.place == Place::Lost, make: BoxChange::Retired };
    /// Gone over to another box.
    pub const MOVED: Self = Self { word: "moved", to: is_here, make: |piece| BoxChange::moved_to(piece, "") };
    /// Something is to be remembered of it.
    pub const NOTE: Self = Self {
        word: "noted",
        to: |of| !of.place.has_left_the_set(),
        make: |piece| BoxChange::Note { piece, text: String::new() },
    };
}

/// Something that happens to pieces.
#[derive(Debug)]
pub struct Happening {
    /// What is said when it is noted.
    said: String,
    /// The pieces, in words.
    pub pieces: String,
    /// What happens to each.
    changes: Vec<BoxChange>,
}

impl Happening {
    /// Of how many pieces it is.
    pub fn count(&self) -> usize {
        self.changes.len()
    }

    /// What is asked for it to be noted.
    pub fn noted(self) -> BoxRequest {
        BoxRequest::ChangeBox { to_note: ToNote { changes: self.changes, note: None }, said: self.said }
    }
}

/// What happens to the marked pieces, all or none; without any to the chosen one, or to the first of the chosen place to
/// which it can.
///
/// # Errors
/// With the reason in words, where it can happen to none, or not to all that are marked, or where it is not clear to which.
pub fn happens(page: &BoxPage, without: &Without) -> Result<Happening, String> {
    happens_as(page, without, without.word, without.make)
}

/// The same with more said of it.
///
/// # Errors
/// As [`happens`].
pub fn happens_as(
    page: &BoxPage,
    without: &Without,
    said: &str,
    make: impl Fn(Piece) -> BoxChange,
) -> Result<Happening, String> {
    let pieces = if page.marked.is_empty() { vec![meant(page, without)?] } else { page.marked.clone() };
    let changes: Vec<BoxChange> = pieces.iter().cloned().map(make).collect();
    page.now.stock.clone().note_all(&changes).map_err(|(_, why)| why.to_string())?;
    let pieces = in_words(&pieces);
    Ok(Happening { said: format!("{said}: {pieces}"), pieces, changes })
}

/// The chosen piece, or the first of the place to which it can happen, or the first. Of those to which it can, one that is lost
/// or that somebody else has is not taken for one in another place.
fn meant(page: &BoxPage, without: &Without) -> Result<Piece, String> {
    let mut here = page.pieces();
    let mut fitting = page.pieces().filter(|stocked| (without.to)(stocked));
    let chosen = match page.piece {
        Some(number) => here.find(|stocked| stocked.piece.number == number),
        None => fitting.next().or_else(|| here.next()),
    };
    let StockedPiece { piece, place, .. } = chosen.ok_or("the box has no pieces")?;
    match fitting.find(|other| page.piece.is_none() && other.place != *place) {
        Some(other) => Err(format!("{piece} is {place} and {} is {}: choose which one", other.piece, other.place)),
        None => Ok(piece.clone()),
    }
}

/// Pieces in words: each where they are few, else how many there are.
pub fn in_words(pieces: &[Piece]) -> String {
    match pieces {
        [only] => only.to_string(),
        few if few.len() <= 3 => few.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
        many => format!("{} pieces", many.len()),
    }
}
