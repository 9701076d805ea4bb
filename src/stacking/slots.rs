//! A stack as the search builds it.

use super::catalogue::TypeId;
use crate::frame::declared::MOST_CELLS;

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
