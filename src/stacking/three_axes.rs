//! Cylinders at three axes, or at two where the innermost shares its ring with another: the innermost is looked up for every
//! way to turn the two outer axes against each other.
//!
//! The whole may be turned at the end, so one angle between the outer axes is open: what then arrives at the innermost cylinder's
//! cell is known, and so is its power, from the spherical equivalent that is needed there. Which lenses stand outside is
//! chosen first, the cheapest first: once a stack is found, all that cost more are left out.

use std::sync::LazyLock;

use libm::sincos;

use super::choosing::{Choosing, Chosen};
use super::crossed::{Meeting, Outer, assemble, ringed_places, spread};
use super::patterns::Pattern;
use super::ranking::Shortlist;
use super::space::{Slot, Space, Stack};
use crate::optics::vergence::towards_eye;
use crate::optics::{Millimetres, Power};

/// With more angles of more choices than this, lenses are better chosen by what they can make however they are turned.
const MOST_LOOKS: usize = 10_000_000;
/// What keeping one choice counts for, and looking at one angle of it.
const KEEPING_STEPS: u64 = 8;
const LOOKING_STEPS: u64 = 2;

/// Offers every stack of a pattern with cylinders whose outer ones stand at two axes that could enter the list, as long as there is work left. Gives
/// false, and offers nothing, where that would take too long or the axes are others.
pub(super) fn offer_all(space: &Space<'_>, pattern: &Pattern, list: &mut Shortlist<'_>) -> bool {
    let places = ringed_places(space, pattern);
    let Some(innermost) = places.iter().position(|(_, ring)| ring.is_some()) else { return false };
    let outer = &places[innermost + 1..];
    let mut rings: Vec<u8> = outer.iter().filter_map(|(_, ring)| *ring).collect();
    rings.sort_unstable();
    rings.dedup();
    if rings.len() != 2 {
        return false;
    }
    let shared = places[innermost].1.filter(|ring| rings.contains(ring));
    let Some(spread) = spread(space, pattern, list.bound(pattern.floor)) else { return true };
    let ((cell, _), _) = places[innermost];
    let mut inners = Vec::new();
    assemble(space, &places[..innermost], Stack::default(), &mut |stack| inners.push(*stack));
    let most = MOST_LOOKS / 180 / inners.len().max(1);
    let mut choices: Vec<Chosen> = Vec::new();
    Choosing::new(space, pattern, spread).outside(innermost + 1, list, &mut |chosen| {
        space.work.spend(KEEPING_STEPS);
        choices.push(chosen);
        choices.len() <= most
    });
    if choices.len() > most {
        return false;
    }
    choices.sort_by(|one, other| one.floor.total_cmp(&other.floor));

    let turned_ring = outer.iter().find_map(|(_, ring)| *ring);
    let mut meeting = Meeting::new(space, pattern, spread, cell, &[], list);
    for Chosen { stack, spent, .. } in &choices {
        let inners: Vec<_> = inners.iter().filter_map(|inside| meeting.inner(*inside, *spent)).collect();
        if inners.is_empty() {
            continue;
        }
        for axis in 1..=180 {
            space.work.spend(LOOKING_STEPS);
            if space.is_over() {
                return true;
            }
            let mut turned = *stack;
            for (slot, (_, ring)) in turned.slots_mut().iter_mut().zip(outer) {
                if ring.is_some() && *ring == turned_ring {
                    slot.axis = axis;
                }
            }
            let arriving = towards_eye(leaving(space, &turned), Millimetres(1000.0 * between_m(space, cell, stack)));
            let outer = Outer { stack: turned, arriving, spent: *spent };
            // a ring that is not turned stands at 180
            let held = shared.map(|ring| if Some(ring) == turned_ring { axis } else { 180 });
            for inner in &inners {
                meeting.look_up(inner, &outer, held);
            }
        }
    }
    true
}

fn between_m(space: &Space<'_>, cell: u8, outside: &Stack) -> f64 {
    outside.slots().first().map_or(0.0, |slot| space.between_m(cell, slot.cell))
}

/// What leaves the innermost lens of a stack.
fn leaving(space: &Space<'_>, stack: &Stack) -> Power {
    let mut vergence = Power::ZERO;
    let mut at = stack.slots().last().map_or(0, |slot| slot.cell);
    for slot in stack.slots().iter().rev() {
        vergence = towards_eye(vergence, Millimetres(1000.0 * space.between_m(slot.cell, at))) + power(space, *slot);
        at = slot.cell;
    }
    vergence
}

/// Cosine and sine of twice every whole-degree axis, from 0 on.
static DOUBLED: LazyLock<[(f64, f64); 181]> = LazyLock::new(|| {
    std::array::from_fn(|axis| {
        let (sin, cos) = sincos((2.0 * axis as f64).to_radians());
        (cos, sin)
    })
});

fn power(space: &Space<'_>, slot: Slot) -> Power {
    let half = space.catalogue.power(slot.type_id) / 2.0;
    if !space.catalogue.is_cylinder(slot.type_id) {
        return Power { m: 2.0 * half, j0: 0.0, j45: 0.0 };
    }
    let (cos, sin) = DOUBLED[usize::from(slot.axis)];
    Power { m: half, j0: -half * cos, j45: -half * sin }
}
