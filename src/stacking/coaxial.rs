//! Stacks whose cylinders share one axis.
//!
//! Along the axis only the spheres act, across it spheres and cylinders; the two meridians are stepped along apart. So the
//! spheres are found first, from the axis meridian alone, and the cylinders then from the other. In each meridian all
//! lenses but the outermost are tried, and the outermost is looked up: what it must be is what the others leave.

use super::arc::Arc;
use super::catalogue::TypeId;
use super::common_axis::{CommonAxis, Needed};
use super::cost::{Opposed, STRONGEST_NOT_REAR};
use super::patterns::Pattern;
use super::ranking::Shortlist;
use super::space::{SLACK_D, Slot, Space, Stack, inward};
use crate::frame::declared::MOST_CELLS;
use crate::optics::Power;

/// What stepping along the spheres that are chosen counts for.
const STEPPING_STEPS: u64 = 2;
/// What finding the lenses that may stand in a place counts for.
const LOOKING_STEPS: u64 = 2;
/// What looking at one sphere, or at one cylinder and the stack with it, counts for.
const SPHERE_STEPS: u64 = 4;
const CYLINDER_STEPS: u64 = 6;

/// The cost of the lenses chosen so far, at the least, beside what the miss will cost.
#[derive(Debug, Clone, Copy)]
struct Spent {
    cost: f64,
    spheres: Opposed,
    cylinders: Opposed,
    /// Strength of the cylinders together.
    cylinder_strength: f64,
    /// The mark, without its sign, of the sphere in cell 1: a stronger one farther out costs. Infinite where that is counted.
    rear: f64,
}

/// The search through one pattern at one axis.
struct Coaxial<'a, 'b> {
    space: &'a Space<'a>,
    list: &'a mut Shortlist<'b>,
    at: CommonAxis,
    /// Power of the sphere in each cell, 0 where there is none.
    spheres: [f64; MOST_CELLS],
    sphere_types: [TypeId; MOST_CELLS],
    pattern: Pattern,
    /// The strongest cylinder, in dioptres without its sign.
    strongest: f64,
    /// By place, the greatest difference between the meridians that comes from outside of it.
    most_outside: [f64; MOST_CELLS],
    /// By place, the least difference between the meridians that comes from outside of it, whichever lenses these are.
    least_outside: [f64; MOST_CELLS],
    /// By place, what can arrive there along the axis from the spheres outside of it.
    along_outside: [Arc; MOST_CELLS],
}

/// Offers every stack of a pattern, its cylinders at one axis, that could enter the list.
pub(super) fn offer_all(space: &Space<'_>, pattern: &Pattern, axes: &[CommonAxis], list: &mut Shortlist<'_>) {
    // without a cylinder every axis is as good as the first
    let axes = if pattern.has_spheres_only() { &axes[..axes.len().min(1)] } else { axes };
    for at in axes {
        offer_all_at(space, pattern, *at, list);
    }
}

fn offer_all_at(space: &Space<'_>, pattern: &Pattern, at: CommonAxis, list: &mut Shortlist<'_>) {
    let Some(needed) = Needed::within(space, pattern, &at, list.bound(pattern.floor)) else {
        return;
    };
    let mut run = Coaxial {
        space,
        list,
        at,
        spheres: [0.0; MOST_CELLS],
        sphere_types: [0; MOST_CELLS],
        pattern: *pattern,
        strongest: space.catalogue.strongest_cylinder(),
        most_outside: [f64::INFINITY; MOST_CELLS],
        least_outside: [0.0; MOST_CELLS],
        along_outside: [Arc::EVERYTHING; MOST_CELLS],
    };
    run.look_outside();
    let spent = Spent {
        cost: pattern.floor,
        spheres: Opposed::default(),
        cylinders: Opposed::default(),
        cylinder_strength: 0.0,
        rear: f64::INFINITY,
    };
    run.choose_spheres(0, 0, needed, &mut Stack::default(), spent);
}

impl Coaxial<'_, '_> {
    /// What is spent with a sphere more in a cell.
    fn with_sphere(&self, spent: Spent, cell: u8, type_id: TypeId) -> Spent {
        let mark = self.space.catalogue.mark(type_id);
        let spheres = spent.spheres.with(mark);
        let mut cost = spent.cost + spheres.cost() - spent.spheres.cost();
        cost += self.space.costing.extra(self.space.catalogue, cell, type_id);
        let mut rear = spent.rear;
        if cell == 0 {
            rear = mark.abs();
        } else if mark.abs() > rear + SLACK_D {
            cost += STRONGEST_NOT_REAR;
            rear = f64::INFINITY;
        }
        Spent { cost, spheres, rear, ..spent }
    }

    /// What is spent with a cylinder more in a cell.
    fn with_cylinder(&self, spent: Spent, cell: u8, type_id: TypeId) -> Spent {
        let (costing, mark) = (&self.space.costing, self.space.catalogue.mark(type_id));
        let cylinders = spent.cylinders.with(mark);
        let cylinder_strength = spent.cylinder_strength + mark.abs();
        let mut cost = spent.cost + cylinders.cost() - spent.cylinders.cost();
        cost += costing.care(cylinder_strength) - costing.care(spent.cylinder_strength);
        cost += costing.extra(self.space.catalogue, cell, type_id);
        cost += costing.turning(Slot { cell, type_id, axis: self.at.axis });
        Spent { cost, cylinders, cylinder_strength, ..spent }
    }

    fn is_sphere(&self, index: usize) -> bool {
        index < self.pattern.len() && !self.pattern.is_cylinder(index)
    }

    /// Chooses the spheres from the pattern's place `from` on; `needed` is what must leave cell `at`.
    fn choose_spheres(&mut self, from: usize, at: u8, needed: Needed, chosen: &mut Stack, spent: Spent) {
        let Some(place) = (from..self.pattern.len()).find(|&i| self.is_sphere(i)) else {
            if needed.along.contains(0.0) {
                self.choose_cylinders_after_spheres(spent);
            }
            return;
        };
        self.space.work.spend(LOOKING_STEPS);
        let cell = self.pattern.cell(place);
        let passes_cylinder = place > from;
        let at_first = needed.outward(self.space.between_m(at, self.pattern.cell(from)));
        let needed = if passes_cylinder {
            needed.beyond_a_cylinder(self.space.between_m(at, cell))
        } else {
            needed.outward(self.space.between_m(at, cell))
        };
        // A sphere does not change how far the meridians are apart, so what the cylinders from here on must do is known.
        let most = if passes_cylinder { self.most_outside[from] + self.strongest } else { self.most_outside[place] };
        let least = if passes_cylinder { 0.0 } else { self.least_outside[place] };
        if at_first.least_difference() > most || at_first.most_difference() < least {
            return;
        }
        let last = !(place + 1..self.pattern.len()).any(|i| self.is_sphere(i));
        if self.is_over() {
            return;
        }
        for type_id in self.space.catalogue.spheres_in(needed.along.minus(self.along_outside[place])) {
            self.space.work.spend(SPHERE_STEPS);
            if !self.space.may_add(chosen, type_id) {
                continue;
            }
            let spent = self.with_sphere(spent, cell, type_id);
            if self.list.bound(spent.cost) < 0.0 {
                continue;
            }
            let power = self.space.catalogue.spheres[usize::from(type_id)];
            self.spheres[usize::from(cell)] = power;
            self.sphere_types[usize::from(cell)] = type_id;
            if last {
                self.choose_cylinders_after_spheres(spent);
            } else {
                chosen.push(Slot { cell, type_id, axis: 180 });
                self.choose_spheres(place + 1, cell, needed.less(power), chosen, spent);
                chosen.pop();
            }
        }
        self.spheres[usize::from(cell)] = 0.0;
    }

    fn is_over(&self) -> bool {
        self.space.is_over()
    }

    /// Finds what can arrive at each place along the axis, and how far the meridians can be apart there: a vergence that is more
    /// stays more through every gap before a focus, so the weakest and the strongest lenses bound it.
    fn look_outside(&mut self) {
        let extremes = self.space.catalogue.range_of_spheres();
        let (weakest, one_sign) = self.space.catalogue.weakest_cylinder();
        let (mut leaving, mut apart, mut least, mut cylinders) = (Arc::NOTHING, 0.0, 0.0, 0);
        let mut at = self.pattern.len().checked_sub(1).map_or(0, |outermost| self.pattern.cell(outermost));
        for place in (0..self.pattern.len()).rev() {
            let cell = self.pattern.cell(place);
            let metres = self.space.between_m(cell, at);
            if apart > 0.0 && metres > 0.0 {
                // a gap pulls two vergences apart by 1 / (1 - d of the one) (1 - d of the other), neither more than the most
                let left = 1.0 - metres * (leaving.high + apart);
                let before_focus = left > 0.0 && leaving.low <= leaving.high;
                // and together no less than the least
                let right = 1.0 - metres * (leaving.low - apart);
                least = if before_focus { least / (right * right) } else { 0.0 };
                apart = if before_focus { apart / (left * left) } else { f64::INFINITY };
            }
            let arriving = leaving.inward(metres);
            self.along_outside[place] = arriving;
            self.most_outside[place] = apart + SLACK_D;
            self.least_outside[place] = least - SLACK_D;
            leaving = arriving;
            if self.is_sphere(place) {
                leaving = arriving.plus(extremes);
            } else {
                apart += self.strongest;
                cylinders += 1;
                // cylinders of both signs can undo each other
                least = if cylinders == 1 || one_sign { least + weakest } else { 0.0 };
            }
            at = cell;
        }
    }

    /// What can arrive at a place across the axis from outside of it: the spheres are chosen, the cylinders are not.
    fn across_outside(&self, place: usize) -> Arc {
        let extremes = self.space.catalogue.range_of_cylinders();
        let mut leaving = Arc::NOTHING;
        let mut at = self.pattern.cell(self.pattern.len() - 1);
        for outer in (place + 1..self.pattern.len()).rev() {
            let cell = self.pattern.cell(outer);
            let arriving = leaving.inward(self.space.between_m(cell, at));
            let sphere = Arc::of(self.spheres[usize::from(cell)]);
            leaving = arriving.plus(if self.is_sphere(outer) { sphere } else { extremes });
            at = cell;
        }
        leaving.inward(self.space.between_m(self.pattern.cell(place), at))
    }

    fn choose_cylinders_after_spheres(&mut self, spent: Spent) {
        self.space.work.spend(STEPPING_STEPS);
        let along = self.arriving_from(0, self.pattern.len());
        let bound = self.list.bound(spent.cost);
        // miss² is half the sum of both meridians' squared errors, plus what is off the axis
        let left = 2.0 * (bound * bound - self.at.off_axis * self.at.off_axis) - (along - self.at.along).powi(2);
        if bound < 0.0 || left < -SLACK_D {
            return;
        }
        let needed = Arc::around(self.at.across, left.max(0.0).sqrt());
        self.choose_cylinders(0, 0, needed, along, &mut Stack::default(), spent);
    }

    /// Vergence that the spheres of places `from..to` send to cell 1, or to the cell of place `from` when `from` is above 0.
    fn arriving_from(&self, from: usize, to: usize) -> f64 {
        let mut vergence = 0.0;
        let mut at = None;
        for place in (from..to).rev() {
            let cell = self.pattern.cell(place);
            if let Some(outer) = at {
                vergence = inward(vergence, self.space.between_m(cell, outer));
            }
            vergence += self.spheres[usize::from(cell)];
            at = Some(cell);
        }
        match at {
            Some(cell) if from == 0 => inward(vergence, self.space.between_m(0, cell)),
            _ => vergence,
        }
    }

    /// Goes outward through the pattern; `needed` is what must leave cell `at` across the axis.
    fn choose_cylinders(&mut self, place: usize, at: u8, needed: Arc, along: f64, stack: &mut Stack, spent: Spent) {
        if place == self.pattern.len() {
            if needed.contains(0.0) {
                self.offer(along, stack);
            }
            return;
        }
        let cell = self.pattern.cell(place);
        let needed = needed.outward(self.space.between_m(at, cell));
        if !self.pattern.is_cylinder(place) {
            let type_id = self.sphere_types[usize::from(cell)];
            stack.push(Slot { cell, type_id, axis: 180 });
            let needed = needed.less(self.spheres[usize::from(cell)]);
            self.choose_cylinders(place + 1, cell, needed, along, stack, spent);
            stack.pop();
            return;
        }
        let last = (place + 1..self.pattern.len()).all(|i| self.is_sphere(i));
        self.space.work.spend(LOOKING_STEPS);
        if self.is_over() {
            return;
        }
        for type_id in self.space.catalogue.cylinders_in(needed.minus(self.across_outside(place))) {
            self.space.work.spend(CYLINDER_STEPS);
            if !self.space.may_add(stack, type_id) {
                continue;
            }
            let spent = self.with_cylinder(spent, cell, type_id);
            if self.list.bound(spent.cost) < 0.0 {
                continue;
            }
            let power = self.space.catalogue.power(type_id);
            stack.push(Slot { cell, type_id, axis: self.at.axis });
            if last {
                self.offer_with_outer_spheres(place + 1, along, stack);
            } else {
                self.choose_cylinders(place + 1, cell, needed.less(power), along, stack, spent);
            }
            stack.pop();
        }
    }

    fn offer_with_outer_spheres(&mut self, from: usize, along: f64, stack: &Stack) {
        let mut whole = *stack;
        for place in from..self.pattern.len() {
            let cell = self.pattern.cell(place);
            whole.push(Slot { cell, type_id: self.sphere_types[usize::from(cell)], axis: 180 });
        }
        self.offer(along, &whole);
    }

    fn offer(&mut self, along: f64, stack: &Stack) {
        let mut vergence = 0.0;
        let mut at = stack.slots().last().map_or(0, |slot| slot.cell);
        for slot in stack.slots().iter().rev() {
            vergence = inward(vergence, self.space.between_m(slot.cell, at)) + self.space.catalogue.power(slot.type_id);
            at = slot.cell;
        }
        let across = inward(vergence, self.space.between_m(0, at));
        let (m, j) = (f64::midpoint(along, across), (along - across) / 2.0);
        let net = Power { m, j0: j * self.at.cos, j45: j * self.at.sin };
        self.list.offer(self.space, stack, net, net.miss(self.space.wanted));
    }
}
