//! A stack as it is handed out: which piece goes into which cell, and what it makes.

use super::cost::Cost;
use crate::kit::Piece;
use crate::optics::{CylinderForm, Eye, Power};

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

/// Lenses that are to stand in the cells before an eye, and nothing else.
#[derive(Debug, Clone, Copy)]
pub struct Arrangement<'a> {
    /// Before which eye.
    pub eye: Eye,
    /// The lenses from cell 1 outward.
    pub cells: &'a [PlacedLens],
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
    /// What it costs, in lenses: the least comes first.
    pub cost: Cost,
    /// The cylinder form in use when it was found.
    pub form: CylinderForm,
}

impl Proposal {
    /// Its lenses and cells.
    pub fn arrangement(&self) -> Arrangement<'_> {
        Arrangement { eye: self.eye, cells: &self.cells }
    }

    /// Its lenses as they are named: the spheres first and then the cylinders, each from cell 1 outward.
    pub fn by_kind(&self) -> impl Iterator<Item = &PlacedLens> {
        let of_kind = |cylinder: bool| self.cells.iter().filter(move |lens| lens.piece.lens.is_cylinder() == cylinder);
        of_kind(false).chain(of_kind(true))
    }

    /// Whether it is what stands in the cells already.
    pub fn is_in(&self) -> bool {
        self.cost.moves == 0.0
    }
}

/// What a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found<T> {
    /// Best first.
    pub list: Vec<T>,
    /// When the search had to stop before it had seen everything: no stack (for both eyes, no pair) that is not in the list
    /// costs less than this. `None` when the list is complete: nothing that is not in it comes before its last, but for other
    /// arrangements of the same lenses.
    pub bound: Option<f64>,
    /// How many lens choices and angles were looked at.
    pub steps: u64,
}

impl<T> Found<T> {
    /// Whether nothing that is not in the list can come before what is.
    pub fn is_complete(&self) -> bool {
        self.bound.is_none()
    }
}

/// That a search had to stop, and what it cannot rule out, in words.
pub fn stopped_early(bound: f64) -> String {
    format!("the search stopped early: others may cost as little as {bound:.2} lenses")
}
