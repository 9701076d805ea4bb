//! Every stack that can be made, with its cost by the table, computed without anything of the search.

use std::collections::BTreeMap;

use dioptray::frame::FittedFrame;
use dioptray::kit::{Lens, Place, StockedPiece};
use dioptray::optics::vergence::net;
use dioptray::optics::{Dioptres, Eye, Power};

/// Pieces that are alike.
#[derive(Debug, Clone)]
pub struct Kind {
    lens: Lens,
    mark: f64,
    power: f64,
    damaged: bool,
    is_cylinder: bool,
    pieces: usize,
}

impl Kind {
    pub fn pieces(&self) -> usize {
        self.pieces
    }
}

/// A lens in a cell, counted from 0: which kind, and the axis of a cylinder.
#[derive(Debug, Clone, Copy, PartialEq)]
struct InPlace {
    cell: usize,
    kind: usize,
    axis: u16,
}

/// How one stack compares with others: whether it reaches, its miss in steps of 0.02 D, its cost.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Key {
    pub unreached: bool,
    pub steps: u32,
    pub cost: f64,
    pub miss: f64,
}

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Ask {
    pub eye: Eye,
    pub wanted: Power,
    pub most: usize,
    pub plus_cylinders: bool,
}

/// How many lenses of each kind a stack takes.
pub type Taken = Vec<usize>;

/// The kinds that an eye may use: what is in the box, and what is in the cells of the eyes given.
pub fn kinds(fitted: &FittedFrame, eyes: &[Eye]) -> Vec<Kind> {
    let usable = |stocked: &&StockedPiece| match stocked.place {
        Place::Box => true,
        Place::Cell { eye, .. } => eyes.contains(&eye),
        _ => false,
    };
    let mut kinds: Vec<Kind> = Vec::new();
    for stocked in fitted.stock.pieces().iter().filter(usable) {
        let lens = &stocked.piece.lens;
        if !matches!(lens, Lens::Sphere(_) | Lens::Cylinder(_)) {
            continue;
        }
        let power = stocked.power().0;
        match kinds.iter_mut().find(|kind| kind.lens == *lens && kind.power == power && kind.damaged == stocked.damaged)
        {
            Some(kind) => kind.pieces += 1,
            None => kinds.push(Kind {
                lens: lens.clone(),
                mark: lens.mark().unwrap().dioptres(),
                power,
                damaged: stocked.damaged,
                is_cylinder: matches!(lens, Lens::Cylinder(_)),
                pieces: 1,
            }),
        }
    }
    kinds
}

/// The best stack of every choice of lenses, with and without regard to whether it reaches.
pub fn best_of_every_choice(fitted: &FittedFrame, kinds: &[Kind], ask: &Ask) -> BTreeMap<Taken, Key> {
    let mut best: BTreeMap<Taken, Key> = BTreeMap::new();
    let mut stack = Vec::new();
    let mut left: Vec<usize> = kinds.iter().map(|kind| kind.pieces).collect();
    let gaps = fitted.gaps();
    go(fitted, kinds, ask, 0, &mut stack, &mut left, &mut Vec::new(), &mut |stack| {
        let mut powers = vec![Power::ZERO; fitted.frame.cells.len()];
        for of in stack {
            let power = Dioptres(kinds[of.kind].power);
            powers[of.cell] = if kinds[of.kind].is_cylinder {
                Power::cylinder(power, f64::from(of.axis))
            } else {
                Power::sphere(power)
            };
        }
        let miss = net(&powers, &gaps).miss(ask.wanted);
        if !miss.is_finite() {
            return;
        }
        let mut taken = vec![0; kinds.len()];
        for of in stack {
            taken[of.kind] += 1;
        }
        let unreached = miss > 0.06 + 1e-9;
        let steps = (miss / 0.02 + 1e-7).floor() as u32;
        let key = Key {
            unreached,
            steps: if unreached { steps } else { 0 },
            cost: cost(fitted, kinds, ask, stack, miss),
            miss,
        };
        let known = best.entry(taken).or_insert(key);
        if key < *known {
            *known = key;
        }
    });
    best
}

#[expect(clippy::too_many_arguments, reason = "the state of one recursion")]
fn go(
    fitted: &FittedFrame,
    kinds: &[Kind],
    ask: &Ask,
    cell: usize,
    stack: &mut Vec<InPlace>,
    left: &mut Vec<usize>,
    rings: &mut Vec<(u8, u16)>,
    each: &mut impl FnMut(&[InPlace]),
) {
    if cell == fitted.frame.cells.len() {
        return each(stack);
    }
    go(fitted, kinds, ask, cell + 1, stack, left, rings, each);
    if stack.len() == ask.most {
        return;
    }
    let ring = fitted.frame.turning_with(cell as u8 + 1).first().copied();
    for kind in 0..kinds.len() {
        if left[kind] == 0 || kinds[kind].is_cylinder && ring.is_none() {
            continue;
        }
        left[kind] -= 1;
        let held = rings.iter().find(|(of, _)| Some(*of) == ring).map(|(_, axis)| *axis);
        let axes = match (kinds[kind].is_cylinder, held) {
            (false, _) => 180..=180,
            (true, Some(axis)) => axis..=axis,
            (true, None) => 1..=180,
        };
        for axis in axes {
            let opens = kinds[kind].is_cylinder && held.is_none();
            if opens {
                rings.push((ring.unwrap(), axis));
            }
            stack.push(InPlace { cell, kind, axis });
            go(fitted, kinds, ask, cell + 1, stack, left, rings, each);
            stack.pop();
            if opens {
                rings.pop();
            }
        }
        left[kind] += 1;
    }
}

/// The cost by the table of the README, part by part.
fn cost(fitted: &FittedFrame, kinds: &[Kind], ask: &Ask, stack: &[InPlace], miss: f64) -> f64 {
    let kind = |of: &InPlace| &kinds[of.kind];
    let spheres: Vec<&InPlace> = stack.iter().filter(|of| !kind(of).is_cylinder).collect();
    let cylinders: Vec<&InPlace> = stack.iter().filter(|of| kind(of).is_cylinder).collect();
    let mut cost = stack.len() as f64;

    let mut moves = 0;
    for cell in 0..fitted.frame.cells.len() {
        let now = fitted.in_cell(ask.eye, cell as u8 + 1);
        let then = stack.iter().find(|of| of.cell == cell);
        moves += match (now, then) {
            (None, None) => 0,
            (None, Some(_)) | (Some(_), None) => 1,
            (Some(now), Some(of)) => {
                let same = now.stocked.piece.lens == kind(of).lens
                    && now.stocked.power().0 == kind(of).power
                    && now.stocked.damaged == kind(of).damaged;
                match (same, kind(of).is_cylinder && now.direction.degrees() != Some(of.axis)) {
                    (true, false) => 0,
                    (true, true) => 1,
                    (false, _) => 2,
                }
            }
        };
    }
    cost += 0.25 * f64::from(moves);

    if cylinders.iter().any(|of| of.axis != cylinders[0].axis) {
        cost += 2.0;
    }

    let strength = |of: &&InPlace| kind(of).mark.abs();
    if let Some(strongest) = spheres.iter().map(strength).reduce(f64::max) {
        if !spheres.iter().any(|of| of.cell == 0 && strength(of) == strongest) {
            cost += 1.5;
        }
        if cylinders.iter().any(|cylinder| spheres.iter().any(|sphere| cylinder.cell < sphere.cell)) {
            cost += 0.5;
        }
    }

    for of in stack {
        for nearer in 0..of.cell {
            let is_empty = stack.iter().all(|other| other.cell != nearer);
            if is_empty && (!kind(of).is_cylinder || fitted.frame.cells[nearer].turns) {
                cost += 0.05;
            }
        }
    }

    let opposed = |of: &[&InPlace]| {
        let sum = |sign: f64| -> f64 { of.iter().map(|of| (sign * kind(of).mark).max(0.0)).sum() };
        0.5 * sum(1.0).min(sum(-1.0))
    };
    cost += opposed(&spheres);
    let mut axes: Vec<u16> = cylinders.iter().map(|of| of.axis).collect();
    axes.sort_unstable();
    axes.dedup();
    for axis in axes {
        let together: Vec<&InPlace> = cylinders.iter().copied().filter(|of| of.axis == axis).collect();
        cost += opposed(&together);
    }

    // of the whole box: what stands before the other eye, or is lost, says as well which form the box is in
    let cylinders_of_the_box = || fitted.stock.rising().filter(|of| of.piece.lens.is_cylinder());
    let is_plus = |of: &StockedPiece| of.marked_power().0 > 0.0;
    let plus_only = cylinders_of_the_box().all(is_plus) && cylinders_of_the_box().next().is_some();
    let plus_in_use = ask.plus_cylinders || plus_only;
    cost += 0.25 * cylinders.iter().filter(|of| (kind(of).mark > 0.0) != plus_in_use).count() as f64;
    cost += stack.iter().filter(|of| kind(of).damaged).count() as f64;
    cost += 0.5 * miss / 0.06;
    let half_mark = (f64::from(fitted.frame.axis_marks_deg) / 2.0).to_radians();
    let together: f64 = cylinders.iter().map(strength).sum();
    let wanted = 2.0 * (ask.wanted.j0.powi(2) + ask.wanted.j45.powi(2)).sqrt();
    cost += 0.5 * (together - wanted).max(0.0) * half_mark.sin() / 0.06;
    cost
}
