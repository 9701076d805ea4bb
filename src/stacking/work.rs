//! How much a search may look at before it stops, so that every search ends in time.

use std::cell::Cell;

/// Lens choices and angles that one search may try, each weighed by what it takes: about ten nanoseconds a step.
pub const MOST_STEPS: u64 = 64_000_000;

/// Choices that a search keeps in memory at once: about a hundred megabytes.
const MOST_KEPT: usize = 1_000_000;

/// What was spent, and what was left out because nothing was left.
#[derive(Debug)]
pub(super) struct Work {
    spent: Cell<u64>,
    /// The least cost of what was left out.
    bound: Cell<f64>,
}

impl Work {
    /// A whole search's.
    pub fn new() -> Self {
        Self { spent: Cell::new(0), bound: Cell::new(f64::INFINITY) }
    }

    /// How many steps were spent; some patterns may go on when these are more than [`MOST_STEPS`].
    pub fn spent(&self) -> u64 {
        self.spent.get()
    }

    /// Whether nothing is left.
    pub fn is_spent(&self) -> bool {
        self.spent.get() >= MOST_STEPS
    }

    /// Spends some steps.
    pub fn spend(&self, steps: u64) {
        self.spent.set(self.spent.get().saturating_add(steps));
    }

    /// Whether a search that keeps that many choices must let a pattern be whose stacks cost at least `floor`; it is noted then.
    pub fn has_too_many(&self, kept: usize, floor: f64) -> bool {
        if kept > MOST_KEPT {
            self.leave_out(floor);
        }
        kept > MOST_KEPT
    }

    /// Notes that a stack of this cost may have been left out.
    pub fn leave_out(&self, cost: f64) {
        self.bound.set(self.bound.get().min(cost));
    }

    /// No stack that was left out costs less; infinite when none was.
    pub fn bound(&self) -> f64 {
        self.bound.get()
    }
}
