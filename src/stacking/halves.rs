//! Many lenses at one axis from a box with many: the inner half of them meets the outer half.
//!
//! All that can arrive from the outer half is sorted; each choice of the inner half then looks up what it needs. That takes
//! about the square root of the choices that trying all but one would.

use super::arc::Arc;
use super::catalogue::TypeId;
use super::common_axis::{CommonAxis, Needed};
use super::patterns::Pattern;
use super::ranking::Shortlist;
use super::space::{SLACK_D, Slot, Space, Stack, inward};
use super::spent::Spent;
use crate::optics::Power;

/// From this many choices of all lenses but one on, halves take less work.
const MANY_CHOICES: f64 = 1e6;
/// What keeping one choice of the outer half counts for, and looking one up for the inner half.
const KEEPING_STEPS: u64 = 12;
/// What looking at one lens for a place counts for.
const CHOOSING_STEPS: u64 = 3;
/// What putting two halves together counts for.
const MEETING_STEPS: u64 = 5;

/// A choice of the outer half, and what arrives of it at the outermost cell of the inner half.
#[derive(Debug, Clone, Copy)]
struct Outer {
    stack: Stack,
    along: f64,
    across: f64,
    spent: Spent,
}

/// Whether a pattern has so many choices that halves take less work.
pub(super) fn is_worth_it(space: &Space<'_>, pattern: &Pattern) -> bool {
    let kinds = |cylinder: bool| {
        if cylinder { space.catalogue.cylinders.len() as f64 } else { space.catalogue.spheres.len() as f64 }
    };
    let choices: f64 = pattern.places().map(|(_, cylinder)| kinds(cylinder)).product();
    let most = pattern.places().map(|(_, cylinder)| kinds(cylinder)).fold(1.0, f64::max);
    pattern.len() >= 4 && choices / most > MANY_CHOICES
}

/// Offers every stack of a pattern, its cylinders at one axis, that could enter the list, as long as there is work left.
pub(super) fn offer_all(space: &Space<'_>, pattern: &Pattern, axes: &[CommonAxis], list: &mut Shortlist<'_>) {
    let axes = if pattern.has_spheres_only() { &axes[..axes.len().min(1)] } else { axes };
    for at in axes {
        let Some(needed) = Needed::within(space, pattern, at, list.bound(pattern.floor)) else { continue };
        let places: Vec<(u8, bool)> = pattern.places().collect();
        let needed = needed_by_place(space, &places, needed);
        let (inner, outer) = places.split_at(places.len() / 2);
        let mut halves = Halves {
            space,
            pattern,
            at: *at,
            needed,
            arriving: Vec::new(),
            list,
            outers: Vec::new(),
            groups: Vec::new(),
            apart: (f64::INFINITY, f64::NEG_INFINITY),
            nearest_only: false,
        };
        let meeting = inner.last().map_or(0, |&(cell, _)| cell);
        halves.choose_outer(outer, meeting, &mut Vec::new(), (0.0, 0.0), Spent::default());
        if halves.outers.is_empty() || space.work.has_too_many(halves.outers.len(), pattern.floor) {
            continue;
        }
        halves.group();
        halves.look_outside(inner);
        // the nearest for each inner half first: what is found so leaves little to look through
        for nearest_only in [true, false] {
            if let Some(needed) = Needed::within(space, pattern, at, halves.list.bound(pattern.floor)) {
                halves.nearest_only = nearest_only;
                halves.choose_inner(inner, 0, needed, Stack::default(), Spent::default());
            }
        }
    }
}

/// By place, what must leave its cell, whichever lenses stand inside of it.
fn needed_by_place(space: &Space<'_>, places: &[(u8, bool)], at_the_eye: Needed) -> Vec<Needed> {
    let (spheres, cylinders) = (space.catalogue.range_of_spheres(), space.catalogue.range_of_cylinders());
    let (mut needed, mut at) = (at_the_eye, 0);
    let leaving = places.iter().map(|&(cell, cylinder)| {
        let leaving = needed.outward(space.between_m(at, cell));
        needed = leaving.before_any(if cylinder { cylinders } else { spheres }, cylinder);
        at = cell;
        leaving
    });
    leaving.collect()
}

struct Halves<'a, 'b, 'c> {
    space: &'a Space<'a>,
    pattern: &'a Pattern,
    at: CommonAxis,
    /// By place, what must leave its cell, whichever lenses stand inside of it.
    needed: Vec<Needed>,
    /// By place of the inner half, what can arrive at its cell.
    arriving: Vec<Needed>,
    list: &'c mut Shortlist<'b>,
    /// Rising along the axis, and where that is the same, across it.
    outers: Vec<Outer>,
    /// Those that send the same along the axis, as they differ in cylinders only: how much, and where they begin.
    groups: Vec<(f64, usize)>,
    /// By how much their meridians are apart, across less along, least and most.
    apart: (f64, f64),
    /// Whether each choice of the inner half only looks at what fits it best.
    nearest_only: bool,
}

impl Halves<'_, '_, '_> {
    fn types(&self, cylinder: bool) -> std::ops::Range<TypeId> {
        let (spheres, all) = (self.space.catalogue.spheres.len(), self.space.catalogue.types.len());
        if cylinder { spheres as TypeId..all as TypeId } else { 0..spheres as TypeId }
    }

    fn slot(&self, cell: u8, type_id: TypeId, cylinder: bool) -> Slot {
        Slot { cell, type_id, axis: if cylinder { self.at.axis } else { 180 } }
    }

    /// Chooses the outer half from the outermost inward; `leaving` leaves the last cell that is chosen.
    fn choose_outer(
        &mut self,
        places: &[(u8, bool)],
        meeting: u8,
        chosen: &mut Vec<Slot>,
        leaving: (f64, f64),
        spent: Spent,
    ) {
        if self.space.work.is_spent() || self.space.work.has_too_many(self.outers.len(), self.pattern.floor) {
            return;
        }
        let at = chosen.last().map(|slot| slot.cell);
        let Some((&(cell, cylinder), rest)) = places.split_last() else {
            self.space.work.spend(KEEPING_STEPS);
            let metres = at.map_or(0.0, |at| self.space.between_m(meeting, at));
            let mut stack = Stack::default();
            chosen.iter().rev().for_each(|slot| stack.push(*slot));
            let (along, across) = (inward(leaving.0, metres), inward(leaving.1, metres));
            let apart = across - along;
            self.apart = (self.apart.0.min(apart), self.apart.1.max(apart));
            self.outers.push(Outer { stack, along, across, spent });
            return;
        };
        let metres = at.map_or(0.0, |at| self.space.between_m(cell, at));
        let arriving = (inward(leaving.0, metres), inward(leaving.1, metres));
        for type_id in self.types(cylinder) {
            self.space.work.spend(CHOOSING_STEPS);
            let taken = chosen.iter().filter(|slot| slot.type_id == type_id).count();
            if taken >= usize::from(self.space.available[usize::from(type_id)]) {
                continue;
            }
            let slot = self.slot(cell, type_id, cylinder);
            let spent = spent.with(self.space, slot);
            if self.list.bound(spent.least(self.space, self.pattern)) < 0.0 {
                continue;
            }
            let power = self.space.catalogue.power(type_id);
            let along = if cylinder { arriving.0 } else { arriving.0 + power };
            let across = arriving.1 + power;
            if !self.needed[self.pattern.len() - 1 - chosen.len()].contains(along, across) {
                continue;
            }
            chosen.push(slot);
            self.choose_outer(rest, meeting, chosen, (along, across), spent);
            chosen.pop();
        }
    }

    /// Chooses the inner half from the eye outward; `needed` must leave cell `at`.
    fn choose_inner(&mut self, places: &[(u8, bool)], at: u8, needed: Needed, chosen: Stack, spent: Spent) {
        if self.space.work.is_spent() {
            return;
        }
        let Some((&(cell, cylinder), rest)) = places.split_first() else {
            let Some(needed) = needed.with_meridians_apart(self.apart) else { return };
            self.space.work.spend(KEEPING_STEPS);
            return self.look_up(needed, &chosen, spent);
        };
        let needed = needed.outward(self.space.between_m(at, cell));
        for type_id in self.types(cylinder) {
            self.space.work.spend(CHOOSING_STEPS);
            if !self.space.may_add(&chosen, type_id) {
                continue;
            }
            let slot = self.slot(cell, type_id, cylinder);
            let spent = spent.with(self.space, slot);
            if self.list.bound(spent.least(self.space, self.pattern)) < 0.0 {
                continue;
            }
            let power = self.space.catalogue.power(type_id);
            let along = if cylinder { needed.along } else { needed.along.less(power) };
            let needed = Needed { along, across: needed.across.less(power) };
            if !needed.meets(self.arriving[chosen.len()]) {
                continue;
            }
            let mut longer = chosen;
            longer.push(slot);
            self.choose_inner(rest, cell, needed, longer, spent);
        }
    }

    /// Finds what can arrive at the cells of the inner half from the choices of the outer half that are kept.
    fn look_outside(&mut self, inner: &[(u8, bool)]) {
        let (spheres, cylinders) = (self.space.catalogue.range_of_spheres(), self.space.catalogue.range_of_cylinders());
        let all = |of: fn(&Outer) -> f64| {
            let none = Arc { low: f64::INFINITY, high: f64::NEG_INFINITY };
            self.outers
                .iter()
                .map(of)
                .fold(none, |arc, value| Arc { low: arc.low.min(value), high: arc.high.max(value) })
        };
        let mut arriving = Needed { along: all(|outer| outer.along), across: all(|outer| outer.across) };
        self.arriving.clear();
        for (place, &(cell, cylinder)) in inner.iter().enumerate().rev() {
            self.arriving.insert(0, arriving);
            let nearer = place.checked_sub(1).map_or(cell, |nearer| inner[nearer].0);
            let leaving = arriving.behind_any(if cylinder { cylinders } else { spheres }, cylinder);
            arriving = leaving.inward(self.space.between_m(nearer, cell));
        }
    }

    fn group(&mut self) {
        self.outers
            .sort_by(|one, other| one.along.total_cmp(&other.along).then_with(|| one.across.total_cmp(&other.across)));
        for (index, outer) in self.outers.iter().enumerate() {
            if self.groups.last().is_none_or(|(along, _)| *along != outer.along) {
                self.groups.push((outer.along, index));
            }
        }
    }

    /// The choice of the outer half that is nearest to the middle of what is needed.
    fn nearest(&self, needed: Needed) -> Option<Outer> {
        let middle = |arc: Arc| if arc.is_through_infinity() { arc.low } else { f64::midpoint(arc.low, arc.high) };
        let (along, across) = (middle(needed.along), middle(needed.across));
        let group = nearest(&self.groups, along, |(along, _)| *along)?;
        let start = self.groups[group].1;
        let end = self.groups.get(group + 1).map_or(self.outers.len(), |(_, next)| *next);
        let index = nearest(&self.outers[start..end], across, |outer| outer.across)?;
        Some(self.outers[start + index])
    }

    fn look_up(&mut self, needed: Needed, inner: &Stack, spent: Spent) {
        if self.nearest_only {
            if let Some(outer) = self.nearest(needed) {
                self.meet(inner, &outer, spent);
            }
            return;
        }
        for (low, high) in needed.along.ends() {
            let first = self.groups.partition_point(|(along, _)| *along < low);
            for group in first..self.groups.len() {
                self.space.work.spend(3);
                let (along, start) = self.groups[group];
                if along > high || self.space.work.is_spent() {
                    break;
                }
                let end = self.groups.get(group + 1).map_or(self.outers.len(), |(_, next)| *next);
                for (low, high) in needed.across.ends() {
                    let first = start + self.outers[start..end].partition_point(|outer| outer.across < low);
                    for index in first..end {
                        let outer = self.outers[index];
                        if outer.across > high {
                            break;
                        }
                        self.space.work.spend(MEETING_STEPS);
                        self.meet(inner, &outer, spent);
                    }
                }
            }
        }
    }

    fn meet(&mut self, inner: &Stack, outer: &Outer, spent: Spent) {
        let bound = self.list.bound(spent.and(outer.spent).least(self.space, self.pattern));
        let mut stack = *inner;
        for slot in outer.stack.slots() {
            if bound < 0.0 || !self.space.may_add(&stack, slot.type_id) {
                return;
            }
            stack.push(*slot);
        }
        let (mut along, mut across) = (outer.along, outer.across);
        let mut at = inner.slots().last().map_or(0, |slot| slot.cell);
        for slot in inner.slots().iter().rev() {
            let metres = self.space.between_m(slot.cell, at);
            (along, across) = (inward(along, metres), inward(across, metres));
            let power = self.space.catalogue.power(slot.type_id);
            if !self.space.catalogue.is_cylinder(slot.type_id) {
                along += power;
            }
            across += power;
            at = slot.cell;
        }
        let metres = self.space.between_m(0, at);
        (along, across) = (inward(along, metres), inward(across, metres));
        let (m, half) = (f64::midpoint(along, across), (along - across) / 2.0);
        let net = Power { m, j0: half * self.at.cos, j45: half * self.at.sin };
        let miss = net.miss(self.space.wanted);
        if miss <= bound + SLACK_D {
            self.list.offer(self.space, &stack, net, miss);
        }
    }
}

/// The index of the nearest to a value among what rises.
fn nearest<T>(rising: &[T], value: f64, of: impl Fn(&T) -> f64) -> Option<usize> {
    let after = rising.partition_point(|item| of(item) < value);
    let away = |index: usize| rising.get(index).map_or(f64::INFINITY, |item| (of(item) - value).abs());
    let before = after.checked_sub(1);
    let best = before.filter(|&before| away(before) <= away(after)).unwrap_or(after);
    (best < rising.len()).then_some(best)
}
