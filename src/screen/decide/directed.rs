//! What is in a place before an eye, and how it is turned.

use super::super::app::App;
use super::super::spot::Spot;
use crate::frame::InCell;
use crate::kit::Piece;
use crate::optics::Eye;

/// The direction of a lens in a cell, for the lenses that have one.
pub fn shown(lens: &InCell<'_>) -> Option<u16> {
    lens.direction.degrees()
}

/// What is in a place before an eye, with its direction.
pub fn at(app: &App, eye: Eye, spot: Spot) -> Option<(Piece, u16)> {
    let fitted = &app.state().fitted;
    match spot {
        Spot::Cell(cell) => {
            fitted.in_cell(eye, cell).map(|lens| (lens.stocked.piece.clone(), fitted.direction(eye, cell)))
        }
        Spot::Hand => {
            fitted.held(eye).map(|held| (held.stocked.piece.clone(), held.direction.degrees().unwrap_or(180)))
        }
    }
}

/// A piece with the direction that a move needs, as the cell or the hand has it.
pub fn direction_for(piece: &Piece, direction: u16) -> Option<u16> {
    piece.lens.directed(direction).degrees()
}
