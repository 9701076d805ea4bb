//! The pieces that a search may take, gathered by what they do.

use std::ops::Range;

use crate::kit::{Lens, Piece, StockedPiece};

/// Index of a lens type in the catalogue.
pub(super) type TypeId = u16;

/// Pieces that are alike: the same mark and the same true power.
#[derive(Debug, Clone)]
pub(super) struct LensType<'a> {
    /// What it is marked.
    pub lens: &'a Lens,
    /// Its true power in dioptres: measured where it was measured.
    pub power: f64,
    /// Where its pieces are among all of the catalogue.
    pieces: Range<usize>,
    /// How many of them are whole.
    pub whole: u8,
}

/// Steps of the index over rising powers, per dioptre: trial lenses lie an eighth apart at the closest.
const STEPS_PER_D: f64 = 8.0;

/// Rising powers with an index, so that a window of them is found without searching.
#[derive(Debug, Clone, Default)]
pub(super) struct Rising {
    powers: Vec<f64>,
    /// By step from the least power up, the first power that is not below it.
    first_from: Vec<u16>,
}

impl Rising {
    /// Indexes powers that rise already.
    fn of(powers: Vec<f64>) -> Self {
        let mut first_from = Vec::new();
        if let (Some(least), Some(most)) = (powers.first(), powers.last()) {
            let steps = ((most - least) * STEPS_PER_D).ceil() as usize;
            first_from.reserve_exact(steps + 1);
            let mut first = 0;
            for step in 0..=steps {
                let from = least + step as f64 / STEPS_PER_D;
                first += powers[first..].iter().take_while(|&&power| power < from).count();
                first_from.push(first as u16);
            }
        }
        Self { powers, first_from }
    }

    /// Indices of the powers from `low` to `high`.
    fn within(&self, low: f64, high: f64) -> std::ops::Range<usize> {
        let Some(least) = self.powers.first() else {
            return 0..0;
        };
        // a float cast saturates, so what is below the least begins at 0 and what is above the most at the end
        let step = ((low - least) * STEPS_PER_D) as usize;
        let start = self.first_from.get(step).map_or(self.powers.len(), |&first| usize::from(first));
        let start = start + self.powers[start..].iter().take_while(|&&power| power < low).count();
        start..start + self.powers[start..].iter().take_while(|&&power| power <= high).count()
    }
}

impl std::ops::Deref for Rising {
    type Target = [f64];
    fn deref(&self) -> &[f64] {
        &self.powers
    }
}

/// All types, spheres first, each kind by rising power.
#[derive(Debug, Clone, Default)]
pub(super) struct Catalogue<'a> {
    pub types: Vec<LensType<'a>>,
    /// Every piece, type by type, whole ones first.
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
            one.power() == other.power() && one.piece.lens == other.piece.lens
        };
        let mut at = 0;
        for pieces in pieces.chunk_by(alike) {
            let (lens, power) = (&pieces[0].piece.lens, pieces[0].power().0);
            let whole = pieces.iter().filter(|stocked| !stocked.damaged).count() as u8;
            types.push(LensType { lens, power, pieces: at..at + pieces.len(), whole });
            available.push(pieces.len() as u8);
            powers.push(power);
            at += pieces.len();
        }
        let spheres = types.partition_point(|of| !of.lens.is_cylinder());
        let cylinders = Rising::of(powers.split_off(spheres));
        Self { types, pieces, spheres: Rising::of(powers), cylinders, available }
    }

    /// The pieces of a type, whole ones first.
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

    /// The power of the strongest cylinder without its sign; they rise, so it is the first or the last.
    pub fn strongest_cylinder(&self) -> f64 {
        let ends = [self.cylinders.first(), self.cylinders.last()];
        ends.into_iter().flatten().fold(0.0, |most: f64, power| most.max(power.abs()))
    }

    /// Spheres with a power from `low` to `high`.
    pub fn spheres_within(&self, low: f64, high: f64) -> std::ops::Range<TypeId> {
        let found = self.spheres.within(low, high);
        found.start as TypeId..found.end as TypeId
    }

    /// Cylinders with a power from `low` to `high`.
    pub fn cylinders_within(&self, low: f64, high: f64) -> std::ops::Range<TypeId> {
        let (found, spheres) = (self.cylinders.within(low, high), self.spheres.len());
        (spheres + found.start) as TypeId..(spheres + found.end) as TypeId
    }
}
