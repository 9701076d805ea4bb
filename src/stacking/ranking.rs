//! What comes first among stacks, and the list of the best found so far.

use super::catalogue::{Catalogue, TypeId};
use super::space::{Multiset, SLACK_D, Space, Stack};
use crate::frame::declared::MOST_CELLS;
use crate::optics::Power;

/// Steps to which the miss of a stack that does not reach is compared, in dioptres.
const MISS_STEP_D: f64 = 0.001;
/// Steps to which the miss of a stack that reaches is compared: fine enough to be exact, coarse enough for rounding.
const FINE_STEP_D: f64 = 1e-6;

/// The place of a stack among others; smaller is better, part by part in this order, and the ranks of two eyes add up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Rank {
    /// 1 when it does not reach the wanted power.
    unreached: u32,
    /// Then its miss, in [`MissSteps`]; 0 when it reaches.
    miss_steps: u32,
    /// How many lenses it has.
    lenses: u32,
    /// Moves from what is in the cells.
    moves: u32,
    /// The miss of a stack that reaches, in steps of [`FINE_STEP_D`]; 0 when it does not.
    fine_miss_steps: u32,
    /// The cell of the strongest sphere: nearest the eye is best. From here on it is the order of the trade.
    strongest_cell: u32,
    /// Spheres in front of cylinders, each counted for every cylinder behind it.
    spheres_in_front: u32,
    /// The cells of the cylinders, added up: the rearmost turning cells are best.
    cylinder_cells: u32,
    /// Damaged lenses.
    damaged: u32,
    /// The cells of the spheres, added up: to the rear is best.
    sphere_cells: u32,
}

impl Rank {
    pub fn moves(self) -> usize {
        self.moves as usize
    }

    pub fn reaches(self) -> bool {
        self.unreached == 0
    }

    fn lenses(self) -> usize {
        self.lenses as usize
    }

    fn miss_steps(self) -> MissSteps {
        MissSteps(self.miss_steps)
    }
}

impl std::ops::Add for Rank {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            unreached: self.unreached + other.unreached,
            miss_steps: self.miss_steps + other.miss_steps,
            lenses: self.lenses + other.lenses,
            moves: self.moves + other.moves,
            fine_miss_steps: self.fine_miss_steps + other.fine_miss_steps,
            strongest_cell: self.strongest_cell + other.strongest_cell,
            spheres_in_front: self.spheres_in_front + other.spheres_in_front,
            cylinder_cells: self.cylinder_cells + other.cylinder_cells,
            damaged: self.damaged + other.damaged,
            sphere_cells: self.sphere_cells + other.sphere_cells,
        }
    }
}

/// A stack with what it makes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate {
    pub stack: Stack,
    pub net: Power,
    pub miss: f64,
    pub rank: Rank,
    /// The types in the stack, sorted.
    lenses: Multiset,
}

impl Candidate {
    /// The types of its lenses, sorted.
    pub fn lenses(&self) -> Multiset {
        self.lenses
    }
}

/// What stands in each cell now, so that moves can be counted.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) enum Now {
    /// Nothing, or something that stays.
    #[default]
    Empty,
    /// A lens of the catalogue at an axis.
    Lens(TypeId, u16),
    /// Something that has to come out.
    Other,
}

/// The cells of one eye as they are now.
pub(super) type Cells = [Now; MOST_CELLS];

/// Movements of the hand from what is in the cells to a stack: a lens out, a lens in, an axis turned.
pub(super) fn count_moves(now: &Cells, stack: &Stack, catalogue: &Catalogue<'_>) -> u32 {
    let mut moves = 0;
    let mut slots = stack.slots().iter().peekable();
    for (cell, now) in now.iter().enumerate() {
        let new = slots.next_if(|slot| usize::from(slot.cell) == cell);
        moves += match (now, new) {
            (Now::Empty, None) => 0,
            (Now::Empty, Some(_)) | (_, None) => 1,
            (Now::Lens(type_id, axis), Some(slot)) if *type_id == slot.type_id => {
                u32::from(catalogue.is_cylinder(*type_id) && *axis != u16::from(slot.axis))
            }
            (_, Some(_)) => 2,
        };
    }
    moves
}

/// Which stacks a list collects.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Collect {
    /// Those that miss by at most this.
    Reaching { within: f64 },
    /// Those that miss by more than `beyond` and, in this round, count as missing by at most `radius`.
    Nearest { beyond: f64, radius: MissSteps },
}

/// A miss as stacks that do not reach are compared by it, in whole thousandths of a dioptre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct MissSteps(pub u32);

impl MissSteps {
    /// A miss in dioptres to the nearest step.
    pub fn of(miss: f64) -> Self {
        Self((miss / MISS_STEP_D).round() as u32)
    }

    /// The greatest miss in dioptres that counts as that many steps: half a step more.
    fn most_d(self) -> f64 {
        (f64::from(self.0) + 0.5) * MISS_STEP_D
    }

    /// The greatest miss in dioptres that counts as fewer steps.
    fn below_d(self) -> f64 {
        (f64::from(self.0) - 0.5) * MISS_STEP_D
    }
}

/// The best stacks found so far, best first; of arrangements of the same lenses only the best.
#[derive(Debug)]
pub(super) struct Shortlist<'a> {
    limit: usize,
    collect: Collect,
    now: &'a Cells,
    /// Lenses of which no stack is taken.
    without: &'a [Multiset],
    nothing_in_cells: bool,
    entries: Vec<Candidate>,
}

impl<'a> Shortlist<'a> {
    pub fn new(limit: usize, collect: Collect, now: &'a Cells) -> Self {
        let nothing_in_cells = now.iter().all(|cell| *cell == Now::Empty);
        Self { limit, collect, now, without: &[], nothing_in_cells, entries: Vec::new() }
    }

    /// The same list, but without any stack of these lenses.
    pub fn without(self, lenses: &'a [Multiset]) -> Self {
        Self { without: lenses, ..self }
    }

    pub fn is_full(&self) -> bool {
        self.entries.len() >= self.limit
    }

    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    pub fn into_entries(self) -> Vec<Candidate> {
        self.entries
    }

    /// The greatest miss with which a stack of that many lenses could still enter the list.
    pub fn bound(&self, lenses: usize) -> f64 {
        let worst = if self.is_full() { self.entries.last() } else { None };
        match (self.collect, worst) {
            (Collect::Reaching { within }, None) => within,
            (Collect::Reaching { within }, Some(worst)) => {
                if lenses > worst.rank.lenses() {
                    -1.0
                } else if self.nothing_in_cells && lenses == worst.rank.lenses() {
                    // every stack of that many lenses then takes as many moves, and the miss decides
                    within.min(worst.miss + FINE_STEP_D)
                } else {
                    within
                }
            }
            (Collect::Nearest { radius, .. }, None) => radius.most_d(),
            (Collect::Nearest { .. }, Some(worst)) if lenses > worst.rank.lenses() => worst.rank.miss_steps().below_d(),
            (Collect::Nearest { .. }, Some(worst)) => worst.rank.miss_steps().most_d(),
        }
    }

    /// Takes a stack into the list if it belongs there.
    pub fn offer(&mut self, space: &Space<'_>, stack: &Stack, net: Power, miss: f64) {
        let least = match self.collect {
            Collect::Reaching { .. } => -1.0,
            Collect::Nearest { beyond, .. } => beyond + SLACK_D,
        };
        // asked this way round, a miss that is not a number, from a focus in the very plane of a cell, never enters
        let may_enter = miss > least && miss <= self.bound(stack.len()) + SLACK_D;
        if !may_enter || space.supposes_too_much(stack) {
            return;
        }
        let rank = self.rank(space, stack, miss);
        if self.is_full() && self.entries.last().is_some_and(|worst| worst.rank <= rank) {
            return;
        }
        let lenses = stack.multiset();
        if self.without.contains(&lenses) {
            return;
        }
        if let Some(same) = self.entries.iter().position(|entry| entry.lenses == lenses) {
            if self.entries[same].rank <= rank {
                return;
            }
            self.entries.remove(same);
        }
        let place = self.entries.partition_point(|entry| entry.rank <= rank);
        self.entries.insert(place, Candidate { stack: *stack, net, miss, rank, lenses });
        self.entries.truncate(self.limit);
    }

    fn rank(&self, space: &Space<'_>, stack: &Stack, miss: f64) -> Rank {
        let reaches = matches!(self.collect, Collect::Reaching { .. });
        let moves = count_moves(self.now, stack, space.catalogue);
        let (mut strongest, mut strongest_cell) = (0.0, 0);
        let (mut cylinder_cells, mut sphere_cells, mut damaged, mut spheres_in_front, mut cylinders) = (0, 0, 0, 0, 0);
        for (index, slot) in stack.slots().iter().enumerate() {
            let lens_type = &space.catalogue.types[usize::from(slot.type_id)];
            if space.catalogue.is_cylinder(slot.type_id) {
                cylinders += 1;
                cylinder_cells += u32::from(slot.cell);
            } else {
                spheres_in_front += cylinders;
                sphere_cells += u32::from(slot.cell);
                if lens_type.power.abs() > strongest {
                    (strongest, strongest_cell) = (lens_type.power.abs(), u32::from(slot.cell));
                }
            }
            let before = stack.slots()[..index].iter().filter(|other| other.type_id == slot.type_id).count();
            damaged += u32::from(before >= usize::from(lens_type.whole));
        }
        Rank {
            unreached: u32::from(!reaches),
            miss_steps: if reaches { 0 } else { MissSteps::of(miss).0 },
            lenses: stack.len() as u32,
            moves,
            fine_miss_steps: if reaches { (miss / FINE_STEP_D).round() as u32 } else { 0 },
            strongest_cell,
            spheres_in_front,
            cylinder_cells,
            damaged,
            sphere_cells,
        }
    }
}
