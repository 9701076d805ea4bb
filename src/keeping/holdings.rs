//! The lenses that may be stacked, gathered by what they do.

use crate::kit::{Lens, LensForm, Mark, Stock};

/// Index of lenses that are alike among [`Holdings`]: spheres first.
pub type TypeId = u16;

/// Pieces that are alike: one mark, one true power.
#[derive(Debug, Clone, PartialEq)]
pub struct Holding {
    /// What they are marked.
    pub lens: Lens,
    /// Their true power in dioptres: measured where it was measured.
    pub power: f64,
    /// How many there are.
    pub pieces: u8,
}

impl Holding {
    /// How far the true power is from what the mark says, in dioptres.
    pub(super) fn off_mark(&self) -> f64 {
        (self.power - self.lens.mark().map_or(0.0, Mark::dioptres)).abs()
    }
}

/// Every sphere and cylinder with power that is at hand, spheres first, each kind by rising power.
#[derive(Debug, Clone, PartialEq)]
pub struct Holdings {
    /// How the marks were computed.
    pub form: LensForm,
    list: Vec<Holding>,
    spheres: usize,
}

impl Holdings {
    /// What of a stock is at hand: in the box or before an eye. Damaged pieces count, as they do in a stack.
    pub fn of(stock: &Stock) -> Self {
        let at_hand = stock.rising().filter(|stocked| stocked.place.is_at_hand());
        let single = |lens: &Lens, power: f64| Holding { lens: lens.clone(), power, pieces: 1 };
        Self::gathered(stock.form, at_hand.map(|stocked| single(&stocked.piece.lens, stocked.power().0)))
    }

    /// Gathers lenses in any order; what has no power or is not stacked is left out.
    pub fn gathered(form: LensForm, lenses: impl IntoIterator<Item = Holding>) -> Self {
        let is_stacked = |of: &Holding| of.lens.is_stacked() && of.power != 0.0 && of.pieces > 0;
        let mut all: Vec<Holding> = lenses.into_iter().filter(is_stacked).collect();
        all.sort_by(|one, other| {
            let by_kind = one.lens.is_cylinder().cmp(&other.lens.is_cylinder());
            by_kind.then(one.power.total_cmp(&other.power)).then_with(|| one.lens.cmp(&other.lens))
        });
        let mut list: Vec<Holding> = Vec::with_capacity(all.len());
        for of in all {
            match list.last_mut().filter(|last| last.lens == of.lens && last.power == of.power) {
                Some(last) => last.pieces = last.pieces.saturating_add(of.pieces),
                None => list.push(of),
            }
        }
        let spheres = list.partition_point(|of| !of.lens.is_cylinder());
        Self { form, list, spheres }
    }

    /// All of them: spheres first, each kind by rising power.
    pub fn list(&self) -> &[Holding] {
        &self.list
    }

    /// The same with some pieces taken away, as far as there are that many; of lenses marked alike the true ones first.
    #[must_use]
    pub fn without<'l>(&self, away: impl IntoIterator<Item = (&'l Lens, u8)>) -> Self {
        let mut left = self.clone();
        for (lens, mut pieces) in away {
            let mut alike: Vec<&mut Holding> = left.list.iter_mut().filter(|of| of.lens == *lens).collect();
            alike.sort_by(|one, other| one.off_mark().total_cmp(&other.off_mark()));
            for of in alike {
                let taken = of.pieces.min(pieces);
                (of.pieces, pieces) = (of.pieces - taken, pieces - taken);
            }
        }
        Self::gathered(left.form, left.list)
    }

    /// The same with further pieces.
    #[must_use]
    pub fn with(&self, more: impl IntoIterator<Item = Holding>) -> Self {
        Self::gathered(self.form, self.list.iter().cloned().chain(more))
    }

    /// How many pieces there are that are like these.
    pub(super) fn pieces_of(&self, like: &Holding) -> u8 {
        let same = |of: &&Holding| of.lens == like.lens && of.power == like.power;
        self.list.iter().find(same).map_or(0, |of| of.pieces)
    }

    /// The types of the spheres, and those of the cylinders.
    pub(super) fn types(&self, cylinders: bool) -> std::ops::Range<TypeId> {
        if cylinders { self.spheres as TypeId..self.list.len() as TypeId } else { 0..self.spheres as TypeId }
    }

    /// The true power of a type.
    pub(super) fn power(&self, type_id: TypeId) -> f64 {
        self.list[usize::from(type_id)].power
    }

    /// Whether there are pieces enough for a stack, or for two at once.
    pub(super) fn has(&self, types: &[TypeId], stacks: u8) -> bool {
        types.iter().all(|of| {
            let count = types.iter().filter(|other| *other == of).count();
            count * usize::from(stacks) <= usize::from(self.list[usize::from(*of)].pieces)
        })
    }
}
