//! How pieces are marked by whoever keeps their box.

use std::collections::HashMap;

use super::change::BoxChange;
use super::lens::Piece;

/// The most characters of a mark: a word or two.
pub const LONGEST_MARK: usize = 30;

/// The marks that pieces of a box have of their keeper: a word or two each, by which a hand finds the piece among its like.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OwnMarks(HashMap<Piece, String>);

impl OwnMarks {
    /// What stands after these changes.
    pub fn of(changes: impl IntoIterator<Item = BoxChange>) -> Self {
        let mut marks = Self::default();
        changes.into_iter().for_each(|change| marks.change(&change));
        marks
    }

    /// Goes along with a change.
    pub fn change(&mut self, change: &BoxChange) {
        if let BoxChange::Marked { piece, own_mark } = change {
            match own_mark {
                Some(own_mark) => self.0.insert(piece.clone(), own_mark.clone()),
                None => self.0.remove(piece),
            };
        }
    }

    /// How a piece is marked, if it is.
    pub fn of_piece(&self, piece: &Piece) -> Option<&str> {
        self.0.get(piece).map(String::as_str)
    }
}
