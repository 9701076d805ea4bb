//! The fewest lenses for one eye, with the least miss, and for both eyes alike.

use super::holdings::{Holdings, TypeId};
use super::sink::{MOST_LENSES, REACHES, Sink};
use super::wanted::Wanted;

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
