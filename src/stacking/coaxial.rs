//! Stacks whose cylinders share one axis.
//!
//! Along the axis only the spheres act, across it spheres and cylinders; the two meridians are stepped along apart. So the
//! spheres are found first, from the axis meridian alone, and the cylinders then from the other. In each meridian all
//! lenses but the outermost are tried, and the outermost is looked up: what it must be is what the others leave.

use libm::{hypot, sincos};

use super::catalogue::TypeId;
use super::ranking::Shortlist;
use super::space::{Interval, OpenCell, SLACK_D, Slot, Space, Stack, inward};
use crate::frame::declared::MOST_CELLS;
use crate::optics::Power;

/// A choice of cells and of the kind of lens in each.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pattern {
    cells: [u8; MOST_CELLS],
    cylinder: [bool; MOST_CELLS],
    len: usize,
}

impl Pattern {
    /// Cells from the eye outward, each with whether a cylinder stands in it.
    pub fn places(&self) -> impl DoubleEndedIterator<Item = (u8, bool)> + '_ {
        (0..self.len).map(|i| (self.cells[i], self.cylinder[i]))
    }

    /// How many lenses.
    pub fn len(&self) -> usize {
        self.len
    }
}

/// Calls `each` with every way to use `lenses` of the open cells.
pub(super) fn patterns(open: &[OpenCell], lenses: usize, each: &mut impl FnMut(&Pattern)) {
    let empty = Pattern { cells: [0; MOST_CELLS], cylinder: [false; MOST_CELLS], len: 0 };
    extend(open, lenses, empty, each);
}

fn extend(open: &[OpenCell], left: usize, pattern: Pattern, each: &mut impl FnMut(&Pattern)) {
    if left == 0 {
        return each(&pattern);
    }
    for (index, cell) in open.iter().enumerate() {
        if open.len() - index < left {
            return;
        }
        let kinds: &[bool] = if cell.ring.is_some() { &[false, true] } else { &[false] };
        for &cylinder in kinds {
            let mut longer = pattern;
            longer.cells[longer.len] = cell.cell;
            longer.cylinder[longer.len] = cylinder;
            longer.len += 1;
            extend(&open[index + 1..], left - 1, longer, each);
        }
    }
}

/// What must leave a cell, along the common axis and across it.
#[derive(Debug, Clone, Copy)]
struct Needed {
    along: Interval,
    across: Interval,
}

impl Needed {
    fn outward(self, metres: f64) -> Self {
        Self { along: self.along.outward(metres), across: self.across.outward(metres) }
    }

    /// Farther out than a cylinder that is not chosen yet: across the axis nothing is known there.
    fn beyond_a_cylinder(self, metres: f64) -> Self {
        Self { along: self.along.outward(metres), across: Interval { low: f64::NEG_INFINITY, high: f64::INFINITY } }
    }

    fn less(self, power: f64) -> Self {
        Self { along: self.along.less(power), across: self.across.less(power) }
    }

    /// The least that the meridians must be apart.
    fn least_difference(self) -> f64 {
        (self.across.low - self.along.high).max(self.along.low - self.across.high)
    }
}

/// The wanted power in the frame of the common axis.
struct Coaxial<'a, 'b> {
    space: &'a Space<'a>,
    list: &'a mut Shortlist<'b>,
    axis: u8,
    /// Unit vector of the common axis at doubled angle.
    cos: f64,
    sin: f64,
    /// Wanted power along the axis and across it.
    along: f64,
    across: f64,
    /// Wanted astigmatism that no cylinder at this axis can make: the axis is a whole degree.
    off_axis: f64,
    /// Power of the sphere in each cell, 0 where there is none.
    spheres: [f64; MOST_CELLS],
    sphere_types: [TypeId; MOST_CELLS],
    pattern: Pattern,
    /// The strongest cylinder, in dioptres without its sign.
    strongest: f64,
    /// By place, the greatest difference between the meridians that comes from outside of it.
    most_outside: [f64; MOST_CELLS],
    /// By place, the greatest difference that leaves the cell of the cylinder there, when it is the outermost.
    most_of_lone: [f64; MOST_CELLS],
}

/// Offers every stack of exactly that many lenses with one axis that could enter the list.
pub(super) fn offer_all(space: &Space<'_>, lenses: usize, list: &mut Shortlist<'_>) {
    // minus cylinders lie along the wanted axis, plus cylinders across it
    let along = space.axis();
    for (axis, with_spheres_only) in [(along, true), (along.perpendicular(), false)] {
        offer_all_at(space, lenses, axis.degrees(), with_spheres_only, list);
    }
}

fn offer_all_at(space: &Space<'_>, lenses: usize, axis: u8, with_spheres_only: bool, list: &mut Shortlist<'_>) {
    let (sin, cos) = sincos((2.0 * f64::from(axis)).to_radians());
    let wanted = space.wanted;
    let astigmatism = wanted.j0 * cos + wanted.j45 * sin;
    let off_axis = wanted.j45 * cos - wanted.j0 * sin;
    let strongest = space.catalogue.strongest_cylinder();
    patterns(space.open, lenses, &mut |pattern| {
        let spheres_only = pattern.places().all(|(_, cylinder)| !cylinder);
        let bound = list.bound(lenses);
        if bound < 0.0 || spheres_only && (!with_spheres_only || hypot(astigmatism, off_axis) > bound) {
            return;
        }
        let mut run = Coaxial {
            space,
            list,
            axis,
            cos,
            sin,
            along: wanted.m + astigmatism,
            across: wanted.m - astigmatism,
            off_axis,
            spheres: [0.0; MOST_CELLS],
            sphere_types: [0; MOST_CELLS],
            pattern: *pattern,
            strongest,
            most_outside: [f64::INFINITY; MOST_CELLS],
            most_of_lone: [f64::INFINITY; MOST_CELLS],
        };
        for place in 0..lenses {
            run.most_outside[place] = run.most_from_outside(place + 1);
            run.most_of_lone[place] = run.most_of_lone_cylinder(place);
        }
        let needed = if spheres_only {
            // spheres leave all the wanted astigmatism missing, and the rest of the bound is for the equivalent sphere
            let missing = hypot(astigmatism, off_axis);
            let sphere = Interval::around(wanted.m, (bound * bound - missing * missing).max(0.0).sqrt());
            Needed { along: sphere, across: sphere }
        } else {
            let spread = bound * std::f64::consts::SQRT_2;
            Needed { along: Interval::around(run.along, spread), across: Interval::around(run.across, spread) }
        };
        run.choose_spheres(0, 0, needed, &mut Stack::default());
    });
}

impl Coaxial<'_, '_> {
    fn bound(&self) -> f64 {
        self.list.bound(self.pattern.len())
    }

    fn is_sphere(&self, index: usize) -> bool {
        index < self.pattern.len && !self.pattern.cylinder[index]
    }

    /// Chooses the spheres from the pattern's place `from` on; `needed` is what must leave cell `at`.
    fn choose_spheres(&mut self, from: usize, at: u8, needed: Needed, chosen: &mut Stack) {
        let Some(place) = (from..self.pattern.len).find(|&i| self.is_sphere(i)) else {
            if needed.along.contains(0.0) {
                self.choose_cylinders_after_spheres();
            }
            return;
        };
        let cell = self.pattern.cells[place];
        let passes_cylinder = place > from;
        let at_first = needed.outward(self.space.between_m(at, self.pattern.cells[from]));
        let needed = if passes_cylinder {
            needed.beyond_a_cylinder(self.space.between_m(at, cell))
        } else {
            needed.outward(self.space.between_m(at, cell))
        };
        // A sphere does not change how far the meridians are apart, so what the cylinders from here on must do is known.
        let most = if passes_cylinder { self.most_of_lone[from] } else { self.most_outside[place] };
        if at_first.least_difference() > most {
            return;
        }
        let last = !(place + 1..self.pattern.len).any(|i| self.is_sphere(i));
        let types = if last {
            self.space.catalogue.spheres_within(needed.along.low, needed.along.high)
        } else {
            0..self.space.catalogue.spheres.len() as TypeId
        };
        for type_id in types {
            if !self.space.may_add(chosen, type_id) {
                continue;
            }
            let power = self.space.catalogue.spheres[usize::from(type_id)];
            self.spheres[usize::from(cell)] = power;
            self.sphere_types[usize::from(cell)] = type_id;
            if last {
                self.choose_cylinders_after_spheres();
            } else {
                chosen.push(Slot { cell, type_id, axis: 180 });
                self.choose_spheres(place + 1, cell, needed.less(power), chosen);
                chosen.pop();
            }
        }
        self.spheres[usize::from(cell)] = 0.0;
    }

    fn cylinders_from(&self, from: usize) -> usize {
        (from..self.pattern.len).filter(|&place| self.pattern.cylinder[place]).count()
    }

    /// The greatest difference between the meridians that leaves the cell of the cylinder at `from`, when it is the last.
    fn most_of_lone_cylinder(&self, from: usize) -> f64 {
        if self.cylinders_from(from) == 1 { self.strongest + SLACK_D } else { f64::INFINITY }
    }

    /// The greatest difference between the meridians that the places from `from` on can send to the cell before them;
    /// without limit when spheres among them leave that open.
    fn most_from_outside(&self, from: usize) -> f64 {
        let cylinders = self.cylinders_from(from);
        if cylinders == 0 {
            return SLACK_D;
        }
        let all_cylinders = cylinders == self.pattern.len - from;
        if !all_cylinders {
            return f64::INFINITY;
        }
        let mut most = 0.0;
        for place in (from..self.pattern.len).rev() {
            let inner = self.pattern.cells[place - 1];
            most = inward(most + self.strongest, self.space.between_m(inner, self.pattern.cells[place]));
            if most < 0.0 {
                return f64::INFINITY; // a focus between the cells: nothing can be said
            }
        }
        most + SLACK_D
    }

    fn choose_cylinders_after_spheres(&mut self) {
        let along = self.arriving_from(0, self.pattern.len);
        let bound = self.bound();
        // miss² is half the sum of both meridians' squared errors, plus what is off the axis
        let left = 2.0 * (bound * bound - self.off_axis * self.off_axis) - (along - self.along).powi(2);
        if bound < 0.0 || left < -SLACK_D {
            return;
        }
        let needed = Interval::around(self.across, left.max(0.0).sqrt());
        self.choose_cylinders(0, 0, needed, along, &mut Stack::default());
    }

    /// Vergence that the spheres of places `from..to` send to cell 1, or to the cell of place `from` when `from` is above 0.
    fn arriving_from(&self, from: usize, to: usize) -> f64 {
        let mut vergence = 0.0;
        let mut at = None;
        for place in (from..to).rev() {
            let cell = self.pattern.cells[place];
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
    fn choose_cylinders(&mut self, place: usize, at: u8, needed: Interval, along: f64, stack: &mut Stack) {
        if place == self.pattern.len {
            if needed.contains(0.0) {
                self.offer(along, stack);
            }
            return;
        }
        let cell = self.pattern.cells[place];
        let needed = needed.outward(self.space.between_m(at, cell));
        if !self.pattern.cylinder[place] {
            let type_id = self.sphere_types[usize::from(cell)];
            stack.push(Slot { cell, type_id, axis: 180 });
            self.choose_cylinders(place + 1, cell, needed.less(self.spheres[usize::from(cell)]), along, stack);
            stack.pop();
            return;
        }
        let last = (place + 1..self.pattern.len).all(|i| self.is_sphere(i));
        let types = if last {
            let outer = place + 1;
            let from_outside = if outer < self.pattern.len {
                inward(
                    self.arriving_from(outer, self.pattern.len),
                    self.space.between_m(cell, self.pattern.cells[outer]),
                )
            } else {
                0.0
            };
            let needed = needed.less(from_outside);
            self.space.catalogue.cylinders_within(needed.low, needed.high)
        } else {
            let first = self.space.catalogue.spheres.len() as TypeId;
            first..self.space.catalogue.types.len() as TypeId
        };
        for type_id in types {
            if !self.space.may_add(stack, type_id) {
                continue;
            }
            let power = self.space.catalogue.power(type_id);
            stack.push(Slot { cell, type_id, axis: self.axis });
            if last {
                self.offer_with_outer_spheres(place + 1, along, stack);
            } else {
                self.choose_cylinders(place + 1, cell, needed.less(power), along, stack);
            }
            stack.pop();
        }
    }

    fn offer_with_outer_spheres(&mut self, from: usize, along: f64, stack: &Stack) {
        let mut whole = *stack;
        for place in from..self.pattern.len {
            let cell = self.pattern.cells[place];
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
        let net = Power { m, j0: j * self.cos, j45: j * self.sin };
        self.list.offer(self.space, stack, net, net.miss(self.space.wanted));
    }
}
