//! What a person's hand may spoil of a proposal.

use super::proposal::{PlacedLens, Proposal};
use crate::frame::sureness::Sureness;
use crate::frame::{FittedFrame, InCell};
use crate::kit::Direction;
use crate::optics::Dioptres;

impl Proposal {
    /// What a hand may spoil of this stack once it stands in the frame; `mark_tolerance` is how far a lens may be off its mark,
    /// where that is known. `None` when there is no power to spoil.
    pub fn sureness(&self, fitted: &FittedFrame, mark_tolerance: Option<Dioptres>) -> Option<Sureness> {
        let placed = |placed: &PlacedLens| {
            let stocked = fitted.stock.get(&placed.piece)?;
            let direction = placed.direction.map_or(Direction::None, |degrees| placed.piece.lens.directed(degrees));
            Some(InCell { cell: placed.cell, stocked, direction })
        };
        fitted.sureness_of(self.cells.iter().filter_map(placed), mark_tolerance)
    }
}
