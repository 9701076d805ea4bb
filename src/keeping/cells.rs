//! Where lenses may stand before an eye, and the ways to use the cells.

use std::cmp::Reverse;

use super::holdings::Holdings;
use crate::frame::DeclaredFrame;
use crate::kit::LensForm;

/// One cell.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Cell {
    /// From cell 1, in metres; 0 where marks add up.
    from_rear_m: f64,
    /// Cells that turn together have the same ring; `None` where no cylinder can stand.
    ring: Option<u8>,
}

/// The cells of a frame, all of them empty.
#[derive(Debug, Clone, PartialEq)]
pub struct Cells {
    cells: Vec<Cell>,
}

/// A place of a way to use the cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    pub from_rear_m: f64,
    pub is_cylinder: bool,
    pub ring: Option<u8>,
}

impl Spot {
    /// What decides which powers can be made.
    fn key(&self) -> (u64, bool) {
        (self.from_rear_m.to_bits(), self.is_cylinder)
    }
}

impl Cells {
    /// Those of a frame. The distances between them matter unless the maker computed the lenses so that marks add up.
    pub fn of(frame: &DeclaredFrame, form: LensForm) -> Self {
        let mut from_rear_m = 0.0;
        let cells = frame.cell_numbers().zip(&frame.cells).map(|(number, cell)| {
            if number > 1 && form == LensForm::Thin {
                from_rear_m += cell.gap.metres();
            }
            Cell { from_rear_m, ring: frame.turning_with(number).first().copied() }
        });
        Self { cells: cells.collect() }
    }

    /// Whether light of some stack of these lenses could come to a focus between the cells: its strongest, one in each.
    pub(super) fn may_have_a_focus(&self, holdings: &Holdings) -> bool {
        let strongest = holdings.list().iter().fold(0.0, |most: f64, of| most.max(of.power));
        let depth_m = self.cells.last().map_or(0.0, |cell| cell.from_rear_m);
        strongest * self.cells.len() as f64 * depth_m >= 1.0
    }

    /// Every way to use that many cells, from the eye outward; ways that make the same powers of any lenses once. The ways with most
    /// cylinders come first.
    pub(super) fn ways(&self, lenses: usize) -> Vec<Vec<Spot>> {
        let mut ways: Vec<Vec<Spot>> = vec![Vec::new()];
        for cell in &self.cells {
            let spot = |is_cylinder| Spot { from_rear_m: cell.from_rear_m, is_cylinder, ring: cell.ring };
            let kinds: &[bool] = if cell.ring.is_some() { &[false, true] } else { &[false] };
            for index in 0..ways.len() {
                for &kind in kinds {
                    if ways[index].len() < lenses {
                        let way = [ways[index].as_slice(), &[spot(kind)]].concat();
                        ways.push(way);
                    }
                }
            }
        }
        ways.retain(|way| way.len() == lenses);
        let key = |way: &Vec<Spot>| {
            let cylinders = way.iter().filter(|spot| spot.is_cylinder);
            let first = cylinders.clone().next().and_then(|spot| spot.ring);
            let is_crossed = cylinders.clone().any(|spot| spot.ring != first);
            let places: Vec<(u64, bool)> = way.iter().map(Spot::key).collect();
            (Reverse(cylinders.count()), places, Reverse(is_crossed))
        };
        // at one distance the order does not matter
        for way in &mut ways {
            way.sort_by_key(Spot::key);
        }
        ways.sort_by_key(key);
        ways.dedup_by(|further, kept| further.iter().map(Spot::key).eq(kept.iter().map(Spot::key)));
        ways
    }
}
