//! A frame as its file declares it.

use serde::{Deserialize, Serialize};

use crate::optics::Millimetres;

/// The most cells a frame may have before one eye.
pub const MOST_CELLS: usize = 8;

/// The pupillary distances to which a frame can be set.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PdRange {
    /// The least, both eyes together.
    pub least: Millimetres,
    /// The most, both eyes together.
    pub most: Millimetres,
}

/// A place for one lens.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CellSpec {
    /// What the maker or the examiner calls it.
    pub name: String,
    /// Distance from the cell before it, nearer the eye; zero for the first.
    pub gap: Millimetres,
    /// Whether it turns, so that a cylinder can be set to an axis in it.
    pub turns: bool,
    /// Cells with the same ring turn together and hold one axis.
    pub ring: Option<String>,
}

/// One declared frame; the cells are the same for both eyes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DeclaredFrame {
    /// What its owner calls it, as lists and records show it.
    pub name: String,
    /// Distance from the cornea to the back vertex of the lens in cell 1.
    pub vertex: Millimetres,
    /// Pupillary distances it can be set to.
    pub pd: Option<PdRange>,
    /// Degrees between the marks of its dial.
    pub axis_marks_deg: u8,
    /// The cells from the eye outward, 1 to 8.
    pub cells: Vec<CellSpec>,
}

impl DeclaredFrame {
    /// A cell by its number from 1.
    pub fn cell(&self, number: u8) -> Option<&CellSpec> {
        self.cells.get(usize::from(number).checked_sub(1)?).filter(|_| usize::from(number) <= MOST_CELLS)
    }

    /// Whether it has at least one cell and no more than [`MOST_CELLS`], as every frame must that is used.
    pub fn is_within_limits(&self) -> bool {
        (1..=MOST_CELLS).contains(&self.cells.len())
    }

    /// Numbers of the cells, from 1, nearest the eye first; never more than [`MOST_CELLS`].
    pub fn cell_numbers(&self) -> impl DoubleEndedIterator<Item = u8> + use<> {
        1..=self.cells.len().min(MOST_CELLS) as u8
    }

    /// The distances between neighbouring cells, from the eye outward.
    pub fn gaps(&self) -> Vec<Millimetres> {
        self.cells.iter().skip(1).map(|cell| cell.gap).collect()
    }

    /// The cells that turn together with this one, itself included; none when it does not turn.
    pub fn turning_with(&self, number: u8) -> Vec<u8> {
        let Some(cell) = self.cell(number).filter(|cell| cell.turns) else {
            return Vec::new();
        };
        self.cell_numbers()
            .filter(|&other| {
                other == number
                    || cell.ring.is_some() && self.cell(other).is_some_and(|o| o.turns && o.ring == cell.ring)
            })
            .collect()
    }
}
