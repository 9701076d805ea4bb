//! Crossed cylinders at three axes or more, and those whose innermost shares its ring with another.
//!
//! Which lenses are used is chosen first. However they are turned, the spherical equivalent and the astigmatism of what
//! arrives at each cell stay within bounds that are soon computed, so most choices are ruled out before any axis is tried. The
//! rest are turned, the cheapest first: what they cost beside the miss is known, and once a stack is found, all that cost more
//! are left out.

use super::choosing::{Choosing, Chosen};
use super::crossed::{Meeting, OFFERING_STEPS, Outer, offer_turned, ringed_places, spread};
use super::patterns::Pattern;
use super::ranking::Shortlist;
use super::space::{Slot, Space, Stack};
use super::span::Reach;
use super::spent::Spent;
use crate::optics::vergence::towards_eye;
use crate::optics::{Millimetres, Power};

/// What keeping one choice of lenses counts for.
const KEEPING_STEPS: u64 = 8;

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
    /// By place, the ring of its cylinder.
    rings: Vec<Option<u8>>,
    /// How far the principal meridians of the net may be from the wanted ones.
    spread: (f64, f64),
    list: &'c mut Shortlist<'b>,
}

/// Offers every stack of a pattern with crossed cylinders that could enter the list, as long as there is work left.
pub(super) fn offer_all(space: &Space<'_>, pattern: &Pattern, list: &mut Shortlist<'_>) {
    let Some(spread) = spread(space, pattern, list.bound(pattern.floor)) else {
        return;
    };
    let mut choices: Vec<Choice> = Vec::new();
    Choosing::new(space, pattern, spread).outside(0, list, &mut |Chosen { stack, leaving, floor, .. }| {
        let innermost = stack.slots().first().map_or(0, |slot| slot.cell);
        let least_miss = leaving.inward(space.between_m(0, innermost)).least_miss(space.wanted);
        if list.bound(floor) >= least_miss {
            space.work.spend(KEEPING_STEPS);
            choices.push(Choice { stack, floor, least_miss });
        }
        !space.work.has_too_many(choices.len(), pattern.floor)
    });
    if space.work.has_too_many(choices.len(), pattern.floor) {
        return;
    }
    choices.sort_by(|one: &Choice, other: &Choice| {
        let key = |choice: &Choice| list.order(choice.floor, choice.least_miss);
        key(one).partial_cmp(&key(other)).unwrap_or(std::cmp::Ordering::Equal)
    });
    let rings = ringed_places(space, pattern).into_iter().map(|(_, ring)| ring).collect();
    let mut turning = Turning { space, pattern, rings, spread, list };
    for choice in &choices {
        if turning.space.is_over() {
            return;
        }
        if turning.list.bound(choice.floor) >= choice.least_miss {
            turning.turn(choice, choice.stack, choice.stack.len(), Power::ZERO, 0, &mut Vec::new());
        }
    }
}

impl Turning<'_, '_, '_> {
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
            if self.space.is_over() {
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
        let (mut reach, mut at) = (Reach::of(leaving), stack.slots()[place].cell);
        for slot in stack.slots()[..place].iter().rev() {
            let is_cylinder = self.space.catalogue.is_cylinder(slot.type_id);
            reach = reach
                .inward(self.space.between_m(slot.cell, at))
                .with(self.space.catalogue.power(slot.type_id), is_cylinder);
            at = slot.cell;
        }
        reach.inward(self.space.between_m(0, at)).least_miss(self.space.wanted)
    }
}
