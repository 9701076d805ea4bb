//! Crossed cylinders at three axes or more, and those whose innermost shares its ring with another.
//!
//! Which lenses are used is chosen first. However they are turned, the spherical equivalent and the astigmatism of what
//! arrives at each cell stay within bounds that are soon computed, so most choices are ruled out before any axis is tried. The
//! rest are turned, the cheapest first: what they cost beside the miss is known, and once a stack is found, all that cost more
//! are left out.

use super::arc::Arc;
use super::catalogue::TypeId;
use super::crossed::{Meeting, OFFERING_STEPS, Outer, offer_turned, ring_of, spread};
use super::patterns::Pattern;
use super::ranking::Shortlist;
use super::space::{SLACK_D, Slot, Space, Stack};
use super::span::Span;
use super::spent::Spent;
use crate::optics::vergence::towards_eye;
use crate::optics::{Millimetres, Power};

/// What keeping one choice of lenses counts for.
const KEEPING_STEPS: u64 = 16;

/// Lenses for the places of a pattern, not turned yet.
#[derive(Debug, Clone, Copy)]
struct Choice {
    stack: Stack,
    /// What it costs at the least beside its miss.
    floor: f64,
    /// A miss that it cannot better.
    least_miss: f64,
}

/// The search through one pattern.
struct Turning<'a, 'b, 'c> {
    space: &'a Space<'a>,
    pattern: &'a Pattern,
    places: Vec<(u8, bool)>,
    /// By place, the ring of its cylinder.
    rings: Vec<Option<u8>>,
    /// By place, where every meridian that leaves its cell must lie.
    needed: Vec<Arc>,
    /// How far the principal meridians of the net may be from the wanted ones.
    spread: (f64, f64),
    list: &'c mut Shortlist<'b>,
}

/// Offers every stack of a pattern with crossed cylinders that could enter the list, as long as there is work left.
pub(super) fn offer_all(space: &Space<'_>, pattern: &Pattern, list: &mut Shortlist<'_>) {
    let places: Vec<(u8, bool)> = pattern.places().collect();
    let rings = places.iter().map(|&(cell, cylinder)| if cylinder { ring_of(space, cell) } else { None }).collect();
    let Some(spread) = spread(space, pattern, list.bound(pattern.floor)) else {
        return;
    };
    let needed = needed(space, &places, spread);
    let mut turning = Turning { space, pattern, places, rings, needed, spread, list };
    let mut choices = Vec::new();
    turning.choose(&mut Vec::new(), Some(Span::NOTHING), 0, Spent::default(), &mut choices);
    if space.work.has_too_many(choices.len(), pattern.floor) {
        return;
    }
    choices.sort_by(|one: &Choice, other: &Choice| {
        let key = |choice: &Choice| turning.list.order(choice.floor, choice.least_miss);
        key(one).partial_cmp(&key(other)).unwrap_or(std::cmp::Ordering::Equal)
    });
    for choice in &choices {
        if turning.space.work.is_spent() {
            return;
        }
        if turning.list.bound(choice.floor) >= choice.least_miss {
            turning.turn(choice, choice.stack, choice.stack.len(), Power::ZERO, 0, &mut Vec::new());
        }
    }
}

/// By place, where every meridian that leaves its cell must lie for a net whose principal meridians are so far from the
/// wanted ones at the most.
fn needed(space: &Space<'_>, places: &[(u8, bool)], (more, less): (f64, f64)) -> Vec<Arc> {
    let (spheres, cylinders) = (space.catalogue.range_of_spheres(), space.catalogue.range_of_cylinders());
    let any_meridian = Arc { low: cylinders.low.min(0.0), high: cylinders.high.max(0.0) };
    let (wanted, astigmatism) = (space.wanted, space.wanted.astigmatism());
    let mut arc = Arc { low: wanted.m - astigmatism - less - SLACK_D, high: wanted.m + astigmatism + more + SLACK_D };
    let mut at = 0;
    let mut needed = Vec::with_capacity(places.len());
    for &(cell, cylinder) in places {
        arc = arc.outward(space.between_m(at, cell));
        needed.push(arc);
        arc = arc.minus(if cylinder { any_meridian } else { spheres });
        at = cell;
    }
    needed
}

impl Turning<'_, '_, '_> {
    /// Chooses the lenses from the outermost inward; `arriving` leaves cell `at`.
    fn choose(
        &mut self,
        outer: &mut Vec<Slot>,
        leaving: Option<Span>,
        at: u8,
        spent: Spent,
        choices: &mut Vec<Choice>,
    ) {
        let Some(place) = (self.places.len() - outer.len()).checked_sub(1) else {
            self.keep(outer, leaving, at, spent, choices);
            return;
        };
        let (cell, is_cylinder) = self.places[place];
        // the outermost is reached by parallel light
        let metres = if outer.is_empty() { 0.0 } else { self.space.between_m(cell, at) };
        let arriving = leaving.and_then(|span| span.inward(metres));
        let catalogue = self.space.catalogue;
        let (first, all) = (catalogue.spheres.len() as TypeId, catalogue.types.len() as TypeId);
        for type_id in if is_cylinder { first..all } else { 0..first } {
            self.space.work.spend(5);
            if self.space.work.is_spent() || self.space.work.has_too_many(choices.len(), self.pattern.floor) {
                return;
            }
            let taken = outer.iter().filter(|slot| slot.type_id == type_id).count();
            if taken >= usize::from(self.space.available[usize::from(type_id)]) {
                continue;
            }
            let span = arriving.map(|span| span.with(catalogue.power(type_id), is_cylinder));
            if span.is_some_and(|span| !fits(span, self.needed[place])) {
                continue;
            }
            let slot = Slot { cell, type_id, axis: 180 };
            let spent = spent.with(self.space, slot);
            if self.list.bound(spent.least(self.space, self.pattern)) < 0.0 {
                continue;
            }
            outer.push(slot);
            self.choose(outer, span, cell, spent, choices);
            outer.pop();
        }
    }

    fn keep(&mut self, outer: &[Slot], leaving: Option<Span>, at: u8, spent: Spent, choices: &mut Vec<Choice>) {
        let net = leaving.and_then(|span| span.inward(self.space.between_m(0, at)));
        let least_miss = net.map_or(0.0, |span| span.least_miss(self.space.wanted));
        let floor = spent.least(self.space, self.pattern);
        if self.list.bound(floor) < least_miss {
            return;
        }
        self.space.work.spend(KEEPING_STEPS);
        let mut stack = Stack::default();
        outer.iter().rev().for_each(|slot| stack.push(*slot));
        choices.push(Choice { stack, floor, least_miss });
    }

    /// Turns the cylinders of a choice from the outermost inward, the first at 180: the whole is turned at the end. `leaving`
    /// leaves cell `at`, `place` is the last place that is turned already.
    fn turn(&mut self, choice: &Choice, stack: Stack, place: usize, leaving: Power, at: u8, held: &mut Vec<(u8, u8)>) {
        let Some(place) = place.checked_sub(1) else {
            self.space.work.spend(OFFERING_STEPS);
            let net = towards_eye(leaving, Millimetres(1000.0 * self.space.between_m(0, at)));
            offer_turned(self.space, &stack, net, self.list);
            return;
        };
        let slot = stack.slots()[place];
        let metres = if place + 1 == stack.len() { 0.0 } else { self.space.between_m(slot.cell, at) };
        let arriving = towards_eye(leaving, Millimetres(1000.0 * metres));
        let Some(ring) = self.rings[place] else {
            return self.turn(choice, stack, place, arriving + self.space.power(slot), slot.cell, held);
        };
        let known = held.iter().find(|(of, _)| *of == ring).map(|(_, axis)| *axis);
        if known.is_none() && !held.is_empty() && self.rings[..place].iter().all(Option::is_none) {
            return self.turn_the_last(choice, &stack, place, arriving);
        }
        let axes = match known {
            Some(axis) => axis..=axis,
            None if held.is_empty() => 180..=180,
            None => 1..=180,
        };
        for axis in axes {
            self.space.work.spend(10);
            if self.space.work.is_spent() {
                return;
            }
            let power = self.space.power(Slot { axis, ..slot });
            if self.least_miss(&stack, place, arriving + power) > self.list.bound(choice.floor) {
                continue;
            }
            let mut turned = stack;
            turned.slots_mut()[place].axis = axis;
            if known.is_none() {
                held.push((ring, axis));
            }
            self.turn(choice, turned, place, arriving + power, slot.cell, held);
            if known.is_none() {
                held.pop();
            }
        }
    }

    /// The innermost cylinder, alone on its ring: the angles that can be right are computed.
    fn turn_the_last(&mut self, choice: &Choice, stack: &Stack, place: usize, arriving: Power) {
        let (mut inside, mut outside) = (Stack::default(), Stack::default());
        stack.slots()[..place].iter().for_each(|slot| inside.push(*slot));
        stack.slots()[place + 1..].iter().for_each(|slot| outside.push(*slot));
        let outer = Outer { stack: outside, arriving, spent: Spent::of(self.space, &outside) };
        let slot = stack.slots()[place];
        let mut meeting = Meeting::new(self.space, self.pattern, self.spread, slot.cell, &[], self.list);
        meeting.meet(inside, slot.type_id, &outer, choice.floor);
    }

    /// A miss that the places inside one cannot better, however they are turned, when this leaves its cell.
    fn least_miss(&self, stack: &Stack, place: usize, leaving: Power) -> f64 {
        let (mut span, mut at) = (Some(Span::of(leaving)), stack.slots()[place].cell);
        for slot in stack.slots()[..place].iter().rev() {
            let is_cylinder = self.space.catalogue.is_cylinder(slot.type_id);
            span = span
                .and_then(|span| span.inward(self.space.between_m(slot.cell, at)))
                .map(|span| span.with(self.space.catalogue.power(slot.type_id), is_cylinder));
            at = slot.cell;
        }
        let net = span.and_then(|span| span.inward(self.space.between_m(0, at)));
        net.map_or(0.0, |span| span.least_miss(self.space.wanted))
    }
}

/// Whether some of a span has all its meridians in a range.
fn fits(span: Span, needed: Arc) -> bool {
    needed.low > needed.high
        || span.m.1 - span.astigmatism.0 >= needed.low && span.m.0 + span.astigmatism.0 <= needed.high
}
