//! The wanted power and the frame as plain numbers, and a stack as the search builds it.

use super::catalogue::{Catalogue, TypeId};
use super::cost::Costing;
use super::work::Work;
use crate::frame::declared::MOST_CELLS;
use crate::optics::Power;

/// Slack for comparing sums of floating-point powers: far below any lens, far above rounding.
pub(super) const SLACK_D: f64 = 1e-9;

/// A lens in a cell of a stack under construction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Slot {
    /// Index of the cell, from 0 at the eye.
    pub cell: u8,
    /// What stands in it.
    pub type_id: TypeId,
    /// Its axis, 1 to 180; 180 for a sphere.
    pub axis: u8,
}

/// The types of some lenses, sorted, the rest filled up.
pub(super) type Multiset = [TypeId; MOST_CELLS];

/// Lenses of one eye from the eye outward; a small array with a length, copied freely.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Stack {
    slots: [Slot; MOST_CELLS],
    len: u8,
}

impl Stack {
    /// The lenses.
    pub fn slots(&self) -> &[Slot] {
        &self.slots[..usize::from(self.len)]
    }

    /// The lenses, to turn them.
    pub fn slots_mut(&mut self) -> &mut [Slot] {
        &mut self.slots[..usize::from(self.len)]
    }

    /// How many lenses.
    pub fn len(&self) -> usize {
        usize::from(self.len)
    }

    /// Adds a lens farther out.
    pub fn push(&mut self, slot: Slot) {
        self.slots[usize::from(self.len)] = slot;
        self.len += 1;
    }

    /// Takes the outermost lens away.
    pub fn pop(&mut self) {
        self.len -= 1;
    }

    /// How many lenses of a type are in it.
    pub fn count(&self, type_id: TypeId) -> u8 {
        self.slots().iter().filter(|slot| slot.type_id == type_id).count() as u8
    }

    /// The types in it, sorted: the same for every arrangement of the same lenses.
    pub fn multiset(&self) -> Multiset {
        let mut types = [TypeId::MAX; MOST_CELLS];
        for (place, slot) in types.iter_mut().zip(self.slots()) {
            *place = slot.type_id;
        }
        types[..self.len()].sort_unstable();
        types
    }
}

/// A cell that the search may fill.
#[derive(Debug, Clone, Copy)]
pub(super) struct OpenCell {
    /// Index of the cell, from 0 at the eye.
    pub cell: u8,
    /// Cells that turn together have the same ring; `None` when no cylinder can stand here.
    pub ring: Option<u8>,
}

/// Everything fixed during the search for one eye.
#[derive(Debug)]
pub(super) struct Space<'a> {
    pub catalogue: &'a Catalogue<'a>,
    /// Pieces of each type that may be used.
    pub available: &'a [u8],
    /// Types that are not at hand; a stack may use one lens of these at most. Empty when all are at hand.
    pub hypothetical: &'a [bool],
    /// Cells that may be filled, from the eye outward.
    pub open: &'a [OpenCell],
    /// Distance in metres from cell 1 to each cell.
    pub from_rear_m: &'a [f64; MOST_CELLS],
    /// What the cost of a stack depends on.
    pub costing: Costing,
    /// What may still be looked at.
    pub work: &'a Work,
    /// Whether what is looked at now is looked at whatever the work.
    pub always: bool,
    pub wanted: Power,
}

impl Space<'_> {
    /// Distance in metres between two cells.
    pub fn between_m(&self, inner: u8, outer: u8) -> f64 {
        self.from_rear_m[usize::from(outer)] - self.from_rear_m[usize::from(inner)]
    }

    /// Whether a further lens of a type may be added.
    pub fn may_add(&self, stack: &Stack, type_id: TypeId) -> bool {
        let available = self.available[usize::from(type_id)];
        available > 0 && (stack.len() == 0 || stack.count(type_id) < available)
    }

    /// Whether a stack uses more than one lens that is not at hand.
    pub fn supposes_too_much(&self, stack: &Stack) -> bool {
        !self.hypothetical.is_empty()
            && stack.slots().iter().filter(|slot| self.hypothetical[usize::from(slot.type_id)]).count() > 1
    }

    /// Net power at cell 1 of a whole stack.
    pub fn net(&self, stack: &Stack) -> Power {
        let mut vergence = Power::ZERO;
        let mut at = stack.slots().last().map_or(0, |slot| slot.cell);
        for slot in stack.slots().iter().rev() {
            vergence = towards_eye(vergence, self.between_m(slot.cell, at)) + self.power(*slot);
            at = slot.cell;
        }
        towards_eye(vergence, self.between_m(0, at))
    }

    /// True power of the lens in a slot.
    pub fn power(&self, slot: Slot) -> Power {
        let power = crate::optics::Dioptres(self.catalogue.power(slot.type_id));
        if self.catalogue.is_cylinder(slot.type_id) {
            Power::cylinder(power, f64::from(slot.axis))
        } else {
            Power::sphere(power)
        }
    }
}

fn towards_eye(vergence: Power, metres: f64) -> Power {
    crate::optics::vergence::towards_eye(vergence, crate::optics::Millimetres(metres * 1000.0))
}

/// One meridian's vergence moved towards the eye.
pub(super) fn inward(vergence: f64, metres: f64) -> f64 {
    vergence / (1.0 - metres * vergence)
}
