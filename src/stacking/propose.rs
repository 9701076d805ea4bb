//! From the best stacks to proposals: which pieces they are made of.

use super::options::SearchOptions;
use super::pairs;
use super::proposal::{Found, PlacedLens, Proposal};
use super::ranking::Candidate;
use super::search::Stacker;
use super::space::Slot;
use super::work::Work;
use crate::frame::FittedFrame;
use crate::kit::{Piece, StockedPiece};
use crate::optics::{Eye, Eyes, Power};

/// Proposals for one eye, best first. Lenses before the other eye or in the hand stay there.
pub fn propose(fitted: &FittedFrame, eye: Eye, wanted: Power, options: &SearchOptions) -> Found<Proposal> {
    Stacker::for_eye(fitted, eye).propose(eye, wanted, options)
}

/// Proposals for both eyes that go together, best first; no piece is used twice.
pub fn propose_both(fitted: &FittedFrame, wanted: Eyes<Power>, options: &SearchOptions) -> Found<Eyes<Proposal>> {
    Stacker::for_both_eyes(fitted).propose_both(wanted, options)
}

impl Stacker<'_> {
    /// Proposals for one eye, best first.
    pub fn propose(&self, eye: Eye, wanted: Power, options: &SearchOptions) -> Found<Proposal> {
        let work = Work::new();
        let candidates = self.candidates(eye, wanted, options, &self.catalogue.available, &work);
        let last = candidates.last().filter(|last| last.reaches && candidates.len() == options.limit);
        let bound = bound(&work, last.map(|last| last.cost.total()));
        let list = candidates.iter().map(|candidate| pick(self, eye, candidate, &mut Vec::new())).collect();
        Found { list, bound, steps: work.spent() }
    }

    /// Proposals for both eyes that go together, best first.
    pub fn propose_both(&self, wanted: Eyes<Power>, options: &SearchOptions) -> Found<Eyes<Proposal>> {
        let work = Work::new();
        let pairs = pairs::best(self, wanted, options, &work);
        let reaches = |pair: &&Eyes<Candidate>| pair.right.reaches && pair.left.reaches;
        let last = pairs.last().filter(reaches).filter(|_| pairs.len() == options.limit);
        let bound = bound(&work, last.map(|last| last.right.cost.total() + last.left.cost.total()));
        let pair = |pair: Eyes<Candidate>| {
            let mut taken = Vec::new();
            Eyes::from_fn(|eye| pick(self, eye, &pair[eye], &mut taken))
        };
        Found { list: pairs.into_iter().map(pair).collect(), bound, steps: work.spent() }
    }
}

/// The bound to report; nothing where it is not below the cost of the last of a full list that reaches.
fn bound(work: &Work, last: Option<f64>) -> Option<f64> {
    let bound = work.bound();
    let is_below = last.is_none_or(|last| bound < last);
    (bound.is_finite() && is_below).then_some(bound)
}

/// Picks the pieces for a stack: what already stands in its cell stays, and nothing in `taken` is used again.
fn pick(stacker: &Stacker<'_>, eye: Eye, candidate: &Candidate, taken: &mut Vec<Piece>) -> Proposal {
    let slots = candidate.stack.slots();
    let mut chosen: Vec<Option<Piece>> = vec![None; slots.len()];
    for (slot, choice) in slots.iter().zip(&mut chosen) {
        let of_type = |piece: &Piece| stacker.catalogue.pieces(slot.type_id).iter().any(|of| of.piece == *piece);
        let in_cell = stacker.fitted.in_cell(eye, slot.cell + 1).map(|lens| &lens.stocked.piece);
        if let Some(piece) = in_cell.filter(|piece| of_type(piece) && !taken.contains(piece)) {
            taken.push(piece.clone());
            *choice = Some(piece.clone());
        }
    }
    for (slot, choice) in slots.iter().zip(&mut chosen).filter(|(_, choice)| choice.is_none()) {
        let pieces = stacker.catalogue.pieces(slot.type_id);
        // free ones first, so that a lens before the other eye is taken from there only when it must be
        let open = |stocked: &&&StockedPiece| !taken.contains(&stocked.piece);
        let free = pieces.iter().filter(open).find(|stocked| stocked.is_free());
        if let Some(stocked) = free.or_else(|| pieces.iter().find(open)) {
            taken.push(stocked.piece.clone());
            *choice = Some(stocked.piece.clone());
        }
    }
    let placed = |(slot, piece): (&Slot, Option<Piece>)| {
        let direction = stacker.catalogue.is_cylinder(slot.type_id).then_some(u16::from(slot.axis));
        piece.map(|piece| PlacedLens { cell: slot.cell + 1, piece, direction })
    };
    Proposal {
        eye,
        cells: slots.iter().zip(chosen).filter_map(placed).collect(),
        net: candidate.net,
        miss_d: candidate.miss,
        reaches: candidate.reaches,
        cost: candidate.cost,
        form: candidate.form,
    }
}
