//! A lens in a cell of its own over what is worn: the working lens of retinoscopy, or the addition.
//!
//! It is put into one cell and stays there while the lenses under it change, and it alone comes out at the end.

use crate::frame::fitted::InCell;
use crate::frame::{FittedFrame, Move};
use crate::kit::{Lens, Mark, Piece};
use crate::optics::{Dioptres, Eye, Power};
use crate::stacking::{Arrangement, PlacedLens, Proposal, SearchOptions, moves::movements, propose};

/// The lenses under it make what is wanted of them within this, in dioptres: a quarter of the smallest step.
const NEAR_D: f64 = 0.065;

/// How often the lenses under it are corrected for what it does through the gaps.
const TIMES: usize = 2;

/// The spheres that do not stand in the cell nearest to the eye, each with its cell: what may stand over the others.
pub(super) fn spheres_in_front(fitted: &FittedFrame, eye: Eye) -> Vec<(Piece, u8)> {
    let spheres = fitted.in_cells(eye).filter(|lens| lens.cell > 1 && lens.stocked.piece.lens.is_sphere());
    spheres.map(|lens| (lens.stocked.piece.clone(), lens.cell)).collect()
}

/// The moves to a power before an eye of which a sphere of this mark stands in a cell of its own; `None` where there is no such
/// lens, or no room for it.
pub(super) fn moves(fitted: &FittedFrame, eye: Eye, wanted: Power, over: Dioptres) -> Option<Vec<Move>> {
    let mut under = wanted - Power::sphere(over);
    let mut found = None;
    for _ in 0..TIMES {
        let moves = moves_under(fitted, eye, under, over)?;
        let mut then = fitted.clone();
        for step in &moves {
            then.apply(step).ok()?;
        }
        let off = wanted - then.in_front_of(eye).net;
        found = Some(moves);
        if off.blur_strength() <= NEAR_D {
            break;
        }
        under += off;
    }
    found
}

/// The moves to lenses that make a power, and a sphere of this mark over them.
fn moves_under(fitted: &FittedFrame, eye: Eye, under: Power, over: Dioptres) -> Option<Vec<Move>> {
    let lens = Lens::Sphere(Mark::nearest(over.0));
    let makes_it = |bare: &FittedFrame| under.miss(bare.in_front_of(eye).net) <= NEAR_D;
    let there = spheres_in_front(fitted, eye);
    // the very lens, or one of another mark that stood over what is wanted
    let stood = there.iter().find(|lens| without(fitted, eye, Some(lens)).is_some_and(|bare| makes_it(&bare)));
    let before = there.iter().find(|(piece, _)| piece.lens == lens).or(stood);
    let mut bare = without(fitted, eye, before)?;
    let kept = before.filter(|(piece, _)| piece.lens == lens).map(|(piece, _)| piece.clone());
    let piece = kept.or_else(|| bare.stock.free_piece(&lens).map(|stocked| stocked.piece.clone()))?;
    // in the hand it is no part of what is found for under it
    bare.apply(&Move::Hold { piece: piece.clone(), eye, direction: None }).ok()?;
    let mut cells = if makes_it(&bare) {
        let powered = bare.in_cells(eye).filter(|lens| !lens.stocked.piece.lens.stays_in_its_cell());
        powered.map(placed).collect()
    } else {
        if let Some((_, cell)) = before {
            close(&mut bare, eye, *cell);
        }
        let room = bare.frame.cell_numbers().count();
        let options = SearchOptions { limit: 4 * room, ..SearchOptions::default() };
        let taken = |lens: &PlacedLens| before.is_some_and(|(_, cell)| *cell == lens.cell);
        let leaves_room = |found: &Proposal| !found.cells.iter().any(taken) && found.cells.len() < room;
        propose(&bare, eye, under, &options).list.into_iter().find(leaves_room)?.cells
    };
    let cell = before.map(|(_, cell)| *cell).or_else(|| cell_over(&bare, eye, &cells))?;
    cells.push(PlacedLens { cell, piece, direction: None });
    Some(movements(fitted, &[Arrangement { eye, cells: &cells }]).moves)
}

/// Keeps a cell out of a search by what stays where it is put, where the box has such a thing to spare.
fn close(bare: &mut FittedFrame, eye: Eye, cell: u8) {
    let stays = |lens: &Lens| lens.stays_in_its_cell() && !lens.has_direction();
    let free = bare.stock.pieces().iter().find(|stocked| stocked.is_free() && stays(&stocked.piece.lens));
    if let Some(piece) = free.map(|stocked| stocked.piece.clone()) {
        // where it does not fit, what would take the cell is passed over
        let _put = bare.apply(&Move::Put { piece, eye, cell, direction: None });
    }
}

/// The frame without one of its lenses and without what is held before the eye.
fn without(fitted: &FittedFrame, eye: Eye, taken: Option<&(Piece, u8)>) -> Option<FittedFrame> {
    let mut bare = fitted.clone();
    if let Some(piece) = bare.held(eye).map(|held| held.stocked.piece.clone()) {
        bare.apply(&Move::Lay { piece, eye }).ok()?;
    }
    if let Some((piece, cell)) = taken {
        bare.apply(&Move::Take { piece: piece.clone(), eye, cell: *cell }).ok()?;
    }
    Some(bare)
}

fn placed(lens: InCell<'_>) -> PlacedLens {
    PlacedLens { cell: lens.cell, piece: lens.stocked.piece.clone(), direction: lens.direction.degrees() }
}

/// The cell for a lens over these: one in which no cylinder can turn, the nearest; else the outermost that is free.
fn cell_over(bare: &FittedFrame, eye: Eye, under: &[PlacedLens]) -> Option<u8> {
    let is_free = |cell: &u8| {
        let kept = bare.in_cell(eye, *cell).is_some_and(|lens| lens.stocked.piece.lens.stays_in_its_cell());
        *cell > 1 && !kept && under.iter().all(|lens| lens.cell != *cell)
    };
    let free: Vec<u8> = bare.frame.cell_numbers().filter(is_free).collect();
    let plain = free.iter().find(|&&cell| bare.frame.turning_with(cell).is_empty());
    plain.or(free.last()).copied()
}
