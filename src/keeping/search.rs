//! Every stack that could matter, offered by its number of lenses.

use super::cells::Cells;
use super::crossed::CrossedStacks;
use super::holdings::{Holdings, TypeId};
use super::one_axis::{OneAxis, Tables};
use super::wanted::{Wanted, rows};
use crate::stacking::{REACHES_WITHIN_D, USUAL_MOST_LENSES};

/// The most lenses of a stack here, as many as stacking proposes by default.
pub const MOST_LENSES: usize = USUAL_MOST_LENSES;

/// Slack for sums of powers that reach: as stacking has it.
const SLACK_D: f64 = 1e-9;
/// Twice the square of the miss that reaches.
pub(super) const REACHES: f64 = 2.0 * (REACHES_WITHIN_D + SLACK_D) * (REACHES_WITHIN_D + SLACK_D);

/// Takes the stacks that are found.
pub(super) trait Sink {
    /// Up to which doubled squared miss, in square dioptres, stacks of a prescription are wanted; negative when none are.
    fn wants(&self, number: usize) -> f64;
    /// Takes a stack for a prescription, with the doubled square of its miss; there are pieces enough for it.
    fn offer(&mut self, number: usize, doubled_square: f64, types: &[TypeId]);
    /// All stacks of that many lenses were offered.
    fn end_of(&mut self, lenses: usize);
}

/// Offers all stacks of 1 up to so many lenses that a sink could want.
pub(super) fn offer_all(holdings: &Holdings, cells: &Cells, wanted: &[Wanted], most: usize, sink: &mut impl Sink) {
    let minus = holdings.types(true).any(|of| holdings.power(of) < 0.0);
    let plus = holdings.types(true).any(|of| holdings.power(of) > 0.0);
    // behind a focus a cylinder acts as one of the other sign
    let is_long = cells.may_have_a_focus(holdings);
    let mut rows_by_axis = Vec::new();
    if minus || is_long || !plus {
        rows_by_axis.push(rows(wanted, false));
    }
    if plus || is_long {
        rows_by_axis.push(rows(wanted, true));
    }
    let mut tables = Tables::new(holdings);
    let mut crossed = CrossedStacks::new(holdings);
    let by_axis = rows(wanted, false);
    for lenses in 1..=most {
        for way in cells.ways(lenses) {
            if let Some(mut search) = OneAxis::new(&mut tables, &way) {
                rows_by_axis.iter().for_each(|rows| search.offer_all(rows, sink));
            }
        }
        for way in cells.ways(lenses) {
            crossed.offer_all(&way, &by_axis, sink);
        }
        sink.end_of(lenses);
    }
}

/// The fewest lenses and the least miss.
#[derive(Debug)]
pub(super) struct Least {
    /// By prescription, the doubled square of the least miss so far.
    pub doubled_squares: Vec<f64>,
    /// By prescription, the fewest lenses that reach.
    pub lenses: Vec<Option<u8>>,
}

impl Least {
    /// Before any lens: the empty frame.
    pub fn new(wanted: &[Wanted]) -> Self {
        let empty = |of: &Wanted| of.sphere * of.sphere + of.across() * of.across();
        let mut least = Self { doubled_squares: wanted.iter().map(empty).collect(), lenses: vec![None; wanted.len()] };
        least.end_of(0);
        least
    }
}

impl Sink for Least {
    fn wants(&self, number: usize) -> f64 {
        self.doubled_squares[number]
    }

    fn offer(&mut self, number: usize, doubled_square: f64, _: &[TypeId]) {
        let least = &mut self.doubled_squares[number];
        *least = least.min(doubled_square);
    }

    fn end_of(&mut self, lenses: usize) {
        for (fewest, least) in self.lenses.iter_mut().zip(&self.doubled_squares) {
            if fewest.is_none() && *least <= REACHES {
                *fewest = Some(lenses as u8);
            }
        }
    }
}

/// A stack's types, sorted, and how many there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Types {
    types: [TypeId; MOST_LENSES],
    len: u8,
}

impl Types {
    fn of(of: &[TypeId]) -> Self {
        let mut types = [TypeId::MAX; MOST_LENSES];
        types[..of.len()].copy_from_slice(of);
        types.sort_unstable();
        Self { types, len: of.len() as u8 }
    }

    fn as_slice(&self) -> &[TypeId] {
        &self.types[..usize::from(self.len)]
    }
}

/// The fewest lenses an eye with which both eyes get the same prescription at once, no piece twice.
#[derive(Debug)]
pub(super) struct Twice<'a> {
    holdings: &'a Holdings,
    /// By prescription, the fewest lenses for one eye.
    one_eye: &'a [Option<u8>],
    pub lenses: Vec<Option<u8>>,
    /// Stacks of which two do not go together.
    found: Vec<Vec<Types>>,
    at: u8,
}

impl<'a> Twice<'a> {
    /// From what one eye needs.
    pub fn new(holdings: &'a Holdings, one_eye: &'a [Option<u8>]) -> Self {
        let none = |fewest: &Option<u8>| fewest.filter(|lenses| *lenses == 0);
        let found = vec![Vec::new(); one_eye.len()];
        Self { holdings, one_eye, lenses: one_eye.iter().map(none).collect(), found, at: 1 }
    }
}

impl Sink for Twice<'_> {
    fn wants(&self, number: usize) -> f64 {
        let is_open = self.lenses[number].is_none() && self.one_eye[number].is_some_and(|fewest| fewest <= self.at);
        if is_open { REACHES } else { -1.0 }
    }

    fn offer(&mut self, number: usize, _: f64, types: &[TypeId]) {
        if self.holdings.has(types, 2) {
            self.lenses[number] = Some(self.at);
            return;
        }
        let new = Types::of(types);
        let found = &mut self.found[number];
        if found.contains(&new) {
            return;
        }
        let goes_with = |other: &Types| {
            let both = [new.as_slice(), other.as_slice()].concat();
            self.holdings.has(&both, 1)
        };
        if found.iter().any(goes_with) {
            self.lenses[number] = Some(self.at);
        } else {
            found.push(new);
        }
    }

    fn end_of(&mut self, lenses: usize) {
        self.at = lenses as u8 + 1;
    }
}
