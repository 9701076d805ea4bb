//! What a hand can do to the frame.

use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::kit::{NotFree, Piece, StockError};
use crate::optics::Eye;

/// One movement of the hand. Cells are numbered from 1, nearest the eye; directions are degrees on the dial.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Move {
    /// A piece from the box or the hand goes into an empty cell, turned to a direction when it has one.
    Put {
        /// A piece that is in the box or in the hand.
        piece: Piece,
        /// Before which eye.
        eye: Eye,
        /// Into which cell.
        cell: u8,
        /// Axis of a cylinder (1 to 180), base of a prism (0 to 359).
        direction: Option<u16>,
    },
    /// What is in a cell goes back into the box.
    Take {
        /// The piece that the cell must hold.
        piece: Piece,
        /// Before which eye.
        eye: Eye,
        /// Out of which cell.
        cell: u8,
    },
    /// A turning cell, and every cell of its ring, is turned to an axis.
    Turn {
        /// Before which eye.
        eye: Eye,
        /// Any cell of the ring, from 1 at the eye.
        cell: u8,
        /// To which direction in degrees.
        direction: u16,
    },
    /// A piece is held in front of the frame.
    Hold {
        /// What is to be held.
        piece: Piece,
        /// Before which eye.
        eye: Eye,
        /// Axis of a cylinder, minus axis of a cross cylinder, base of a prism.
        direction: Option<u16>,
    },
    /// What is held before an eye goes back into the box.
    Lay {
        /// The piece that the hand must hold.
        piece: Piece,
        /// Before which eye.
        eye: Eye,
    },
}

impl fmt::Display for Move {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let at = |direction: &Option<u16>| direction.map(|d| format!("×{d}")).unwrap_or_default();
        match self {
            Self::Put { piece, cell, direction, .. } => write!(f, "put {}{} in {cell}", piece.lens, at(direction)),
            Self::Take { piece, cell, .. } => write!(f, "take {} from {cell}", piece.lens),
            Self::Turn { cell, direction, .. } => write!(f, "turn {cell} to {direction}"),
            Self::Hold { piece, direction, .. } => write!(f, "hold {}{} in front", piece.lens, at(direction)),
            Self::Lay { piece, .. } => write!(f, "put {} back", piece.lens),
        }
    }
}

impl Move {
    /// The lens that is moved; none for a cell that is turned.
    pub fn piece(&self) -> Option<&Piece> {
        match self {
            Self::Put { piece, .. } | Self::Take { piece, .. } | Self::Hold { piece, .. } | Self::Lay { piece, .. } => {
                Some(piece)
            }
            Self::Turn { .. } => None,
        }
    }

    /// The eye that the move is before.
    pub fn eye(&self) -> Eye {
        match self {
            Self::Put { eye, .. }
            | Self::Take { eye, .. }
            | Self::Turn { eye, .. }
            | Self::Hold { eye, .. }
            | Self::Lay { eye, .. } => *eye,
        }
    }
}

/// A move that cannot be made now.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum MoveError {
    /// The frame has no such cell.
    #[error("the frame has no cell {cell}: it has {cells}")]
    NoSuchCell {
        /// The cell that was asked for.
        cell: u8,
        /// How many there are.
        cells: usize,
    },
    /// The cell holds something already.
    #[error("cell {cell} of the {eye} eye holds {occupant}: take it out first or use another cell")]
    CellTaken {
        /// The eye before which the cell is.
        eye: Eye,
        /// Its number, from 1 at the eye.
        cell: u8,
        /// What is there.
        occupant: Piece,
    },
    /// Nothing is where something should be taken.
    #[error("{piece} is not in that place")]
    NotThere {
        /// What was to be taken.
        piece: Piece,
    },
    /// The piece is not free.
    #[error("{piece} is {why}")]
    NotFree {
        /// What was to be put or held.
        piece: Piece,
        /// Where it is instead.
        why: NotFree,
    },
    /// A lens with an axis was to go where nothing turns.
    #[error("cell {cell} does not turn, so {piece} cannot be set to an axis there: {turning}")]
    DoesNotTurn {
        /// The cell that was asked for, from 1 at the eye.
        cell: u8,
        /// The lens that needs an axis or a base.
        piece: Piece,
        /// Which cells turn, in words.
        turning: String,
    },
    /// Another lens of the same ring stands at another axis.
    #[error("cell {cell} turns together with a cell that holds {other} at {direction}: a ring has one axis")]
    RingHeld {
        /// The cell that was asked for, from 1 at the eye.
        cell: u8,
        /// What the ring holds already.
        other: Piece,
        /// At which axis or base, in degrees.
        direction: u16,
    },
    /// A cell was to turn that does not, and holds nothing that could be turned in it.
    #[error("cell {cell} does not turn and holds nothing with an axis: {turning}")]
    NothingToTurn {
        /// The cell that was asked for, from 1 at the eye.
        cell: u8,
        /// Which cells turn, in words.
        turning: String,
    },
    /// A direction beyond the circle.
    #[error("{direction}° is not on the dial: 0 to 359")]
    NoDirection {
        /// What was asked for, in degrees.
        direction: u16,
    },
    /// A lens with a direction came without one, or one without came with one.
    #[error("{piece} {problem}")]
    Direction {
        /// The lens that was to be put or held.
        piece: Piece,
        /// What is wrong.
        problem: &'static str,
    },
    /// The box refused.
    #[error(transparent)]
    Stock(#[from] StockError),
}
