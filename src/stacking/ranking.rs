//! What comes first among stacks, and the list of the best found so far.

use std::cmp::Ordering;

use super::catalogue::Catalogue;
use super::cost::{Cost, MISS_PER_D};
use super::space::{Multiset, SLACK_D, Space, Stack};
use crate::optics::{CylinderForm, Power};

/// Steps in which the miss of a stack that does not reach is compared, in dioptres, rounded down.
const MISS_STEP_D: f64 = 0.02;
/// What is less than this short of a whole step, in dioptres, is a whole step: rounding.
const ROUNDING_D: f64 = 2e-9;
/// What ranking a stack counts for.
const OFFERING_STEPS: u64 = 8;
/// Costs that differ by less than this count as equal.
const SAME_COST: f64 = 1e-6;
/// Misses that differ by less than this, in dioptres, count as equal: rounding.
const SAME_MISS_D: f64 = 1e-9;

/// The place of a stack among others; smaller is better, part by part in this order, and the ranks of two eyes add up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Rank {
    /// The miss of a stack that does not reach, in [`MissSteps`]; 0 when it reaches.
    miss_steps: u32,
    /// In steps of [`SAME_COST`].
    cost_steps: u64,
    /// The miss in steps of [`SAME_MISS_D`].
    fine_miss: u64,
}

impl Rank {
    /// The cost.
    pub fn cost(self) -> f64 {
        self.cost_steps as f64 * SAME_COST
    }

    /// The miss in steps.
    pub fn miss_steps(self) -> MissSteps {
        MissSteps(self.miss_steps)
    }
}

impl std::ops::Add for Rank {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            miss_steps: self.miss_steps + other.miss_steps,
            cost_steps: self.cost_steps + other.cost_steps,
            fine_miss: self.fine_miss + other.fine_miss,
        }
    }
}

/// A stack with what it makes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate {
    pub stack: Stack,
    pub net: Power,
    pub miss: f64,
    /// Whether that counts as reached.
    pub reaches: bool,
    pub cost: Cost,
    /// The cylinder form in use when it was found.
    pub form: CylinderForm,
    pub rank: Rank,
    /// The types in the stack, sorted.
    lenses: Multiset,
}

impl Candidate {
    /// The types of its lenses, sorted.
    pub fn lenses(&self) -> Multiset {
        self.lenses
    }

    /// Which of two comes first; of equals, by the text of the stack.
    fn compare(&self, other: &Self, catalogue: &Catalogue<'_>) -> Ordering {
        self.rank.cmp(&other.rank).then_with(|| text(&self.stack, catalogue).cmp(&text(&other.stack, catalogue)))
    }
}

/// A stack as it is written: the lenses from cell 1 outward, a point for an empty cell.
pub(super) fn text(stack: &Stack, catalogue: &Catalogue<'_>) -> String {
    let mut cells: Vec<String> = Vec::new();
    for slot in stack.slots() {
        cells.resize(usize::from(slot.cell), ".".to_owned());
        let mark = catalogue.types[usize::from(slot.type_id)].lens.mark().unwrap_or_default();
        let is_cylinder = catalogue.is_cylinder(slot.type_id);
        cells.push(if is_cylinder { format!("{mark}x{}", slot.axis) } else { mark.to_string() });
    }
    cells.join(" ")
}

/// Which stacks a list collects.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Collect {
    /// Those that miss by at most this.
    Reaching { within: f64 },
    /// Those that miss by more than `beyond`, which counts as reached, and, in this round, by at most `radius`.
    Nearest { beyond: f64, radius: MissSteps },
    /// Those that miss by at most `radius` in this round, whether or not that counts as reached.
    Any { within: f64, radius: MissSteps },
}

/// A miss as stacks that do not reach are compared by it, in whole fiftieths of a dioptre, rounded down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct MissSteps(pub u32);

impl MissSteps {
    /// A miss in dioptres in whole steps.
    pub fn of(miss: f64) -> Self {
        Self(((miss + ROUNDING_D) / MISS_STEP_D).floor() as u32)
    }

    /// No miss of that many steps is greater, in dioptres.
    fn most_d(self) -> f64 {
        (f64::from(self.0) + 1.0) * MISS_STEP_D
    }

    /// No miss of fewer steps is greater, in dioptres; negative when there are none.
    fn below_d(self) -> f64 {
        if self.0 == 0 { -1.0 } else { f64::from(self.0) * MISS_STEP_D - 2.0 * ROUNDING_D }
    }
}

/// The best stacks found so far, best first; of arrangements of the same lenses only the best.
#[derive(Debug)]
pub(super) struct Shortlist<'a> {
    limit: usize,
    collect: Collect,
    /// Lenses of which no stack is taken.
    without: &'a [Multiset],
    entries: Vec<Candidate>,
}

impl<'a> Shortlist<'a> {
    pub fn new(limit: usize, collect: Collect) -> Self {
        Self { limit, collect, without: &[], entries: Vec::new() }
    }

    /// The same list, but without any stack of these lenses.
    pub fn without(self, lenses: &'a [Multiset]) -> Self {
        Self { without: lenses, ..self }
    }

    pub fn is_full(&self) -> bool {
        self.entries.len() >= self.limit
    }

    pub fn into_entries(self) -> Vec<Candidate> {
        self.entries
    }

    /// The last of a full list.
    pub fn worst(&self) -> Option<Rank> {
        if self.is_full() { self.entries.last().map(|worst| worst.rank) } else { None }
    }

    /// The greatest miss, in dioptres, with which a stack that costs at least `floor` beside its miss can still enter;
    /// negative when none can.
    pub fn bound(&self, floor: f64) -> f64 {
        if self.limit == 0 {
            return -1.0;
        }
        match (self.collect, self.worst()) {
            (Collect::Reaching { within }, None) => within,
            (Collect::Reaching { within }, Some(worst)) => {
                within.min((worst.cost() + 2.0 * SAME_COST - floor) / MISS_PER_D)
            }
            (Collect::Nearest { radius, .. } | Collect::Any { radius, .. }, None) => radius.most_d(),
            (Collect::Nearest { .. } | Collect::Any { .. }, Some(worst)) => {
                // fewer steps, or as many at less cost
                let affordable = (worst.cost() + 2.0 * SAME_COST - floor) / MISS_PER_D;
                worst.miss_steps().most_d().min(affordable).max(worst.miss_steps().below_d())
            }
        }
    }

    /// In which order stacks are best looked at that cost at least `floor` beside their miss and miss by at least that much.
    pub fn order(&self, floor: f64, least_miss: f64) -> (u32, f64) {
        match self.collect {
            Collect::Reaching { .. } => (0, floor + MISS_PER_D * least_miss.max(0.0)),
            Collect::Nearest { .. } | Collect::Any { .. } => (MissSteps::of(least_miss.max(0.0)).0, floor),
        }
    }

    /// Takes a stack into the list if it belongs there.
    pub fn offer(&mut self, space: &Space<'_>, stack: &Stack, net: Power, miss: f64) {
        let (least, within, counts_steps) = match self.collect {
            Collect::Reaching { within } => (-1.0, within, false),
            Collect::Nearest { beyond, .. } => (beyond + SLACK_D, beyond, true),
            Collect::Any { within, .. } => (-1.0, within, true),
        };
        // asked this way round, a miss that is not a number, from a focus in the very plane of a cell, never enters
        let may_enter = miss > least && miss <= self.bound(0.0) + SLACK_D;
        if !may_enter || space.supposes_too_much(stack) {
            return;
        }
        space.work.spend(OFFERING_STEPS);
        let cost = space.costing.of(space.catalogue, stack, miss);
        let rank = Rank {
            miss_steps: if counts_steps { MissSteps::of(miss).0 } else { 0 },
            cost_steps: (cost.total() / SAME_COST).round() as u64,
            fine_miss: (miss / SAME_MISS_D).round() as u64,
        };
        if self.worst().is_some_and(|worst| worst < rank) {
            return;
        }
        let lenses = stack.multiset();
        if self.without.contains(&lenses) {
            return;
        }
        let reaches = miss <= within + SLACK_D;
        let form = space.costing.form;
        let new = Candidate { stack: *stack, net, miss, reaches, cost, form, rank, lenses };
        let comes_before = |entry: &Candidate| entry.compare(&new, space.catalogue).is_le();
        if let Some(same) = self.entries.iter().position(|entry| entry.lenses == lenses) {
            if comes_before(&self.entries[same]) {
                return;
            }
            self.entries.remove(same);
        }
        let place = self.entries.partition_point(comes_before);
        self.entries.insert(place, new);
        self.entries.truncate(self.limit);
    }
}
