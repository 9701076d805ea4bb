//! How a lens is turned.

use crate::optics::Axis;

/// The direction of a lens before an eye, as the examiner sees it; what it means follows from the lens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// The axis of a cylinder, the minus axis of a cross cylinder, the line of a slit: the same from either end.
    Axis(Axis),
    /// The base of a prism, in whole degrees on the dial, 0 to 359.
    Base(u16),
    /// None: the lens is alike all round.
    None,
}

impl Direction {
    /// In whole degrees, as a move says it: 1 to 180 for an axis, 0 to 359 for a base.
    pub fn degrees(self) -> Option<u16> {
        match self {
            Self::Axis(axis) => Some(u16::from(axis.degrees())),
            Self::Base(degrees) => Some(degrees),
            Self::None => None,
        }
    }
}
