//! What the lenses chosen so far cost, while others are not chosen yet.

use super::cost::{Opposed, STRONGEST_NOT_REAR};
use super::patterns::Pattern;
use super::space::{SLACK_D, Slot, Space, Stack};

/// What the lenses chosen so far cost beyond the floor of their pattern, at the least, whichever way they are turned.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Spent {
    /// Damage, signs, and lenses that are exchanged.
    extra: f64,
    spheres: Opposed,
    /// Strength of the cylinders together.
    cylinder_strength: f64,
    /// The strongest mark of a sphere beyond cell 1, and that of the one in it.
    strongest: f64,
    /// 0 while there is none.
    rear: f64,
}

impl Spent {
    /// With a lens more.
    pub fn with(self, space: &Space<'_>, slot: Slot) -> Self {
        let mark = space.catalogue.mark(slot.type_id);
        let mut spent = self;
        spent.extra += space.costing.extra(space.catalogue, slot.cell, slot.type_id);
        if space.catalogue.is_cylinder(slot.type_id) {
            spent.cylinder_strength += mark.abs();
        } else {
            spent.spheres = spent.spheres.with(mark);
            if slot.cell == 0 {
                spent.rear = mark.abs();
            } else {
                spent.strongest = spent.strongest.max(mark.abs());
            }
        }
        spent
    }

    /// What a part of a stack costs.
    pub fn of(space: &Space<'_>, stack: &Stack) -> Self {
        stack.slots().iter().fold(Self::default(), |spent, slot| spent.with(space, *slot))
    }

    /// With what another part costs.
    pub fn and(self, other: Self) -> Self {
        Self {
            extra: self.extra + other.extra,
            spheres: self.spheres.and(other.spheres),
            cylinder_strength: self.cylinder_strength + other.cylinder_strength,
            strongest: self.strongest.max(other.strongest),
            rear: self.rear.max(other.rear),
        }
    }

    /// What a stack of the pattern with these lenses costs at the least beside its miss.
    pub fn least(self, space: &Space<'_>, pattern: &Pattern) -> f64 {
        let order = if self.rear > 0.0 && self.strongest > self.rear + SLACK_D { STRONGEST_NOT_REAR } else { 0.0 };
        pattern.floor + self.extra + self.spheres.cost() + space.costing.care(self.cylinder_strength) + order
    }
}
