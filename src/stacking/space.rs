//! The wanted power and the frame as plain numbers.

pub(super) use super::arc::{SLACK_D, inward};
use super::catalogue::{Catalogue, TypeId};
use super::cost::Costing;
pub(super) use super::slots::{Multiset, Slot, Stack};
use super::work::Work;
use crate::frame::declared::MOST_CELLS;
use crate::optics::Power;

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
    /// At how many steps of the whole search what is looked at now ends.
    pub most_steps: u64,
    pub wanted: Power,
}

impl Space<'_> {
    /// Whether there is no work left for what is looked at now.
    pub fn is_over(&self) -> bool {
        self.work.spent() >= self.most_steps
    }

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
