//! Which changes a box already has in it, seen by its pieces.

use std::collections::HashMap;

use crate::kit::{BoxChange, Piece, Place, Stock, StockedPiece};

/// The three separate facts of a piece that changes are about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Fact {
    Place,
    Damage,
    Power,
}

/// How many of these changes, from the first, the box has in it: the most with which each piece is as the last of them left
/// it. Changes of pieces that the box does not have count as made, and so do further pieces, when that many are there.
pub fn applied_in<'a>(stock: &Stock, changes: impl Iterator<Item = &'a BoxChange>) -> usize {
    let mut last: HashMap<(&Piece, Fact), bool> = HashMap::new();
    let mut added: HashMap<String, usize> = HashMap::new();
    let mut applied = 0;
    for (place, change) in (1..).zip(changes) {
        if let Some(piece) = change.piece() {
            let stocked = stock.get(&piece);
            if stocked.is_none() && change.added().is_some() {
                break;
            }
            if let Some((stocked, (fact, as_left))) = stocked.and_then(|one| Some((one, left_by(change, one)?))) {
                last.insert((&stocked.piece, fact), as_left);
            }
        } else {
            let so_far = added.entry(change.lens().to_string()).or_insert(0);
            *so_far += 1;
            if stock.of_lens(change.lens()).count() < *so_far {
                break;
            }
        }
        if last.values().all(|as_left| *as_left) {
            applied = place;
        }
    }
    applied
}

/// Which fact of a piece a change is about, and whether the piece is as the change left it; nothing for what leaves it as it is.
fn left_by(change: &BoxChange, stocked: &StockedPiece) -> Option<(Fact, bool)> {
    let place = |as_left: bool| Some((Fact::Place, as_left));
    match change {
        BoxChange::Lost(_) => place(stocked.place == Place::Lost),
        BoxChange::Found(_) | BoxChange::Returned(_) | BoxChange::Added(_) => place(stocked.place.is_at_hand()),
        BoxChange::Lent { to, .. } => place(stocked.place == Place::Lent { to: to.clone() }),
        BoxChange::Retired(_) => place(stocked.place == Place::Retired),
        BoxChange::Moved { to, .. } => place(stocked.place == Place::Moved { to: to.clone() }),
        BoxChange::Settled { at, .. } => place(stocked.place == at.place()),
        BoxChange::Damaged { .. } => Some((Fact::Damage, stocked.damaged)),
        BoxChange::Mended(_) => Some((Fact::Damage, !stocked.damaged)),
        BoxChange::Measured { measurement, .. } => {
            Some((Fact::Power, (stocked.power().0 - measurement.power).abs() < 1e-9))
        }
        BoxChange::Looked { .. } | BoxChange::Marked { .. } | BoxChange::Note { .. } => None,
    }
}
