//! Stacks whose cylinders stand at different axes.
//!
//! A stack may be turned as a whole, and its net turns with it. So only the angles between the cylinders are searched, and
//! the whole is then turned to the whole degree that fits the wanted axis best. The innermost cylinder is met in the
//! middle: from outside by everything that can arrive at its cell, sorted by spherical equivalent; from inside by what the
//! spheres nearer the eye leave to be found there. The law of cosines then leaves few angles to try.

use std::sync::LazyLock;

use libm::{acos, atan2, cos, hypot};

use super::arc::Arc;
use super::catalogue::TypeId;
use super::choosing::{Choosing, Chosen};
use super::cost::Now;
use super::patterns::Pattern;
use super::ranking::Shortlist;
use super::space::{SLACK_D, Slot, Space, Stack, inward};
use super::span::Reach;
use super::spent::Spent;
use crate::optics::vergence::towards_eye;
use crate::optics::{Axis, Dioptres, Millimetres, Power};

/// What computing the net of one choice and offering it counts for.
pub(super) const OFFERING_STEPS: u64 = 8;
/// What keeping one choice of the lenses outside the innermost cylinder counts for.
const KEEPING_STEPS: u64 = 5;

/// What arrives at the innermost cylinder's cell from the lenses outside it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Outer {
    pub stack: Stack,
    pub arriving: Power,
    pub spent: Spent,
}

/// The lenses inside the innermost cylinder, all spheres, and what must leave its cell in the two principal meridians of
/// the wanted power.
pub(super) struct Inner {
    stack: Stack,
    more: Arc,
    less: Arc,
    spent: Spent,
}

impl Inner {
    /// The spherical equivalent that must leave the cylinder's cell.
    fn equivalent(&self) -> Arc {
        if self.is_open() {
            return Arc::EVERYTHING;
        }
        Arc { low: f64::midpoint(self.more.low, self.less.low), high: f64::midpoint(self.more.high, self.less.high) }
    }

    /// The astigmatism that must leave the cylinder's cell. Through a focus the lesser meridian may have become the greater.
    fn astigmatism(&self) -> Arc {
        if self.is_open() {
            return Arc { low: 0.0, high: f64::INFINITY };
        }
        Arc { low: (self.more.least_apart(self.less) / 2.0).max(0.0), high: self.more.most_apart(self.less) / 2.0 }
    }

    /// Whether a meridian may be anything that some of it comes to through a focus and some does not.
    fn is_open(&self) -> bool {
        self.more.is_through_infinity() || self.less.is_through_infinity()
    }
}

/// Offers every stack of a pattern with cylinders crossed at two axes that could enter the list, as long as there is work left.
/// Gives false, and offers nothing, where there can be more axes or the innermost cylinder shares its ring with another.
pub(super) fn offer_all(space: &Space<'_>, pattern: &Pattern, list: &mut Shortlist<'_>) -> bool {
    let places = ringed_places(space, pattern);
    let Some(innermost) = places.iter().position(|(_, ring)| ring.is_some()) else {
        return true;
    };
    let mut outside = places[innermost + 1..].iter().filter_map(|(_, ring)| *ring);
    let other = outside.next();
    if other == places[innermost].1 || outside.any(|ring| Some(ring) != other) {
        return false;
    }
    meet_in_the_middle(space, pattern, &places, innermost, list);
    true
}

/// How far each principal meridian of what some lenses in these places make may be from the wanted one, the more and the less,
/// so that the miss is at most this; nothing when none can come so near.
///
/// Each principal meridian goes through a gap alone, and a lens moves each by no less than its weakest meridian and no more
/// than its strongest (Weyl's inequality): so the weakest and the strongest lenses bound both. The miss is at least the root of half
/// the sum of the squared errors of the two (Hoffman and Wielandt's inequality), and what the one must miss by is not left for
/// the other.
pub(super) fn spread(space: &Space<'_>, pattern: &Pattern, miss: f64) -> Option<(f64, f64)> {
    let squares = 2.0 * miss * miss;
    let (spheres, cylinders) = (space.catalogue.range_of_spheres(), space.catalogue.range_of_cylinders());
    let mut made = Reach::NOTHING;
    let mut at = pattern.places().next_back().map_or(0, |(cell, _)| cell);
    for (cell, cylinder) in pattern.places().rev() {
        let powers = if cylinder { cylinders } else { spheres };
        made = made.inward(space.between_m(cell, at)).with_any(powers, cylinder);
        at = cell;
    }
    let made = made.inward(space.between_m(0, at));
    if made.least_miss(space.wanted) > miss {
        return None;
    }
    let (more, less) = made.off(space.wanted);
    let (more, less) = (more * more, less * less);
    (more + less <= squares + SLACK_D).then(|| ((squares - less).max(0.0).sqrt(), (squares - more).max(0.0).sqrt()))
}

/// The ring of a cell that a cylinder can be put into.
pub(super) fn ring_of(space: &Space<'_>, cell: u8) -> Option<u8> {
    space.open.iter().find(|open| open.cell == cell).and_then(|open| open.ring)
}

/// A place of a pattern, with the ring of its cylinder.
pub(super) type RingedPlace = ((u8, bool), Option<u8>);

/// The places of a pattern from the eye outward.
pub(super) fn ringed_places(space: &Space<'_>, pattern: &Pattern) -> Vec<RingedPlace> {
    let ring = |cell: u8, cylinder: bool| if cylinder { ring_of(space, cell) } else { None };
    pattern.places().map(|(cell, cylinder)| ((cell, cylinder), ring(cell, cylinder))).collect()
}

/// Every choice of lenses for the places, from the eye outward, the cylinders at 180.
pub(super) fn assemble(space: &Space<'_>, places: &[RingedPlace], stack: Stack, each: &mut impl FnMut(&Stack)) {
    let Some((&((cell, cylinder), _), rest)) = places.split_first() else {
        return each(&stack);
    };
    if space.is_over() {
        return;
    }
    space.work.spend(1);
    let (spheres, all) = (space.catalogue.spheres.len() as TypeId, space.catalogue.types.len() as TypeId);
    for type_id in if cylinder { spheres..all } else { 0..spheres } {
        if space.may_add(&stack, type_id) {
            let mut longer = stack;
            longer.push(Slot { cell, type_id, axis: 180 });
            assemble(space, rest, longer, each);
        }
    }
}

fn meet_in_the_middle(
    space: &Space<'_>,
    pattern: &Pattern,
    places: &[RingedPlace],
    innermost: usize,
    list: &mut Shortlist<'_>,
) {
    let Some(spread) = spread(space, pattern, list.bound(pattern.floor)) else {
        return;
    };
    let ((cell, _), _) = places[innermost];
    let mut outers = Vec::new();
    Choosing::new(space, pattern, spread).outside(innermost + 1, list, &mut |Chosen { stack, spent, .. }| {
        // as much work as looking at it from each lens inside, and memory beside
        space.work.spend(KEEPING_STEPS);
        let arriving = towards_eye(space.net(&stack), Millimetres(-1000.0 * space.between_m(0, cell)));
        outers.push(Outer { stack, arriving, spent });
        !space.work.has_too_many(outers.len(), pattern.floor)
    });
    if space.work.has_too_many(outers.len(), pattern.floor) {
        return;
    }
    outers.sort_by(|a, b| a.arriving.m.total_cmp(&b.arriving.m));

    let inside: Vec<u8> = places[..innermost].iter().map(|&((cell, _), _)| cell).collect();
    let mut meeting = Meeting::new(space, pattern, spread, cell, &outers, list);
    meeting.choose_inner(&inside, Stack::default(), Spent::default());
}

/// The innermost cylinder, between what is inside it and what is outside.
pub(super) struct Meeting<'a, 'b, 'c> {
    space: &'a Space<'a>,
    outers: &'a [Outer],
    cell: u8,
    pattern: &'a Pattern,
    /// Half of the strongest cylinder: the longest astigmatism that the innermost can have.
    strongest: f64,
    /// The longest astigmatism that arrives from outside.
    longest: f64,
    /// How far the principal meridians of the net may be from the wanted ones.
    spread: (f64, f64),
    list: &'b mut Shortlist<'c>,
}

impl<'a, 'b, 'c> Meeting<'a, 'b, 'c> {
    /// At the cell of the innermost cylinder; `spread` is that of the pattern, and `outers` rise by their spherical equivalent.
    pub fn new(
        space: &'a Space<'a>,
        pattern: &'a Pattern,
        spread: (f64, f64),
        cell: u8,
        outers: &'a [Outer],
        list: &'b mut Shortlist<'c>,
    ) -> Self {
        let strongest = space.catalogue.strongest_cylinder() / 2.0;
        let longest = outers.iter().fold(0.0, |most: f64, outer| most.max(outer.arriving.astigmatism()));
        Self { space, outers, cell, pattern, strongest, longest, spread, list }
    }

    /// Turns one cylinder between spheres and one choice of what is outside; the whole costs at least `floor`.
    pub fn meet(&mut self, inside: Stack, type_id: TypeId, outer: &Outer, floor: f64) {
        let bound = self.list.bound(floor);
        if bound < 0.0 {
            return;
        }
        let inner = self.needed_at_cylinder(inside, Spent::of(self.space, &inside), bound);
        let half = self.space.catalogue.power(type_id) / 2.0;
        self.try_angles(&inner, type_id, half, outer, inner.astigmatism());
    }

    /// What must leave the cylinder's cell for these spheres inside it and those lenses outside; `None` when no stack with them
    /// can enter the list.
    pub fn inner(&self, inside: Stack, outside: Spent) -> Option<Inner> {
        let spent = Spent::of(self.space, &inside);
        let bound = self.bound(spent.and(outside));
        (bound >= 0.0).then(|| self.needed_at_cylinder(inside, spent, bound))
    }

    /// Looks up every cylinder that can stand between spheres and what is outside, and turns it; to the axis at which its ring is
    /// held, where that is.
    pub fn look_up(&mut self, inner: &Inner, outer: &Outer, held: Option<u8>) {
        let (m, astigmatism, arriving) = (inner.equivalent(), inner.astigmatism(), outer.arriving.m);
        let length = outer.arriving.astigmatism();
        let powers = Arc { low: 2.0 * (m.low - arriving), high: 2.0 * (m.high - arriving) };
        for type_id in self.space.catalogue.cylinders_in(powers) {
            self.space.work.spend(1);
            let half = self.space.catalogue.power(type_id) / 2.0;
            let turned = Arc { low: (half.abs() - length).abs(), high: half.abs() + length };
            if turned.low > astigmatism.high || turned.high < astigmatism.low {
                continue;
            }
            let slot = Slot { cell: self.cell, type_id, axis: 180 };
            let bound = self.bound(inner.spent.and(outer.spent).with(self.space, slot));
            if bound < 0.0
                || self.least_miss(&inner.stack, arriving + half, turned) > bound
                || !self.may_stand_between(&inner.stack, type_id, &outer.stack)
            {
                continue;
            }
            match held {
                Some(axis) => self.try_axis(inner, Slot { axis, ..slot }, outer, bound),
                None => self.try_angles(inner, type_id, half, outer, astigmatism),
            }
        }
    }

    /// Offers one cylinder at one axis, turned with the whole.
    fn try_axis(&mut self, inner: &Inner, slot: Slot, outer: &Outer, bound: f64) {
        self.space.work.spend(OFFERING_STEPS);
        let leaving = outer.arriving + self.space.power(slot);
        if self.best_miss(&inner.stack, leaving.m, leaving.astigmatism()) > bound {
            return;
        }
        let mut stack = inner.stack;
        stack.push(slot);
        let net = self.net_from(&inner.stack, leaving);
        outer.stack.slots().iter().for_each(|slot| stack.push(*slot));
        offer_turned(self.space, &stack, net, self.list);
    }

    /// Whether there are pieces enough for a cylinder between these lenses.
    fn may_stand_between(&self, inside: &Stack, type_id: TypeId, outside: &Stack) -> bool {
        outside.count(type_id) < self.space.available[usize::from(type_id)] && self.together_available(inside, outside)
    }

    /// The miss with which a stack with these lenses can still enter the list.
    fn bound(&self, spent: Spent) -> f64 {
        self.list.bound(spent.least(self.space, self.pattern))
    }

    fn is_over(&self) -> bool {
        self.space.is_over()
    }

    fn choose_inner(&mut self, inside: &[u8], chosen: Stack, spent: Spent) {
        let bound = self.bound(spent);
        if bound < 0.0 || self.is_over() {
            return;
        }
        let Some((&cell, rest)) = inside.split_first() else {
            let inner = self.needed_at_cylinder(chosen, spent, bound);
            return self.choose_cylinder(&inner);
        };
        self.space.work.spend(self.space.catalogue.spheres.len() as u64);
        for type_id in 0..self.space.catalogue.spheres.len() as TypeId {
            if self.space.may_add(&chosen, type_id) {
                let mut stack = chosen;
                let slot = Slot { cell, type_id, axis: 180 };
                stack.push(slot);
                self.choose_inner(rest, stack, spent.with(self.space, slot));
            }
        }
    }

    /// What must leave the cylinder's cell for the spheres inside it, by the bound as it is now.
    fn needed_at_cylinder(&self, stack: Stack, spent: Spent, bound: f64) -> Inner {
        let (m, astigmatism) = (self.space.wanted.m, self.space.wanted.astigmatism());
        let whole = bound * std::f64::consts::SQRT_2;
        let mut more = Arc::around(m + astigmatism, whole.min(self.spread.0));
        let mut less = Arc::around(m - astigmatism, whole.min(self.spread.1));
        let mut at = 0;
        for slot in stack.slots() {
            let (metres, power) = (self.space.between_m(at, slot.cell), self.space.catalogue.power(slot.type_id));
            (more, less) = (more.outward(metres).less(power), less.outward(metres).less(power));
            at = slot.cell;
        }
        let metres = self.space.between_m(at, self.cell);
        Inner { stack, more: more.outward(metres), less: less.outward(metres), spent }
    }

    /// One principal meridian of what leaves the cylinder's cell, brought to cell 1 through the spheres inside; `None`
    /// beyond a focus.
    fn principal_at_rear(&self, inside: &Stack, leaving: f64) -> Option<f64> {
        let step = |vergence: f64, metres: f64| (metres * vergence < 1.0).then(|| inward(vergence, metres));
        let (mut vergence, mut at) = (leaving, self.cell);
        for slot in inside.slots().iter().rev() {
            let power = self.space.catalogue.power(slot.type_id);
            vergence = step(vergence, self.space.between_m(slot.cell, at))? + power;
            at = slot.cell;
        }
        step(vergence, self.space.between_m(0, at))
    }

    /// Spherical equivalent and astigmatism at cell 1 of what leaves the cylinder's cell, whichever way it is turned.
    fn at_rear(&self, inside: &Stack, m: f64, astigmatism: f64) -> Option<(f64, f64)> {
        let more = self.principal_at_rear(inside, m + astigmatism)?;
        let less = self.principal_at_rear(inside, m - astigmatism)?;
        Some((f64::midpoint(more, less), (more - less) / 2.0))
    }

    /// A miss that no way of turning can better, when what leaves the cylinder's cell has an astigmatism in a range.
    ///
    /// Spherical equivalent and astigmatism at cell 1 both grow with it, so its ends bound them. Beyond a focus nothing can
    /// be said.
    fn least_miss(&self, inside: &Stack, m: f64, astigmatism: Arc) -> f64 {
        let ends = (self.at_rear(inside, m, astigmatism.low), self.at_rear(inside, m, astigmatism.high));
        let (Some(low), Some(high)) = ends else {
            return 0.0;
        };
        let outside = |value: f64, low: f64, high: f64| (low - value).max(value - high).max(0.0);
        let wanted = self.space.wanted;
        hypot(outside(wanted.m, low.0, high.0), outside(wanted.astigmatism(), low.1, high.1)) - SLACK_D
    }

    /// The miss of what leaves the cylinder's cell with this spherical equivalent and astigmatism, when the whole is turned to
    /// the wanted axis; through a focus, too.
    fn best_miss(&self, inside: &Stack, m: f64, astigmatism: f64) -> f64 {
        let (mut more, mut less, mut at) = (m + astigmatism, m - astigmatism, self.cell);
        for slot in inside.slots().iter().rev() {
            let (metres, power) = (self.space.between_m(slot.cell, at), self.space.catalogue.power(slot.type_id));
            (more, less) = (inward(more, metres) + power, inward(less, metres) + power);
            at = slot.cell;
        }
        let metres = self.space.between_m(0, at);
        (more, less) = (inward(more, metres), inward(less, metres));
        let wanted = self.space.wanted;
        hypot(f64::midpoint(more, less) - wanted.m, (more - less).abs() / 2.0 - wanted.astigmatism()) - SLACK_D
    }

    fn choose_cylinder(&mut self, inner: &Inner) {
        let m = inner.equivalent();
        let astigmatism = inner.astigmatism();
        if astigmatism.low > self.strongest + self.longest {
            return;
        }
        let first = self.space.catalogue.spheres.len() as TypeId;
        // looking up where the lenses outside begin takes longer than a step
        for type_id in first..self.space.catalogue.types.len() as TypeId {
            self.space.work.spend(2);
            if self.is_over() {
                return;
            }
            let half = self.space.catalogue.power(type_id) / 2.0;
            let spent = inner.spent.with(self.space, Slot { cell: self.cell, type_id, axis: 180 });
            if self.space.available[usize::from(type_id)] == 0 || half.abs() + self.longest < astigmatism.low {
                continue;
            }
            if self.bound(spent) < 0.0 {
                continue;
            }
            let from = self.outers.partition_point(|outer| outer.arriving.m + half < m.low);
            for index in from..self.outers.len() {
                let outer = self.outers[index];
                self.space.work.spend(1);
                if outer.arriving.m + half > m.high {
                    break;
                }
                let length = outer.arriving.astigmatism();
                if (half.abs() - length).abs() > astigmatism.high || half.abs() + length < astigmatism.low {
                    continue;
                }
                let bound = self.bound(spent.and(outer.spent));
                let turned = Arc { low: (half.abs() - length).abs(), high: half.abs() + length };
                if bound < 0.0 || self.least_miss(&inner.stack, outer.arriving.m + half, turned) > bound {
                    continue;
                }
                if !self.may_stand_between(&inner.stack, type_id, &outer.stack) {
                    continue;
                }
                if self.is_over() {
                    return;
                }
                self.try_angles(inner, type_id, half, &outer, astigmatism);
            }
        }
    }

    fn together_available(&self, inner: &Stack, outer: &Stack) -> bool {
        outer.slots().iter().all(|slot| {
            self.space.catalogue.is_cylinder(slot.type_id)
                || inner.count(slot.type_id) + outer.count(slot.type_id)
                    <= self.space.available[usize::from(slot.type_id)]
        })
    }

    fn try_angles(&mut self, inner: &Inner, type_id: TypeId, half: f64, outer: &Outer, wanted: Arc) {
        let spent = inner.spent.and(outer.spent).with(self.space, Slot { cell: self.cell, type_id, axis: 180 });
        let length = outer.arriving.astigmatism();
        let product = 2.0 * half.abs() * length;
        let cosine = |sum: f64| ((sum * sum - half * half - length * length) / product).clamp(-1.0, 1.0);
        let (widest, narrowest) = if product < SLACK_D {
            (180.0, 0.0)
        } else {
            (acos(cosine(wanted.low)).to_degrees(), acos(cosine(wanted.high.min(1e6))).to_degrees())
        };
        // doubled-angle directions: of what arrives, and of this cylinder at axis 0
        let arriving = atan2(outer.arriving.j45, outer.arriving.j0).to_degrees();
        let at_zero = if half < 0.0 { 0.0 } else { 180.0 };
        for (from, to) in [(narrowest, widest), (-widest, -narrowest)] {
            let first = ((arriving + from - at_zero) / 2.0 - 1e-6).ceil() as i32;
            let last = ((arriving + to - at_zero) / 2.0 + 1e-6).floor() as i32;
            // from the middle outward: there the miss is least, and what is found first leaves the others out
            for degrees in from_the_middle(first, last.min(first + 179)) {
                self.space.work.spend(OFFERING_STEPS);
                let axis = Axis::folded(degrees).degrees();
                let turned = cos_of_doubled(axis, arriving - at_zero);
                let astigmatism = (half * half + length * length + product * turned).max(0.0).sqrt();
                if self.best_miss(&inner.stack, outer.arriving.m + half, astigmatism) > self.bound(spent) {
                    continue;
                }
                let leaving = outer.arriving + Power::cylinder(Dioptres(2.0 * half), f64::from(axis));
                let mut stack = inner.stack;
                stack.push(Slot { cell: self.cell, type_id, axis });
                let net = self.net_from(&inner.stack, leaving);
                for slot in outer.stack.slots() {
                    stack.push(*slot);
                }
                offer_turned(self.space, &stack, net, self.list);
            }
        }
    }

    fn net_from(&self, inner: &Stack, leaving: Power) -> Power {
        let step = |v: Power, metres: f64| towards_eye(v, Millimetres(1000.0 * metres));
        let (mut vergence, mut at) = (leaving, self.cell);
        for slot in inner.slots().iter().rev() {
            vergence = step(vergence, self.space.between_m(slot.cell, at)) + self.space.power(*slot);
            at = slot.cell;
        }
        step(vergence, self.space.between_m(0, at))
    }
}

/// Cosines of twice every whole-degree axis, from 0 on.
static DOUBLED: LazyLock<[f64; 181]> =
    LazyLock::new(|| std::array::from_fn(|axis| cos((2.0 * axis as f64).to_radians())));

/// Cosine of the angle from a doubled-angle direction in degrees to the doubled axis.
fn cos_of_doubled(axis: u8, direction_deg: f64) -> f64 {
    if direction_deg == 0.0 {
        DOUBLED[usize::from(axis)]
    } else if direction_deg.abs() == 180.0 {
        -DOUBLED[usize::from(axis)]
    } else {
        cos((2.0 * f64::from(axis) - direction_deg).to_radians())
    }
}

/// The whole numbers from `first` to `last`, the middle one first and the ends last.
fn from_the_middle(first: i32, last: i32) -> impl Iterator<Item = i32> {
    let middle = first + (last - first) / 2;
    let steps = (last - first + 1).max(0);
    (0..steps).map(move |nth| if nth % 2 == 0 { middle - nth / 2 } else { middle + nth / 2 + 1 })
}

/// How near to half-way between two whole degrees a turn is as good to the one as to the other.
const HALF_WAY_DEG: f64 = 1e-6;

/// Offers a stack turned as a whole: so that its axis fits the wanted one best, and so that a cylinder that is in now need not
/// be turned.
pub(super) fn offer_turned(space: &Space<'_>, stack: &Stack, net: Power, list: &mut Shortlist<'_>) {
    let direction = |power: Power| atan2(power.j45, power.j0).to_degrees() / 2.0;
    let turn = direction(space.wanted) - direction(net);
    offer_turned_by(space, stack, net, turn.round() as i32, list);
    if (turn - turn.floor() - 0.5).abs() < HALF_WAY_DEG {
        // the half is rounded away from nothing, so the other is nearer to it
        offer_turned_by(space, stack, net, turn as i32, list);
    }
    for slot in stack.slots() {
        match space.costing.now[usize::from(slot.cell)] {
            Now::Lens { type_id, is_cylinder: true, axis } if type_id == slot.type_id => {
                offer_turned_by(space, stack, net, i32::from(axis) - i32::from(slot.axis), list);
            }
            Now::Lens { .. } | Now::Empty | Now::Other => {}
        }
    }
}

fn offer_turned_by(space: &Space<'_>, stack: &Stack, net: Power, turn: i32, list: &mut Shortlist<'_>) {
    let net = net.turned(f64::from(turn));
    let miss = net.miss(space.wanted);
    if miss > list.bound(0.0) + SLACK_D {
        return;
    }
    let mut turned = *stack;
    for slot in turned.slots_mut() {
        if space.catalogue.is_cylinder(slot.type_id) {
            slot.axis = Axis::folded(i32::from(slot.axis) + turn).degrees();
        }
    }
    let mut axes = turned.slots().iter().filter(|slot| space.catalogue.is_cylinder(slot.type_id)).map(|slot| slot.axis);
    let first = axes.next();
    if axes.all(|axis| Some(axis) == first) {
        return; // one axis after all: the coaxial search has it
    }
    list.offer(space, &turned, net, miss);
}
