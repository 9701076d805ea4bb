//! A stack as it is handed out: which piece goes into which cell, and what it makes.

use crate::kit::Piece;
use crate::optics::{Eye, Power};

/// A piece in a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlacedLens {
    /// The cell's number, from 1 at the eye.
    pub cell: u8,
    /// The piece that stands there, or is to.
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
