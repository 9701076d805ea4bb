//! Every stack of a small box at every whole degree, computed without anything of the search.

use dioptray::frame::DeclaredFrame;
use dioptray::keeping::Wanted;
use dioptray::kit::{LensForm, Stock};
use dioptray::optics::vergence::net;
use dioptray::optics::{Dioptres, Millimetres, Power, SpheroCylinder};

/// What stacks make, each with its lenses as counts of the box's kinds of lens.
pub struct Everything {
    /// How many pieces there are of each kind.
    pieces: Vec<u8>,
    made: Vec<(Power, Vec<u8>)>,
}

/// A wanted power at axis 180.
pub fn power(wanted: Wanted) -> Power {
    SpheroCylinder { sphere: wanted.sphere, cylinder: wanted.cylinder, axis: 180.0 }.power()
}

impl Everything {
    /// Of a box in a frame, with at most four lenses.
    pub fn of(stock: &Stock, frame: &DeclaredFrame) -> Self {
        let mut kinds: Vec<(f64, bool)> = Vec::new();
        let mut pieces: Vec<u8> = Vec::new();
        for stocked in stock.rising().filter(|stocked| stocked.place.is_at_hand()) {
            let kind = (stocked.power().0, stocked.piece.lens.is_cylinder());
            if let Some(at) = kinds.iter().position(|of| *of == kind) {
                pieces[at] += 1;
            } else {
                kinds.push(kind);
                pieces.push(1);
            }
        }
        let gaps: Vec<Millimetres> = match stock.form {
            LensForm::Thin => frame.gaps(),
            LensForm::Additive => vec![Millimetres(0.0); frame.cells.len() - 1],
        };
        let mut all = Self { pieces, made: Vec::new() };
        let mut cells = vec![None; frame.cells.len()];
        all.fill(&kinds, frame, &gaps, &mut cells, 0);
        all
    }

    fn fill(
        &mut self,
        kinds: &[(f64, bool)],
        frame: &DeclaredFrame,
        gaps: &[Millimetres],
        cells: &mut Vec<Option<usize>>,
        at: usize,
    ) {
        if at < cells.len() {
            for choice in std::iter::once(None).chain((0..kinds.len()).map(Some)) {
                let fits = choice.is_none_or(|kind| !kinds[kind].1 || frame.cells[at].turns);
                if fits && cells[..at].iter().flatten().count() + usize::from(choice.is_some()) <= 4 {
                    cells[at] = choice;
                    self.fill(kinds, frame, gaps, cells, at + 1);
                }
            }
            cells[at] = None;
            return;
        }
        let mut counts = vec![0; kinds.len()];
        cells.iter().flatten().for_each(|kind| counts[*kind] += 1);
        if counts.iter().zip(&self.pieces).any(|(count, pieces)| count > pieces) {
            return;
        }
        let turning: Vec<usize> = (0..cells.len()).filter(|at| cells[*at].is_some_and(|kind| kinds[kind].1)).collect();
        let of_one_ring = |one: usize, other: usize| {
            frame.cells[one].ring.is_some() && frame.cells[one].ring == frame.cells[other].ring
        };
        // the whole may be turned: the innermost stands at each axis, a second at each other one
        let axes: Vec<Vec<u16>> = match turning[..] {
            [] => vec![vec![]],
            [one] => vec![vec![180; usize::from(one < cells.len())], vec![90]],
            [one, other] if !of_one_ring(one, other) => {
                (1..=180).flat_map(|one| (1..=180).map(move |other| vec![one, other])).collect()
            }
            _ => vec![vec![180; turning.len()], vec![90; turning.len()]],
        };
        for axes in axes {
            let mut axes = axes.iter();
            let lens = |kind: &Option<usize>| match kind.map(|kind| kinds[kind]) {
                None => Power::ZERO,
                Some((power, false)) => Power::sphere(Dioptres(power)),
                Some((power, true)) => Power::cylinder(Dioptres(power), f64::from(*axes.next().unwrap())),
            };
            let lenses: Vec<Power> = cells.iter().map(lens).collect();
            self.made.push((net(&lenses, gaps), counts.clone()));
        }
    }

    /// The fewest lenses that reach, and the least miss.
    pub fn one_eye(&self, wanted: Wanted) -> (Option<u8>, f64) {
        let misses = self.made.iter().map(|(made, counts)| (made.miss(power(wanted)), counts.iter().sum::<u8>()));
        let least = misses.clone().map(|(miss, _)| miss).fold(f64::INFINITY, f64::min);
        (misses.filter(|(miss, _)| *miss <= 0.06 + 1e-9).map(|(_, lenses)| lenses).min(), least)
    }

    /// The fewest lenses an eye of two stacks that reach and use no piece twice.
    pub fn both_eyes(&self, wanted: Wanted) -> Option<u8> {
        let reaching = self.made.iter().filter(|(made, _)| made.miss(power(wanted)) <= 0.06 + 1e-9);
        let mut stacks: Vec<&Vec<u8>> = reaching.map(|(_, counts)| counts).collect();
        stacks.sort();
        stacks.dedup();
        let lenses = |counts: &[u8]| counts.iter().sum::<u8>();
        let pairs = stacks.iter().flat_map(|one| stacks.iter().map(move |other| (*one, *other)));
        let together = |(one, other): &(&Vec<u8>, &Vec<u8>)| {
            one.iter().zip(*other).zip(&self.pieces).all(|((one, other), pieces)| one + other <= *pieces)
        };
        pairs.filter(together).map(|(one, other)| lenses(one).max(lenses(other))).min()
    }
}
