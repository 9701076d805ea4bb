//! The movements from what is in the cells to a proposal, in an order that is safe for the eye.
//!
//! The eye is never left briefly with less plus or more minus than it had or will have, for it would accommodate: minus
//! lenses come out before others go in, plus lenses go in before others come out, and a plus lens that changes is held in
//! front while its cell is emptied (common practice, no source).

use std::borrow::Cow;

use super::proposal::{Arrangement, PlacedLens, Proposal};
use crate::frame::{FittedFrame, Move};
use crate::kit::{Piece, Place};
use crate::optics::Eye;

/// How much less plus than before and after, in dioptres of spherical equivalent, counts as none: below the weakest lens.
const UNNOTICED_D: f64 = 0.06;

/// Moves in order, and whether the eye has to be covered meanwhile.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Movements {
    /// The moves, first to last; each can be made when its turn comes.
    pub moves: Vec<Move>,
    /// No order spares the eye a moment with less plus or more minus: cover it while the lenses change.
    pub cover_eye: bool,
}

impl Proposal {
    /// The moves from what is in the cells now to this proposal.
    pub fn movements(&self, fitted: &FittedFrame) -> Movements {
        movements(fitted, &[self.arrangement()])
    }
}

/// The moves to one arrangement an eye, right before left.
pub fn movements(fitted: &FittedFrame, arrangements: &[Arrangement<'_>]) -> Movements {
    let mut now = Cow::Borrowed(fitted);
    let mut all = Movements::default();
    for (nth, wanted) in arrangements.iter().enumerate() {
        let freed = free_from_other_eye(&now, wanted);
        all.cover_eye |= !freed.is_empty();
        if !freed.is_empty() {
            run(now.to_mut(), &freed);
        }
        all.moves.extend(freed);
        let plan = Plan::of(&now, wanted);
        let gentle = plan.gentle(&now);
        let (moves, spared) = match spares_the_eye(&now, wanted.eye, &gentle) {
            Some(spared) => (gentle, spared),
            None => (plan.plain(), false),
        };
        all.cover_eye |= !spared;
        if nth + 1 < arrangements.len() {
            run(now.to_mut(), &moves);
        }
        all.moves.extend(moves);
    }
    all
}

fn run(fitted: &mut FittedFrame, moves: &[Move]) {
    for step in moves {
        // a plan that cannot be run is refused again, with its reason, where the moves are really made
        if fitted.apply(step).is_err() {
            return;
        }
    }
}

fn free_from_other_eye(now: &FittedFrame, wanted: &Arrangement<'_>) -> Vec<Move> {
    let eye = wanted.eye.other();
    let needed = |piece: &Piece| wanted.cells.iter().any(|lens| lens.piece == *piece);
    now.in_cells(eye)
        .filter(|lens| needed(&lens.stocked.piece))
        .map(|lens| Move::Take { piece: lens.stocked.piece.clone(), eye, cell: lens.cell })
        .collect()
}

/// Whether making the moves leaves the eye with no less plus at any moment than it has before or afterwards; `None` when
/// they cannot be made.
pub fn spares_the_eye(now: &FittedFrame, eye: Eye, moves: &[Move]) -> Option<bool> {
    let mut frame = now.clone();
    let plus = |frame: &FittedFrame| frame.in_front_of(eye).net_with_hand.m;
    let mut through = vec![plus(&frame)];
    for step in moves {
        frame.apply(step).ok()?;
        through.push(plus(&frame));
    }
    Some(less_plus_meanwhile_d(&through) <= UNNOTICED_D)
}

/// By how much less plus, or more minus, an eye had meanwhile than both before and afterwards, in dioptres; `through` are the
/// equivalents before it, in order.
pub fn less_plus_meanwhile_d(through: &[f64]) -> f64 {
    let (Some(first), Some(last)) = (through.first(), through.last()) else { return 0.0 };
    let least = through.iter().copied().fold(f64::INFINITY, f64::min);
    first.min(*last) - least
}

/// What has to change in the cells of one eye.
struct Plan {
    eye: Eye,
    /// Pieces that leave their cell, with their power.
    out: Vec<(Piece, u8, f64)>,
    /// Pieces that come into a cell, with their power.
    into: Vec<(PlacedLens, f64)>,
    turns: Vec<Move>,
}

impl Plan {
    fn of(now: &FittedFrame, arrangement: &Arrangement<'_>) -> Self {
        let eye = arrangement.eye;
        let mut plan = Self { eye, out: Vec::new(), into: Vec::new(), turns: Vec::new() };
        let wanted_in = |cell: u8| arrangement.cells.iter().find(|lens| lens.cell == cell);
        for lens in now.in_cells(eye) {
            let stays = lens.stocked.piece.lens.stays_in_its_cell();
            match wanted_in(lens.cell) {
                Some(wanted) if wanted.piece == lens.stocked.piece => {
                    if let Some(direction) = wanted.direction.filter(|&d| Some(d) != lens.direction.degrees()) {
                        plan.turns.push(Move::Turn { eye, cell: lens.cell, direction });
                    }
                }
                _ if stays => {}
                _ => plan.out.push((lens.stocked.piece.clone(), lens.cell, lens.stocked.power().0)),
            }
        }
        for lens in arrangement.cells {
            let there = now.in_cell(eye, lens.cell).is_some_and(|other| other.stocked.piece == lens.piece);
            if !there {
                let power = now.stock.get(&lens.piece).map_or(0.0, |stocked| stocked.power().0);
                plan.into.push((lens.clone(), power));
            }
        }
        plan
    }

    fn take(&self, (piece, cell, _): &(Piece, u8, f64)) -> Move {
        Move::Take { piece: piece.clone(), eye: self.eye, cell: *cell }
    }

    fn put(&self, lens: &PlacedLens) -> Move {
        Move::Put { piece: lens.piece.clone(), eye: self.eye, cell: lens.cell, direction: lens.direction }
    }

    /// Minus out, plus in, axes turned, plus exchanged (the growing ones first), plus out, minus in.
    fn gentle(&self, now: &FittedFrame) -> Vec<Move> {
        let mut moves: Vec<Move> = self.out.iter().filter(|out| out.2 <= 0.0).map(|out| self.take(out)).collect();
        let plus_out: Vec<_> = self.out.iter().filter(|out| out.2 > 0.0).collect();
        let (plus_in, minus_in): (Vec<_>, Vec<_>) = self.into.iter().partition(|(_, power)| *power > 0.0);
        let blocker = |lens: &PlacedLens| plus_out.iter().find(|out| out.1 == lens.cell);
        let relocated = |lens: &PlacedLens| plus_out.iter().any(|out| out.0 == lens.piece);

        for (lens, _) in &plus_in {
            if blocker(lens).is_none() && !relocated(lens) {
                moves.push(self.put(lens));
            }
        }
        moves.extend(self.turns.iter().cloned());
        let mut exchanges: Vec<_> = plus_in
            .iter()
            .filter(|(lens, _)| !relocated(lens))
            .filter_map(|(lens, power)| blocker(lens).map(|out| (*out, lens, power - out.2)))
            .collect();
        exchanges.sort_by(|a, b| b.2.total_cmp(&a.2));
        let hand_free = now.stock.at(&Place::Hand { eye: self.eye }).is_none();
        for (out, lens, _) in &exchanges {
            if hand_free {
                moves.push(Move::Hold { piece: lens.piece.clone(), eye: self.eye, direction: lens.direction });
            }
            moves.push(self.take(out));
            moves.push(self.put(lens));
        }
        let exchanged = |out: &(Piece, u8, f64)| exchanges.iter().any(|(other, _, _)| other.1 == out.1);
        moves.extend(plus_out.iter().filter(|out| !exchanged(out)).map(|out| self.take(out)));
        moves.extend(plus_in.iter().filter(|(lens, _)| relocated(lens)).map(|(lens, _)| self.put(lens)));
        moves.extend(minus_in.iter().map(|(lens, _)| self.put(lens)));
        moves
    }

    /// Everything out, axes turned, everything in.
    fn plain(&self) -> Vec<Move> {
        let mut moves: Vec<Move> = self.out.iter().map(|out| self.take(out)).collect();
        moves.extend(self.turns.iter().cloned());
        moves.extend(self.into.iter().map(|(lens, _)| self.put(lens)));
        moves
    }
}
