//! Where every piece of a box is, and how a piece or a place is found without going through the box.
//!
//! A box at rest is shared between all states of an exam. What stands before the eyes is listed apart: a few pieces, so that
//! moving one copies a few, and what is in a cell or in the hand is found among them.

use std::ops::Range;
use std::sync::{Arc, OnceLock};

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::lens::{Lens, Piece};
use super::mark::Mark;
use crate::optics::{Dioptres, Eye};

/// Where a piece is.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// In its place in the box, free to take.
    #[default]
    Box,
    /// In a cell before an eye; `cell` counts from 1, nearest the eye.
    Cell {
        /// The eye before which the cell is.
        eye: Eye,
        /// The cell's number from 1.
        cell: u8,
    },
    /// Held in front of the frame before an eye.
    Hand {
        /// The eye before which it is held.
        eye: Eye,
    },
    /// Nobody knows.
    Lost,
    /// With somebody else.
    Lent {
        /// With whom, if it was said.
        to: Option<String>,
    },
    /// Taken out of the set for good.
    Retired,
    /// In another box, where it is a further piece.
    Moved {
        /// By what the logbook knows that box.
        to: String,
    },
    /// Noted in different places at seats of which none knew of the other: nobody can say where it is.
    InTwoPlaces,
}

impl Place {
    /// Whether it is a cell or the hand, which takes one piece only.
    pub fn is_before_an_eye(&self) -> bool {
        matches!(self, Self::Cell { .. } | Self::Hand { .. })
    }

    /// Whether it is a cell of either eye.
    pub fn is_in_a_cell(&self) -> bool {
        matches!(self, Self::Cell { .. })
    }

    /// Whether it is a cell of this eye.
    pub fn is_in_a_cell_of(&self, of: Eye) -> bool {
        matches!(self, Self::Cell { eye, .. } if *eye == of)
    }

    /// Whether a piece there can be held before an eye without taking it out of a cell.
    pub fn is_in_box_or_hand(&self) -> bool {
        matches!(self, Self::Box | Self::Hand { .. })
    }

    /// Whether somebody else has what is there.
    pub fn is_lent(&self) -> bool {
        matches!(self, Self::Lent { .. })
    }

    /// Whether this borrower has what is there.
    pub fn is_lent_to(&self, borrower: &str) -> bool {
        matches!(self, Self::Lent { to: Some(to) } if to == borrower)
    }

    /// Whether what was there no longer belongs to the set of this box.
    pub fn has_left_the_set(&self) -> bool {
        matches!(self, Self::Retired | Self::Moved { .. })
    }

    /// Whether it is not known which of several places it is.
    pub fn is_in_two_places(&self) -> bool {
        matches!(self, Self::InTwoPlaces)
    }

    /// Whether what was there is in another box.
    pub fn is_in_another_box(&self) -> bool {
        matches!(self, Self::Moved { .. })
    }

    /// Whether a piece there is within reach: in the box or before an eye.
    pub fn is_at_hand(&self) -> bool {
        *self == Self::Box || self.is_before_an_eye()
    }
}

/// A piece with what is known of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StockedPiece {
    /// The lens and its number among its like.
    pub piece: Piece,
    /// Where it is.
    pub place: Place,
    /// Whether it is scratched or chipped: usable, but the last to be proposed.
    pub damaged: bool,
    /// Its measured power, when that differs from the mark.
    pub measured: Option<f64>,
}

impl StockedPiece {
    /// The power that the piece contributes to the net: the measured one where there is one. Zero without a mark.
    pub fn power(&self) -> Dioptres {
        Dioptres(self.measured.unwrap_or_else(|| self.marked_power().0))
    }

    /// The power that its mark says. Zero without a mark.
    pub fn marked_power(&self) -> Dioptres {
        Dioptres(self.piece.lens.mark().map_or(0.0, Mark::dioptres))
    }

    /// Whether a measured power is what the mark says.
    pub(super) fn confirms_mark(&self, power: f64) -> bool {
        (power - self.marked_power().0).abs() < 1e-9
    }

    /// Whether it is a sphere whose power is more than nothing.
    pub fn is_plus_sphere(&self) -> bool {
        self.piece.lens.is_sphere() && self.power().0 > 0.0
    }

    /// Whether it can be taken now.
    pub fn is_free(&self) -> bool {
        self.place == Place::Box
    }
}

/// The pieces of a box, in its order; written and read as the list that they are.
#[derive(Debug, Clone, PartialEq)]
pub struct Pieces {
    /// Each as it is when nothing is before an eye: a piece of `before_eyes` is in the box here, else as it is there.
    at_rest: Arc<AtRest>,
    /// What is in a cell or in the hand, by its number in the list, which rises.
    before_eyes: Vec<(usize, StockedPiece)>,
}

/// A box with nothing before an eye.
#[derive(Debug, Clone)]
struct AtRest {
    list: Vec<StockedPiece>,
    /// Numbers in the list by lens, and of one lens as they are in the list; as long as no piece is added.
    by_lens: OnceLock<Vec<usize>>,
    /// Numbers in the list of what is stacked, in the order of [`Pieces::rising`]; as long as no piece changes.
    rising: OnceLock<Vec<usize>>,
}

/// The orders say nothing that the list does not.
impl PartialEq for AtRest {
    fn eq(&self, other: &Self) -> bool {
        self.list == other.list
    }
}

impl AtRest {
    fn of(list: Vec<StockedPiece>) -> Self {
        Self { list, by_lens: OnceLock::new(), rising: OnceLock::new() }
    }

    fn by_lens(&self) -> &[usize] {
        self.by_lens.get_or_init(|| {
            let mut by_lens: Vec<usize> = (0..self.list.len()).collect();
            by_lens.sort_by(|&one, &other| self.list[one].piece.lens.cmp(&self.list[other].piece.lens));
            by_lens
        })
    }

    fn rising(&self) -> &[usize] {
        self.rising.get_or_init(|| {
            let is_powered = |of: &StockedPiece| of.piece.lens.is_stacked() && of.power().0 != 0.0;
            let mut powered: Vec<usize> = (0..self.list.len()).filter(|&at| is_powered(&self.list[at])).collect();
            let is_cylinder = |stocked: &StockedPiece| stocked.piece.lens.is_cylinder();
            powered.sort_by(|&a, &b| {
                let (a, b) = (&self.list[a], &self.list[b]);
                is_cylinder(a)
                    .cmp(&is_cylinder(b))
                    .then(a.power().0.total_cmp(&b.power().0))
                    .then_with(|| a.piece.lens.cmp(&b.piece.lens))
                    .then(a.damaged.cmp(&b.damaged))
                    .then(a.piece.number.cmp(&b.piece.number))
            });
            powered
        })
    }

    /// Where the pieces of a lens are in the order by lens.
    fn of_lens(&self, lens: &Lens) -> Range<usize> {
        let by_lens = self.by_lens();
        let first = by_lens.partition_point(|&at| self.list[at].piece.lens < *lens);
        let count = by_lens[first..].iter().take_while(|&&at| self.list[at].piece.lens == *lens).count();
        first..first + count
    }
}

impl Pieces {
    pub(super) fn of(mut list: Vec<StockedPiece>) -> Self {
        let mut before_eyes = Vec::new();
        for (number, stocked) in list.iter_mut().enumerate() {
            if stocked.place.is_before_an_eye() {
                before_eyes.push((number, stocked.clone()));
                stocked.place = Place::Box;
            }
        }
        Self { at_rest: Arc::new(AtRest::of(list)), before_eyes }
    }

    /// Every piece, in the order of the box.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = &StockedPiece> {
        let mut before_eyes = self.before_eyes.iter().peekable();
        self.at_rest.list.iter().enumerate().map(move |(number, at_rest)| {
            before_eyes.next_if(|(of, _)| *of == number).map_or(at_rest, |(_, stocked)| stocked)
        })
    }

    /// What is in a cell or in the hand, in the order of the box.
    pub(super) fn before_eyes(&self) -> impl Iterator<Item = &StockedPiece> {
        self.before_eyes.iter().map(|(_, stocked)| stocked)
    }

    /// What is stacked and has power, spheres and then cylinders, each by rising power; of one lens whole pieces first.
    pub(super) fn rising(&self) -> impl Iterator<Item = &StockedPiece> {
        self.at_rest.rising().iter().map(|&number| self.nth(number))
    }

    /// All pieces of one lens, in the order of the box.
    pub(super) fn of_lens<'a>(&'a self, lens: &Lens) -> impl Iterator<Item = &'a StockedPiece> + use<'a> {
        self.at_rest.by_lens()[self.at_rest.of_lens(lens)].iter().map(|&number| self.nth(number))
    }

    /// The number of a piece in the list, from 0.
    pub(super) fn number_of(&self, piece: &Piece) -> Option<usize> {
        let numbers = &self.at_rest.by_lens()[self.at_rest.of_lens(&piece.lens)];
        numbers.iter().copied().find(|&number| self.at_rest.list[number].piece.number == piece.number)
    }

    /// The piece with a number that [`Pieces::number_of`] gave.
    pub(super) fn nth(&self, number: usize) -> &StockedPiece {
        let before_eye = self.before_eyes.iter().find(|(of, _)| *of == number);
        before_eye.map_or(&self.at_rest.list[number], |(_, stocked)| stocked)
    }

    /// Moves a piece that is in the box or before an eye to one of these places.
    pub(super) fn put(&mut self, number: usize, place: Place) {
        let entry = self.before_eyes.binary_search_by_key(&number, |(of, _)| *of);
        match (entry, place.is_before_an_eye()) {
            (Ok(entry), true) => self.before_eyes[entry].1.place = place,
            (Ok(entry), false) => {
                self.before_eyes.remove(entry);
            }
            (Err(entry), true) => {
                let stocked = StockedPiece { place, ..self.at_rest.list[number].clone() };
                self.before_eyes.insert(entry, (number, stocked));
            }
            (Err(_), false) => {}
        }
    }

    /// Changes what is known of a piece that is not before an eye, or what else than its place is known of one that is.
    pub(super) fn set(&mut self, number: usize, stocked: StockedPiece) {
        let at_rest = Arc::make_mut(&mut self.at_rest);
        at_rest.rising = OnceLock::new();
        let before_eye = self.before_eyes.iter_mut().find(|(of, _)| *of == number);
        let place = if before_eye.is_some() { Place::Box } else { stocked.place.clone() };
        at_rest.list[number] = StockedPiece { place, ..stocked.clone() };
        if let Some((_, known)) = before_eye {
            *known = stocked;
        }
    }

    /// Puts a further piece at the end of the list.
    pub(super) fn add(&mut self, stocked: StockedPiece) {
        let at_rest = Arc::make_mut(&mut self.at_rest);
        (at_rest.by_lens, at_rest.rising) = (OnceLock::new(), OnceLock::new());
        at_rest.list.push(stocked);
    }
}

impl Serialize for Pieces {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.iter())
    }
}

impl<'de> Deserialize<'de> for Pieces {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Vec::deserialize(deserializer).map(Self::of)
    }
}
