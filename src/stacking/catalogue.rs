//! The pieces that a search may take, gathered by what they do.

use crate::kit::{Lens, Piece, StockedPiece};

/// Index of a lens type in the catalogue.
pub(super) type TypeId = u16;

/// Pieces that are alike: the same mark and the same true power.
#[derive(Debug, Clone)]
pub(super) struct LensType {
    /// What it is marked.
    pub lens: Lens,
    /// Its true power in dioptres: measured where it was measured.
    pub power: f64,
    /// The pieces, whole ones first.
    pub pieces: Vec<Piece>,
    /// How many of them are whole.
    pub whole: u8,
}

/// All types, spheres first, each kind by rising power.
#[derive(Debug, Clone, Default)]
pub(super) struct Catalogue {
    pub types: Vec<LensType>,
    /// Powers of the spheres, rising; a sphere's index is its type.
    pub spheres: Vec<f64>,
    /// Powers of the cylinders, rising; a cylinder's index plus the number of spheres is its type.
    pub cylinders: Vec<f64>,
    /// Pieces of each type that may be used.
    pub available: Vec<u8>,
}

impl Catalogue {
    /// Gathers spheres and cylinders with power; other pieces make no power and are left out.
    pub fn of<'a>(pieces: impl Iterator<Item = &'a StockedPiece>) -> Self {
        let mut usable: Vec<&StockedPiece> = pieces
            .filter(|stocked| matches!(stocked.piece.lens, Lens::Sphere(_) | Lens::Cylinder(_)))
            .filter(|stocked| stocked.power().0 != 0.0)
            .collect();
        let kind = |stocked: &StockedPiece| matches!(stocked.piece.lens, Lens::Cylinder(_));
        usable.sort_by(|a, b| {
            kind(a)
                .cmp(&kind(b))
                .then(a.power().0.total_cmp(&b.power().0))
                .then_with(|| a.piece.lens.cmp(&b.piece.lens))
                .then(a.damaged.cmp(&b.damaged))
                .then(a.piece.number.cmp(&b.piece.number))
        });
        let mut catalogue = Self::default();
        for stocked in usable {
            let power = stocked.power().0;
            let alike =
                catalogue.types.last().is_some_and(|last| last.power == power && last.lens == stocked.piece.lens);
            if !alike {
                if kind(stocked) { &mut catalogue.cylinders } else { &mut catalogue.spheres }.push(power);
                let (pieces, whole) = (Vec::new(), 0);
                catalogue.types.push(LensType { lens: stocked.piece.lens.clone(), power, pieces, whole });
                catalogue.available.push(0);
            }
            if let (Some(last), Some(available)) = (catalogue.types.last_mut(), catalogue.available.last_mut()) {
                last.pieces.push(stocked.piece.clone());
                last.whole += u8::from(!stocked.damaged);
                *available += 1;
            }
        }
        catalogue
    }

    /// The type of a piece, if it is in the catalogue.
    pub fn type_of(&self, piece: &Piece) -> Option<TypeId> {
        let found = self.types.iter().position(|lens_type| lens_type.pieces.contains(piece))?;
        TypeId::try_from(found).ok()
    }

    /// Whether a type is a cylinder.
    pub fn is_cylinder(&self, type_id: TypeId) -> bool {
        usize::from(type_id) >= self.spheres.len()
    }

    /// The true power of a type.
    pub fn power(&self, type_id: TypeId) -> f64 {
        self.types[usize::from(type_id)].power
    }

    /// Spheres with a power from `low` to `high`.
    pub fn spheres_within(&self, low: f64, high: f64) -> std::ops::Range<TypeId> {
        window(&self.spheres, low, high, 0)
    }

    /// Cylinders with a power from `low` to `high`.
    pub fn cylinders_within(&self, low: f64, high: f64) -> std::ops::Range<TypeId> {
        window(&self.cylinders, low, high, self.spheres.len())
    }
}

fn window(rising: &[f64], low: f64, high: f64, offset: usize) -> std::ops::Range<TypeId> {
    let start = rising.partition_point(|&power| power < low);
    let end = start + rising[start..].partition_point(|&power| power <= high);
    (offset + start) as TypeId..(offset + end) as TypeId
}
