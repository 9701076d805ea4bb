//! Which cells are used, and for what: every way to use some of the cells, the cheapest first.

use super::cost::{CROSSED, Costing};
use super::space::OpenCell;
use super::work::MOST_STEPS;
use crate::frame::declared::MOST_CELLS;

/// A choice of cells and of the kind of lens in each.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pattern {
    cells: [u8; MOST_CELLS],
    cylinder: [bool; MOST_CELLS],
    len: usize,
    /// Whether its cylinders stand at different axes; else they share one.
    pub crossed: bool,
    /// No stack of this pattern costs less, in lenses.
    pub floor: f64,
}

impl Pattern {
    /// Cells from the eye outward, each with whether a cylinder stands in it.
    pub fn places(&self) -> impl DoubleEndedIterator<Item = (u8, bool)> + Clone + '_ {
        (0..self.len).map(|i| (self.cells[i], self.cylinder[i]))
    }

    /// The cell of a place.
    pub fn cell(&self, place: usize) -> u8 {
        self.cells[place]
    }

    /// Whether a cylinder stands in a place.
    pub fn is_cylinder(&self, place: usize) -> bool {
        self.cylinder[place]
    }

    /// How many lenses.
    pub fn len(&self) -> usize {
        self.len
    }

    /// How many of them are cylinders.
    pub fn cylinders(&self) -> usize {
        self.cylinder[..self.len].iter().filter(|&&cylinder| cylinder).count()
    }

    /// Whether it has no cylinder.
    pub fn has_spheres_only(&self) -> bool {
        self.cylinders() == 0
    }

    /// At how many steps of the whole search it ends. Two lenses, and three at one axis, may take half as many steps again
    /// as all others, so that nearly any box is searched through for them, however many lenses it holds; one lens always is.
    pub fn most_steps(&self) -> u64 {
        match (self.len, self.crossed) {
            (0 | 1, _) => u64::MAX,
            (2, _) | (3, false) => MOST_STEPS + MOST_STEPS / 2,
            _ => MOST_STEPS,
        }
    }
}

/// Every way to use up to `most` of the open cells, the cheapest first.
pub(super) fn by_cost(open: &[OpenCell], costing: &Costing, most: usize) -> Vec<Pattern> {
    let empty = Pattern { cells: [0; MOST_CELLS], cylinder: [false; MOST_CELLS], len: 0, crossed: false, floor: 0.0 };
    let mut patterns = Vec::new();
    extend(open, most, empty, &mut |mut pattern| {
        let floor = costing.least(&pattern.places());
        pattern.floor = floor;
        patterns.push(pattern);
        if has_two_axes(open, &pattern) {
            patterns.push(Pattern { crossed: true, floor: pattern.floor + CROSSED, ..pattern });
        }
    });
    patterns.sort_by(|one, other| one.floor.total_cmp(&other.floor));
    patterns
}

fn extend(open: &[OpenCell], left: usize, pattern: Pattern, each: &mut impl FnMut(Pattern)) {
    each(pattern);
    if left == 0 {
        return;
    }
    for (index, cell) in open.iter().enumerate() {
        let kinds: &[bool] = if cell.ring.is_some() { &[false, true] } else { &[false] };
        for &cylinder in kinds {
            let mut longer = pattern;
            longer.cells[longer.len] = cell.cell;
            longer.cylinder[longer.len] = cylinder;
            longer.len += 1;
            extend(&open[index + 1..], left - 1, longer, each);
        }
    }
}

/// Whether its cylinders stand in cells that turn apart from each other.
fn has_two_axes(open: &[OpenCell], pattern: &Pattern) -> bool {
    let ring = |cell: u8| open.iter().find(|of| of.cell == cell).and_then(|of| of.ring);
    let mut rings = pattern.places().filter(|&(_, cylinder)| cylinder).map(|(cell, _)| ring(cell));
    let first = rings.next();
    rings.any(|ring| Some(ring) != first)
}
