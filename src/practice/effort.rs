//! What an exam took: looks that were asked about, and lenses that the hand moved.

use serde::Serialize;

use crate::exam::Exam;
use crate::frame::Move;
use crate::kit::Piece;
use crate::optics::Eyes;

/// What an exam took.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Effort {
    /// Looks that were asked about.
    pub presentations: usize,
    /// Lenses put, taken, turned in a cell and held.
    pub moves: usize,
}

/// How many lenses were put, taken, turned in a cell and held in the steps that stand.
pub fn moves_of(exam: &Exam) -> usize {
    let moves = exam.standing_steps().iter().flatten();
    let mut held: Eyes<Option<&Piece>> = Eyes::both(None);
    let mut count = 0;
    for step in moves.filter_map(|event| event.moved()) {
        match step {
            Move::Put { .. } | Move::Take { .. } | Move::Turn { .. } => count += 1,
            // what is in the hand already is only turned
            Move::Hold { piece, eye, .. } => {
                count += usize::from(held[*eye] != Some(piece));
                held[*eye] = Some(piece);
            }
            Move::Lay { eye, .. } => held[*eye] = None,
        }
    }
    count
}
