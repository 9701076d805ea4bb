//! The pieces that a search may take, gathered by what they do.

use std::ops::Range;

use super::arc::Arc;
use super::rising::Rising;
use crate::kit::{Lens, Piece, StockedPiece};

/// Index of a lens type in the catalogue.
pub(super) type TypeId = u16;

/// Pieces that are alike: the same mark, the same true power, and all of them whole or all damaged.
#[derive(Debug, Clone)]
pub(super) struct LensType<'a> {
    /// What it is marked.
    pub lens: &'a Lens,
    /// Its true power in dioptres: measured where it was measured.
    pub power: f64,
    /// What its mark says, in dioptres.
    pub mark: f64,
    /// Whether its pieces are damaged.
    pub damaged: bool,
    /// Where its pieces are among all of the catalogue.
    pieces: Range<usize>,
}

/// All types, spheres first, each kind by rising power.
#[derive(Debug, Clone, Default)]
pub(super) struct Catalogue<'a> {
    pub types: Vec<LensType<'a>>,
    /// Every piece, type by type.
    pieces: Vec<&'a StockedPiece>,
    /// Powers of the spheres; a sphere's index is its type.
    pub spheres: Rising,
    /// Powers of the cylinders; a cylinder's index plus the number of spheres is its type.
    pub cylinders: Rising,
    /// Pieces of each type that may be used.
    pub available: Vec<u8>,
}

impl<'a> Catalogue<'a> {
    /// Gathers spheres and cylinders that come as [`Stock::rising`](crate::kit::Stock::rising) lists them.
    pub fn of(rising: impl Iterator<Item = &'a StockedPiece>) -> Self {
        let pieces: Vec<&StockedPiece> = rising.collect();
        let (mut types, mut available) = (Vec::with_capacity(pieces.len()), Vec::with_capacity(pieces.len()));
        let mut powers = Vec::with_capacity(pieces.len());
        let alike = |one: &&StockedPiece, other: &&StockedPiece| {
            one.power() == other.power() && one.damaged == other.damaged && one.piece.lens == other.piece.lens
        };
        let mut at = 0;
        for pieces in pieces.chunk_by(alike) {
            let (first, lens) = (pieces[0], &pieces[0].piece.lens);
            let (power, mark, damaged) = (first.power().0, first.marked_power().0, first.damaged);
            types.push(LensType { lens, power, mark, damaged, pieces: at..at + pieces.len() });
            available.push(pieces.len() as u8);
            powers.push(power);
            at += pieces.len();
        }
        let spheres = types.partition_point(|of| !of.lens.is_cylinder());
        let cylinders = Rising::of(powers.split_off(spheres));
        Self { types, pieces, spheres: Rising::of(powers), cylinders, available }
    }

    /// The pieces of a type.
    pub fn pieces(&self, type_id: TypeId) -> &[&'a StockedPiece] {
        &self.pieces[self.types[usize::from(type_id)].pieces.clone()]
    }

    /// The type of a piece, if it is in the catalogue.
    pub fn type_of(&self, piece: &Piece) -> Option<TypeId> {
        let found = self.pieces.iter().position(|stocked| stocked.piece == *piece)?;
        TypeId::try_from(self.types.partition_point(|of| of.pieces.end <= found)).ok()
    }

    /// Whether a type is a cylinder.
    pub fn is_cylinder(&self, type_id: TypeId) -> bool {
        usize::from(type_id) >= self.spheres.len()
    }

    /// The true power of a type.
    pub fn power(&self, type_id: TypeId) -> f64 {
        self.types[usize::from(type_id)].power
    }

    /// The power of the weakest cylinder without its sign, and whether all have one sign.
    pub fn weakest_cylinder(&self) -> (f64, bool) {
        let weakest = self.cylinders.iter().fold(f64::INFINITY, |least: f64, power| least.min(power.abs()));
        let first_is_plus = self.cylinders.first().is_some_and(|power| *power > 0.0);
        let last_is_plus = self.cylinders.last().is_some_and(|power| *power > 0.0);
        (if weakest.is_finite() { weakest } else { 0.0 }, first_is_plus == last_is_plus)
    }

    /// The mark of a type in dioptres.
    pub fn mark(&self, type_id: TypeId) -> f64 {
        self.types[usize::from(type_id)].mark
    }

    /// The power of the strongest cylinder without its sign; they rise, so it is the first or the last.
    pub fn strongest_cylinder(&self) -> f64 {
        let ends = [self.cylinders.first(), self.cylinders.last()];
        ends.into_iter().flatten().fold(0.0, |most: f64, power| most.max(power.abs()))
    }

    /// Spheres with a power in a range.
    pub fn spheres_in(&self, arc: Arc) -> impl Iterator<Item = TypeId> + use<> {
        let [first, second] = arc.of_rising(&self.spheres);
        first.chain(second).map(|index| index as TypeId)
    }

    /// Cylinders with a power in a range.
    pub fn cylinders_in(&self, arc: Arc) -> impl Iterator<Item = TypeId> + use<> {
        let ([first, second], spheres) = (arc.of_rising(&self.cylinders), self.spheres.len());
        first.chain(second).map(move |index| (spheres + index) as TypeId)
    }

    /// Spheres or cylinders with a power in a range.
    pub fn types_in(&self, arc: Arc, cylinders: bool) -> impl Iterator<Item = TypeId> + use<> {
        let (powers, first) = if cylinders { (&self.cylinders, self.spheres.len()) } else { (&self.spheres, 0) };
        arc.of_rising(powers).into_iter().flatten().map(move |index| (first + index) as TypeId)
    }

    /// The weakest and the strongest sphere, by its power.
    pub fn range_of_spheres(&self) -> Arc {
        range(&self.spheres)
    }

    /// The weakest and the strongest cylinder, by its power.
    pub fn range_of_cylinders(&self) -> Arc {
        range(&self.cylinders)
    }
}

fn range(powers: &[f64]) -> Arc {
    match (powers.first(), powers.last()) {
        (Some(&low), Some(&high)) => Arc { low, high },
        _ => Arc::NOTHING,
    }
}
