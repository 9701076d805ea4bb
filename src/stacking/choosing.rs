//! Lenses for the places of a pattern, chosen from the outermost inward before any cylinder is turned.
//!
//! However they are turned, the meridians of what leaves each cell stay within bounds that are soon computed, so most choices
//! are ruled out before any axis is tried.

use super::meridians::Meridians;
use super::patterns::Pattern;
use super::ranking::Shortlist;
use super::space::{Slot, Space, Stack};
use super::span::Reach;
use super::spent::Spent;

/// What looking at one lens for a place counts for.
const CHOOSING_STEPS: u64 = 4;
/// What weighing its cost counts for, and what it leaves to be found.
const WEIGHING_STEPS: u64 = 6;
/// What finding the lenses that may stand in a place counts for.
const LOOKING_STEPS: u64 = 3;

/// The lenses of some places, the cylinders at 180, not turned yet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Chosen {
    pub stack: Stack,
    /// What leaves the innermost of them, however they are turned.
    pub leaving: Reach,
    pub spent: Spent,
    /// What a stack with them costs at the least beside its miss.
    pub floor: f64,
}

/// The choice of lenses for a pattern.
#[derive(Debug)]
pub(super) struct Choosing<'a> {
    space: &'a Space<'a>,
    pattern: &'a Pattern,
    places: Vec<(u8, bool)>,
    /// By place, what must leave its cell.
    needed: Vec<Meridians>,
}

impl<'a> Choosing<'a> {
    /// For a net whose principal meridians, the more and the less, are so far from the wanted ones at the most.
    pub fn new(space: &'a Space<'a>, pattern: &'a Pattern, spread: (f64, f64)) -> Self {
        let places: Vec<(u8, bool)> = pattern.places().collect();
        let (spheres, cylinders) = (space.catalogue.range_of_spheres(), space.catalogue.range_of_cylinders());
        let mut meridians = Meridians::around(space.wanted, spread);
        let mut at = 0;
        let mut needed = Vec::with_capacity(places.len());
        for &(cell, cylinder) in &places {
            meridians = meridians.outward(space.between_m(at, cell));
            needed.push(meridians);
            meridians = meridians.before_any(if cylinder { cylinders } else { spheres }, cylinder);
            at = cell;
        }
        Self { space, pattern, places, needed }
    }

    /// Each choice for the places from one on outward that could enter the list; `each` says whether to go on.
    pub fn outside(&self, from: usize, list: &Shortlist<'_>, each: &mut impl FnMut(Chosen) -> bool) {
        self.choose(from, list, &mut Vec::new(), Reach::NOTHING, Spent::default(), each);
    }

    /// `leaving` leaves the innermost lens of `outer`; gives whether to go on.
    fn choose(
        &self,
        from: usize,
        list: &Shortlist<'_>,
        outer: &mut Vec<Slot>,
        leaving: Reach,
        spent: Spent,
        each: &mut impl FnMut(Chosen) -> bool,
    ) -> bool {
        let place = self.places.len() - outer.len();
        if place == from {
            let mut stack = Stack::default();
            outer.iter().rev().for_each(|slot| stack.push(*slot));
            return each(Chosen { stack, leaving, spent, floor: spent.least(self.space, self.pattern) });
        }
        let place = place - 1;
        let (cell, is_cylinder) = self.places[place];
        // the outermost is reached by parallel light
        let metres = outer.last().map_or(0.0, |slot| self.space.between_m(cell, slot.cell));
        let arriving = leaving.inward(metres);
        let catalogue = self.space.catalogue;
        self.space.work.spend(LOOKING_STEPS);
        let powers = arriving.powers_for(self.needed[place], is_cylinder);
        for type_id in catalogue.types_in(powers, is_cylinder) {
            self.space.work.spend(CHOOSING_STEPS);
            if self.space.is_over() {
                return false;
            }
            let taken = outer.iter().filter(|slot| slot.type_id == type_id).count();
            if taken >= usize::from(self.space.available[usize::from(type_id)]) {
                continue;
            }
            let leaving = arriving.with(catalogue.power(type_id), is_cylinder);
            if !leaving.fits(self.needed[place]) {
                continue;
            }
            self.space.work.spend(WEIGHING_STEPS);
            let slot = Slot { cell, type_id, axis: 180 };
            let spent = spent.with(self.space, slot);
            if list.bound(spent.least(self.space, self.pattern)) < 0.0 {
                continue;
            }
            outer.push(slot);
            let goes_on = self.choose(from, list, outer, leaving, spent, each);
            outer.pop();
            if !goes_on {
                return false;
            }
        }
        true
    }
}
