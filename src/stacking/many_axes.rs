//! Crossed cylinders at three axes or more, and those whose innermost shares its ring with another.
//!
//! Which lenses are used is chosen first. However they are turned, the spherical equivalent and the astigmatism of what
//! arrives at each cell stay within bounds that are soon computed, so most choices are ruled out before any axis is tried. The
//! rest are turned, the cheapest first: what they cost beside the miss is known, and once a stack is found, all that cost more
//! are left out.

use super::choosing::{Choosing, Chosen};
use super::crossed::{Inner, Meeting, Outer, mirrored_axis, power, ringed_places, spread};
use super::patterns::Pattern;
use super::ranking::Shortlist;
use super::space::{Slot, Space, Stack};
use super::span::Reach;
use super::spent::Spent;
use crate::optics::vergence::towards_eye;
use crate::optics::{Millimetres, Power};

/// What keeping one choice of lenses counts for, making it ready to be turned, and one axis of it.
const KEEPING_STEPS: u64 = 21;
const TURNING_STEPS: u64 = 8;
const AXIS_STEPS: u64 = 3;
/// What weighing what cylinders that are not turned yet may make counts for.
const WEIGHING_STEPS: u64 = 8;

/// Lenses for the places of a pattern, not turned yet.
#[derive(Debug, Clone, Copy)]
struct Choice {
    stack: Stack,
    /// What it costs at the least beside its miss.
    floor: f64,
    /// A miss that it cannot better.
    least_miss: f64,
}

/// A choice while it is turned.
struct Turned<'a> {
    choice: &'a Choice,
    /// Its lenses inside the innermost cylinder.
    inner: &'a Inner,
    stack: Stack,
    /// The axis of each ring that is turned already.
    held: Vec<(u8, u8)>,
    /// Whether the mirrored stack is another, so that it must be offered too.
    has_mirror: bool,
}

/// The search through one pattern.
struct Turning<'a, 'b, 'c> {
    space: &'a Space<'a>,
    /// By place, the ring of its cylinder.
    rings: Vec<Option<u8>>,
    /// The place of the innermost cylinder.
    innermost: usize,
    meeting: Meeting<'a, 'c, 'b>,
}

/// Offers every stack of a pattern with crossed cylinders that could enter the list, as long as there is work left.
pub(super) fn offer_all(space: &Space<'_>, pattern: &Pattern, list: &mut Shortlist<'_>) {
    let Some(spread) = spread(space, pattern, list.bound(pattern.floor)) else {
        return;
    };
    let mut choices: Vec<Choice> = Vec::new();
    Choosing::new(space, pattern, spread).outside(0, list, &mut |Chosen { stack, leaving, floor, .. }| {
        let first = stack.slots().first().map_or(0, |slot| slot.cell);
        let least_miss = leaving.inward(space.between_m(0, first)).least_miss(space.wanted);
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
    let rings: Vec<Option<u8>> = ringed_places(space, pattern).into_iter().map(|(_, ring)| ring).collect();
    let Some(innermost) = rings.iter().position(Option::is_some) else { return };
    let meeting = Meeting::new(space, pattern, spread, pattern.cell(innermost), &[], list);
    let mut turning = Turning { space, rings, innermost, meeting };
    for choice in &choices {
        if turning.space.is_over() {
            return;
        }
        turning.turn_choice(choice);
    }
}

impl Turning<'_, '_, '_> {
    fn turn_choice(&mut self, choice: &Choice) {
        if self.meeting.list.bound(choice.floor) < choice.least_miss {
            return;
        }
        self.space.work.spend(TURNING_STEPS);
        let mut inside = Stack::default();
        choice.stack.slots()[..self.innermost].iter().for_each(|slot| inside.push(*slot));
        if let Some(inner) = self.meeting.inner(inside, choice.floor) {
            let mut turned = Turned { choice, inner: &inner, stack: choice.stack, held: Vec::new(), has_mirror: false };
            self.turn(&mut turned, choice.stack.len(), Power::ZERO);
        }
    }

    /// Turns the cylinders of a choice from the outermost inward, the first at 180: the whole is turned at the end. `leaving`
    /// leaves the cell of `place`, the last that is turned already.
    fn turn(&mut self, turned: &mut Turned<'_>, place: usize, leaving: Power) {
        let slots = turned.stack.slots();
        let slot = slots[place - 1];
        let metres = slots.get(place).map_or(0.0, |outer| self.space.between_m(slot.cell, outer.cell));
        let arriving = towards_eye(leaving, Millimetres(1000.0 * metres));
        let place = place - 1;
        if place == self.innermost {
            return self.meet(turned, arriving);
        }
        let Some(ring) = self.rings[place] else {
            return self.turn(turned, place, arriving + power(self.space, slot));
        };
        let known = turned.held.iter().find(|(of, _)| *of == ring).map(|(_, axis)| *axis);
        // turned the other way round, what is outside makes the mirrored power, so one half of the angles is enough
        let is_first = turned.held.len() == 1;
        let axes = match known {
            Some(axis) => axis..=axis,
            None if turned.held.is_empty() => 180..=180,
            None if is_first => 90..=180,
            None => 1..=180,
        };
        // where only the innermost is still to be turned, weighing it takes no longer than weighing what it may make
        let is_between = self.rings[self.innermost + 1..place].iter().any(Option::is_some);
        for axis in axes {
            self.space.work.spend(AXIS_STEPS);
            if self.space.is_over() {
                return;
            }
            let leaving = arriving + power(self.space, Slot { axis, ..slot });
            if is_between
                && self.least_miss(&turned.stack, place, leaving) > self.meeting.list.bound(turned.choice.floor)
            {
                continue;
            }
            turned.stack.slots_mut()[place].axis = axis;
            if known.is_none() {
                turned.held.push((ring, axis));
                turned.has_mirror = if is_first { axis != 90 && axis != 180 } else { turned.has_mirror };
            }
            self.turn(turned, place, leaving);
            if known.is_none() {
                turned.held.pop();
            }
        }
    }

    /// The innermost cylinder: to the axis of its ring where that is held, else the angles that can be right are computed.
    fn meet(&mut self, turned: &Turned<'_>, arriving: Power) {
        let Turned { choice, inner, stack, .. } = turned;
        let slot = stack.slots()[self.innermost];
        if !self.meeting.may_meet(inner, slot.type_id, arriving, choice.floor) {
            return;
        }
        let held = turned.held.iter().find(|(of, _)| Some(*of) == self.rings[self.innermost]).map(|(_, axis)| *axis);
        let mut outer = Outer { stack: Stack::default(), arriving, spent: Spent::default() };
        stack.slots()[self.innermost + 1..].iter().for_each(|slot| outer.stack.push(*slot));
        let mirrored = turned.has_mirror.then(|| outer.mirrored(self.space));
        for (outer, is_mirrored) in std::iter::once((outer, false)).chain(mirrored.map(|outer| (outer, true))) {
            match held {
                Some(axis) => {
                    let axis = if is_mirrored { mirrored_axis(axis) } else { axis };
                    self.meeting.meet_at(inner, Slot { axis, ..slot }, &outer, choice.floor);
                }
                None => self.meeting.meet(inner, slot.type_id, &outer, choice.floor),
            }
        }
    }

    /// A miss that the places inside one cannot better, however they are turned, when this leaves its cell.
    fn least_miss(&self, stack: &Stack, place: usize, leaving: Power) -> f64 {
        self.space.work.spend(WEIGHING_STEPS);
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
