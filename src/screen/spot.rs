//! A place for a lens before an eye.

/// A place for a lens before one eye.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spot {
    /// A cell by its number from 1.
    Cell(u8),
    /// The hand in front of the frame.
    Hand,
}

impl Spot {
    /// The number of the cell, where it is one.
    pub fn cell(self) -> Option<u8> {
        match self {
            Self::Cell(cell) => Some(cell),
            Self::Hand => None,
        }
    }
}
