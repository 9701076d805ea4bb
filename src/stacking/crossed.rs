//! Stacks whose cylinders stand at different axes.
//!
//! A stack may be turned as a whole, and its net turns with it. So only the angles between the cylinders are searched, and
//! the whole is then turned to the whole degree that fits the wanted axis best. The innermost cylinder is met in the
//! middle: from outside by everything that can arrive at its cell, sorted by spherical equivalent; from inside by what the
//! spheres nearer the eye leave to be found there. The law of cosines then leaves few angles to try.

use std::sync::LazyLock;

use libm::{acos, atan2, sincos};

use super::arc::Arc;
use super::catalogue::TypeId;
use super::choosing::{Choosing, Chosen};
use super::cost::Now;
use super::meridians::Meridians;
use super::patterns::Pattern;
use super::ranking::Shortlist;
use super::space::{SLACK_D, Slot, Space, Stack, inward};
use super::span::Reach;
use super::spent::Spent;
use crate::optics::vergence::towards_eye;
use crate::optics::{Axis, Dioptres, Millimetres, Power};

/// What computing the miss at one angle counts for, and turning a stack and offering it.
const ANGLE_STEPS: u64 = 2;
const OFFERING_STEPS: u64 = 20;
/// What choosing one sphere inside the innermost cylinder counts for.
const CHOOSING_STEPS: u64 = 5;
/// What weighing a cylinder between two sides counts for, and finding the angles for it.
const LOOKING_STEPS: u64 = 3;
const TURNING_STEPS: u64 = 12;
/// What keeping one choice of the lenses outside the innermost cylinder counts for.
const KEEPING_STEPS: u64 = 32;

/// What arrives at the innermost cylinder's cell from the lenses outside it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Outer {
    pub stack: Stack,
    pub arriving: Power,
    pub spent: Spent,
}

impl Outer {
    /// The same with every axis mirrored.
    pub fn mirrored(self, space: &Space<'_>) -> Self {
        let mut mirrored = self;
        mirrored.arriving.j45 = -self.arriving.j45;
        for slot in mirrored.stack.slots_mut() {
            if space.catalogue.is_cylinder(slot.type_id) {
                slot.axis = mirrored_axis(slot.axis);
            }
        }
        mirrored
    }
}

/// An axis seen in a mirror.
pub(super) fn mirrored_axis(axis: u8) -> u8 {
    Axis::folded(180 - i32::from(axis)).degrees()
}

/// The lenses inside the innermost cylinder, all spheres, and what must leave its cell.
pub(super) struct Inner {
    stack: Stack,
    equivalent: Arc,
    astigmatism: Arc,
    spent: Spent,
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
    /// Of each of them, what the search looks at first.
    arrivals: Vec<Arriving>,
    cell: u8,
    pattern: &'a Pattern,
    /// Half of the strongest cylinder: the longest astigmatism that the innermost can have.
    strongest: f64,
    /// The longest astigmatism that arrives from outside.
    longest: f64,
    wanted_astigmatism: f64,
    /// How far the principal meridians of the net may be from the wanted ones.
    spread: (f64, f64),
    pub list: &'b mut Shortlist<'c>,
}

/// Spherical equivalent and astigmatism of what arrives from outside.
#[derive(Debug, Clone, Copy)]
struct Arriving {
    m: f64,
    length: f64,
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
        let arriving = |outer: &Outer| Arriving { m: outer.arriving.m, length: length(outer.arriving) };
        let arrivals: Vec<Arriving> = outers.iter().map(arriving).collect();
        let longest = arrivals.iter().fold(0.0, |most: f64, arriving| most.max(arriving.length));
        let wanted_astigmatism = space.wanted.astigmatism();
        Self { space, outers, arrivals, cell, pattern, strongest, longest, wanted_astigmatism, spread, list }
    }

    /// What must leave the cylinder's cell for these spheres inside it, of a stack that costs at least `floor`; `None` when none
    /// can enter the list.
    pub fn inner(&self, inside: Stack, floor: f64) -> Option<Inner> {
        let bound = self.list.bound(floor);
        (bound >= 0.0).then(|| self.needed_at_cylinder(inside, Spent::of(self.space, &inside), bound))
    }

    /// Whether a cylinder between these spheres and what arrives from outside, turned in some way, may come near enough to enter
    /// the list with a stack that costs at least `floor`.
    pub fn may_meet(&self, inner: &Inner, type_id: TypeId, arriving: Power, floor: f64) -> bool {
        let half = self.space.catalogue.power(type_id) / 2.0;
        let (m, length) = (arriving.m + half, length(arriving));
        let turned = Arc { low: (half.abs() - length).abs(), high: half.abs() + length };
        inner.equivalent.contains(m)
            && turned.low <= inner.astigmatism.high
            && turned.high >= inner.astigmatism.low
            && self.least_miss(&inner.stack, m, turned) <= self.list.bound(floor)
    }

    /// Offers a cylinder between spheres and what is outside at every angle that may be right.
    pub fn meet(&mut self, inner: &Inner, type_id: TypeId, outer: &Outer, floor: f64) {
        let half = self.space.catalogue.power(type_id) / 2.0;
        self.try_angles(inner, type_id, half, outer, floor);
    }

    /// Offers a cylinder at one axis, turned with the whole.
    pub fn meet_at(&mut self, inner: &Inner, slot: Slot, outer: &Outer, floor: f64) {
        self.space.work.spend(ANGLE_STEPS);
        let leaving = outer.arriving + self.space.power(slot);
        if self.best_miss(&inner.stack, leaving.m, length(leaving)) > self.list.bound(floor) {
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
        self.space.work.spend(CHOOSING_STEPS * self.space.catalogue.spheres.len() as u64);
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
        let whole = bound * std::f64::consts::SQRT_2;
        let mut needed = Meridians::around(self.space.wanted, (whole.min(self.spread.0), whole.min(self.spread.1)));
        let mut at = 0;
        for slot in stack.slots() {
            let (metres, power) = (self.space.between_m(at, slot.cell), self.space.catalogue.power(slot.type_id));
            needed = needed.outward(metres).less(power);
            at = slot.cell;
        }
        let needed = needed.outward(self.space.between_m(at, self.cell));
        Inner { stack, equivalent: needed.equivalent(), astigmatism: needed.astigmatism(), spent }
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
        let (m, astigmatism) = (outside(wanted.m, low.0, high.0), outside(self.wanted_astigmatism, low.1, high.1));
        (m * m + astigmatism * astigmatism).sqrt() - SLACK_D
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
        let (m, astigmatism) =
            (f64::midpoint(more, less) - wanted.m, (more - less).abs() / 2.0 - self.wanted_astigmatism);
        (m * m + astigmatism * astigmatism).sqrt() - SLACK_D
    }

    fn choose_cylinder(&mut self, inner: &Inner) {
        let m = inner.equivalent;
        let astigmatism = inner.astigmatism;
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
            let from = self.arrivals.partition_point(|arriving| arriving.m + half < m.low);
            for index in from..self.arrivals.len() {
                let Arriving { m: arriving, length } = self.arrivals[index];
                self.space.work.spend(1);
                if arriving + half > m.high {
                    break;
                }
                if (half.abs() - length).abs() > astigmatism.high || half.abs() + length < astigmatism.low {
                    continue;
                }
                self.space.work.spend(LOOKING_STEPS);
                let outers = self.outers;
                let outer = &outers[index];
                let floor = spent.and(outer.spent).least(self.space, self.pattern);
                let bound = self.list.bound(floor);
                let turned = Arc { low: (half.abs() - length).abs(), high: half.abs() + length };
                if bound < 0.0 || self.least_miss(&inner.stack, arriving + half, turned) > bound {
                    continue;
                }
                if !self.may_stand_between(&inner.stack, type_id, &outer.stack) {
                    continue;
                }
                if self.is_over() {
                    return;
                }
                self.try_angles(inner, type_id, half, outer, floor);
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

    fn try_angles(&mut self, inner: &Inner, type_id: TypeId, half: f64, outer: &Outer, floor: f64) {
        self.space.work.spend(TURNING_STEPS);
        let (wanted, length) = (inner.astigmatism, length(outer.arriving));
        let product = 2.0 * half.abs() * length;
        let cosine = |sum: f64| ((sum * sum - half * half - length * length) / product).clamp(-1.0, 1.0);
        let (widest, narrowest) = if product < SLACK_D {
            (180.0, 0.0)
        } else {
            (acos(cosine(wanted.low)).to_degrees(), acos(cosine(wanted.high.min(1e6))).to_degrees())
        };
        // doubled-angle directions: of what arrives, and of this cylinder at axis 0
        let arriving = atan2(outer.arriving.j45, outer.arriving.j0).to_degrees();
        let (along_0, along_45) = (-2.0 * half * outer.arriving.j0, -2.0 * half * outer.arriving.j45);
        let at_zero = if half < 0.0 { 0.0 } else { 180.0 };
        for (from, to) in [(narrowest, widest), (-widest, -narrowest)] {
            let first = ((arriving + from - at_zero) / 2.0 - 1e-6).ceil() as i32;
            let last = ((arriving + to - at_zero) / 2.0 + 1e-6).floor() as i32;
            // from the middle outward: there the miss is least, and what is found first leaves the others out
            for degrees in from_the_middle(first, last.min(first + 179)) {
                self.space.work.spend(ANGLE_STEPS);
                let axis = Axis::folded(degrees).degrees();
                let (cos, sin) = DOUBLED[usize::from(axis)];
                let turned = half * half + length * length + along_0 * cos + along_45 * sin;
                if self.best_miss(&inner.stack, outer.arriving.m + half, turned.max(0.0).sqrt())
                    > self.list.bound(floor)
                {
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

/// The astigmatism of a power, where a square root is as good as `hypot` and sooner computed.
fn length(power: Power) -> f64 {
    (power.j0 * power.j0 + power.j45 * power.j45).sqrt()
}

/// Cosine and sine of twice every whole-degree axis, from 0 on.
static DOUBLED: LazyLock<[(f64, f64); 181]> = LazyLock::new(|| {
    std::array::from_fn(|axis| {
        let (sin, cos) = sincos((2.0 * axis as f64).to_radians());
        (cos, sin)
    })
});

/// True power of the lens in a slot, by the table.
pub(super) fn power(space: &Space<'_>, slot: Slot) -> Power {
    let power = space.catalogue.power(slot.type_id);
    if !space.catalogue.is_cylinder(slot.type_id) {
        return Power { m: power, j0: 0.0, j45: 0.0 };
    }
    let (half, (cos, sin)) = (power / 2.0, DOUBLED[usize::from(slot.axis)]);
    Power { m: half, j0: -half * cos, j45: -half * sin }
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
fn offer_turned(space: &Space<'_>, stack: &Stack, net: Power, list: &mut Shortlist<'_>) {
    space.work.spend(OFFERING_STEPS);
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
