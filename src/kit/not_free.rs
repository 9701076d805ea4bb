//! Why a lens is not free: said once here, and in these words wherever a person reads it.

use std::fmt;

use super::change::bare;
use super::lens::Lens;
use super::pieces::Place;
use super::stock::Stock;
use crate::optics::Eye;

/// Why a piece cannot be taken from the box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotFree {
    /// It stands in a cell, counted from 1 at the eye.
    InCell {
        /// Before which eye.
        eye: Eye,
        /// The cell's number, from 1 at the eye.
        cell: u8,
    },
    /// It is held in front of the frame.
    InHand {
        /// Before which eye.
        eye: Eye,
    },
    /// Somebody else has it.
    Lent {
        /// Who, if it was said.
        to: Option<String>,
    },
    /// Nobody knows where it is.
    Lost,
    /// It was taken out of the set for good.
    Retired,
    /// It is in another box.
    Moved {
        /// By what the logbook knows that box.
        to: String,
    },
    /// It was noted in different places by seats that did not know of each other.
    InTwoPlaces,
}

impl NotFree {
    /// In the few words that a list has room for: `right 1`, `held left`, `lent to Clinic 3`, `lost`.
    pub fn in_short(&self) -> String {
        match self {
            Self::InCell { eye, cell } => format!("{eye} {cell}"),
            Self::InHand { eye } => format!("held {eye}"),
            Self::Lent { .. } | Self::Lost | Self::Retired | Self::Moved { .. } | Self::InTwoPlaces => self.to_string(),
        }
    }

    /// Whether it is held in front of the frame.
    pub fn is_in_hand(&self) -> bool {
        matches!(self, Self::InHand { .. })
    }

    /// How far away it is: what is at hand is more use to know of than what is lost.
    fn distance(&self) -> u8 {
        match self {
            Self::InCell { .. } | Self::InHand { .. } => 0,
            Self::Lent { .. } | Self::InTwoPlaces => 1,
            Self::Lost | Self::Retired | Self::Moved { .. } => 2,
        }
    }
}

impl fmt::Display for NotFree {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::InCell { eye, cell } => write!(f, "in cell {cell} of the {eye} eye"),
            Self::InHand { eye } => write!(f, "in the hand in front of the {eye} eye"),
            Self::Lost => f.write_str("lost"),
            Self::Lent { to: Some(to) } => write!(f, "lent to {to}"),
            Self::Lent { to: None } => f.write_str("lent"),
            Self::Retired => f.write_str("retired"),
            Self::Moved { to } => write!(f, "in the box {}", bare(to)),
            Self::InTwoPlaces => f.write_str("in two places"),
        }
    }
}

impl Place {
    /// Why a piece there is not free; nothing when it is.
    pub fn why_not_free(&self) -> Option<NotFree> {
        match self {
            Self::Box => None,
            Self::Cell { eye, cell } => Some(NotFree::InCell { eye: *eye, cell: *cell }),
            Self::Hand { eye } => Some(NotFree::InHand { eye: *eye }),
            Self::Lost => Some(NotFree::Lost),
            Self::Lent { to } => Some(NotFree::Lent { to: to.clone() }),
            Self::Retired => Some(NotFree::Retired),
            Self::Moved { to } => Some(NotFree::Moved { to: to.clone() }),
            Self::InTwoPlaces => Some(NotFree::InTwoPlaces),
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.why_not_free() {
            None => f.write_str("in the box"),
            Some(why) => why.fmt(f),
        }
    }
}

/// Why no piece of a lens is free, as a sentence: `the only -3.00 sphere is lost`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoneFree {
    lens: Lens,
    pieces: Vec<NotFree>,
}

impl NoneFree {
    /// Where the piece is that is most use to know of: `lost`, or `not in the box` when the box has none.
    pub fn in_short(&self) -> String {
        let nearest = self.pieces.iter().min_by_key(|why| why.distance());
        nearest.map_or_else(|| "not in the box".to_owned(), ToString::to_string)
    }
}

impl fmt::Display for NoneFree {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let lens = &self.lens;
        match self.pieces.as_slice() {
            [] => write!(f, "the box has no {lens}"),
            [one] => write!(f, "the only {lens} is {one}"),
            [first, others @ ..] => {
                write!(f, "no {lens} is free: one is {first}")?;
                others.iter().try_for_each(|other| write!(f, ", one {other}"))
            }
        }
    }
}

impl Stock {
    /// Why no piece of a lens can be taken from the box; nothing when one can.
    pub fn why_none_free(&self, lens: &Lens) -> Option<NoneFree> {
        self.why_none_usable(lens, |place| *place == Place::Box)
    }

    /// Why no piece of a lens is where it can be used; nothing when one is. Retired pieces are not part of the box.
    pub fn why_none_usable(&self, lens: &Lens, usable: impl Fn(&Place) -> bool) -> Option<NoneFree> {
        let places = || self.of_lens(lens).map(|stocked| &stocked.place).filter(|place| **place != Place::Retired);
        if places().any(usable) {
            return None;
        }
        Some(NoneFree { lens: lens.clone(), pieces: places().filter_map(Place::why_not_free).collect() })
    }
}
