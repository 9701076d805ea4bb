//! A stack as it is handed out: which piece goes into which cell, and what it makes.

use super::ranking::Candidate;
use super::search::Stacker;
use crate::kit::{Piece, Place};
use crate::optics::{Eye, Power};

/// A piece in a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlacedLens {
    /// The cell's number, from 1 at the eye.
    pub cell: u8,
    /// The piece.
    pub piece: Piece,
    /// The axis of a cylinder, 1 to 180.
    pub direction: Option<u16>,
}

/// A stack that makes the wanted power, or comes as near as can be.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Before which eye.
    pub eye: Eye,
    /// The lenses from cell 1 outward.
    pub cells: Vec<PlacedLens>,
    /// Its net power at cell 1.
    pub net: Power,
    /// How far it is from the wanted power, in dioptres.
    pub miss_d: f64,
    /// Whether that counts as reached.
    pub reaches: bool,
    /// Lenses out, lenses in and axes turned, from what is in the cells now.
    pub move_count: usize,
}

impl Proposal {
    /// Picks the pieces for a stack: what already stands in its cell stays, whole pieces come before damaged ones, and
    /// nothing in `taken` is used again.
    pub(super) fn of(stacker: &Stacker<'_>, eye: Eye, candidate: &Candidate, taken: &mut Vec<Piece>) -> Self {
        let slots = candidate.stack.slots();
        let mut chosen: Vec<Option<Piece>> = vec![None; slots.len()];
        for (slot, choice) in slots.iter().zip(&mut chosen) {
            let lens_type = &stacker.catalogue.types[usize::from(slot.type_id)];
            let in_cell = stacker.fitted.in_cell(eye, slot.cell + 1).map(|lens| &lens.stocked.piece);
            if let Some(piece) = in_cell.filter(|piece| lens_type.pieces.contains(piece) && !taken.contains(piece)) {
                taken.push(piece.clone());
                *choice = Some(piece.clone());
            }
        }
        for (slot, choice) in slots.iter().zip(&mut chosen).filter(|(_, choice)| choice.is_none()) {
            let pieces = &stacker.catalogue.types[usize::from(slot.type_id)].pieces;
            // free ones first, so that a lens before the other eye is taken from there only when it must be
            let open = |piece: &&Piece| !taken.contains(piece);
            let is_free = |piece: &Piece| stacker.fitted.stock.get(piece).is_some_and(|s| s.place == Place::Box);
            let piece = pieces.iter().filter(open).find(|piece| is_free(piece)).or_else(|| pieces.iter().find(open));
            if let Some(piece) = piece {
                taken.push(piece.clone());
                *choice = Some(piece.clone());
            }
        }
        let placed = |(slot, piece): (&super::space::Slot, Option<Piece>)| {
            let direction = stacker.catalogue.is_cylinder(slot.type_id).then_some(u16::from(slot.axis));
            piece.map(|piece| PlacedLens { cell: slot.cell + 1, piece, direction })
        };
        Self {
            eye,
            cells: slots.iter().zip(chosen).filter_map(placed).collect(),
            net: candidate.net,
            miss_d: candidate.miss,
            reaches: candidate.rank.reaches(),
            move_count: candidate.rank.moves(),
        }
    }
}
