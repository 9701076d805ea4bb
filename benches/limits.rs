//! The search for stacks on random boxes and frames at the limits of what is read: the share that is complete, and the worst
//! time.
//!
//! `cargo bench --bench limits`; a number after `--` is how many boxes, 2,000 when not said.

use std::time::Instant;

use dioptray::frame::{CellSpec, DeclaredFrame, FittedFrame};
use dioptray::kit::{DeclaredBox, Lens, LensForm, LensLine, Mark, Rims, Stock};
use dioptray::optics::{Eye, Eyes, Millimetres, Power, SpheroCylinder};
use dioptray::stacking::{SearchOptions, Stacker};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn main() {
    let boxes = std::env::args().skip(1).find_map(|argument| argument.parse().ok()).unwrap_or(2000_u64);
    for (what, both, limit) in
        [("best one, one eye", false, 1), ("best five, one eye", false, 5), ("best five, both eyes", true, 5)]
    {
        let mut runs: Vec<(f64, bool, bool, u64, u64)> = (0..boxes).map(|seed| run(seed, both, limit)).collect();
        runs.sort_by(|one, other| other.0.total_cmp(&one.0));
        let share = |is: fn(&(f64, bool, bool, u64, u64)) -> bool| runs.iter().filter(|run| is(run)).count();
        println!(
            "{what}: {} of {boxes} complete, {} reached; worst {:.3} s (seed {}, {} steps), 99 % {:.4} s, median {:.6} s",
            share(|run| run.1),
            share(|run| run.2),
            runs[0].0,
            runs[0].3,
            runs[0].4,
            runs[runs.len() / 100].0,
            runs[runs.len() / 2].0,
        );
    }
}

/// Seconds, whether complete, whether reached, the seed, the steps.
fn run(seed: u64, both: bool, limit: usize) -> (f64, bool, bool, u64, u64) {
    let rng = &mut ChaCha8Rng::seed_from_u64(seed);
    let fitted = FittedFrame::new(frame(rng), Stock::of(&declared(rng)));
    let mut wanted = || {
        let sphere = f64::from(rng.random_range(-100..=100)) * 0.25;
        let cylinder = if rng.random_range(0..4) == 0 { 0.0 } else { f64::from(rng.random_range(-48..=0)) * 0.25 };
        SpheroCylinder { sphere, cylinder, axis: f64::from(rng.random_range(1..=180)) }.power()
    };
    let (right, left): (Power, Power) = (wanted(), wanted());
    let options = SearchOptions { limit, ..SearchOptions::default() };
    let start = Instant::now();
    let (complete, reached, steps) = if both {
        let found = Stacker::for_both_eyes(&fitted).propose_both(Eyes::new(right, left), &options);
        let reached = found.list.first().is_some_and(|pair| pair.right.reaches && pair.left.reaches);
        (found.is_complete(), reached, found.steps)
    } else {
        let found = Stacker::for_eye(&fitted, Eye::Right).propose(Eye::Right, right, &options);
        (found.is_complete(), found.list.first().is_some_and(|best| best.reaches), found.steps)
    };
    (start.elapsed().as_secs_f64(), complete, reached, seed, steps)
}

/// One to eight cells, gaps up to 40 mm, any of them turning, some on shared rings.
fn frame(rng: &mut ChaCha8Rng) -> DeclaredFrame {
    let cells = rng.random_range(1..=8);
    let widest = [4.0, 8.0, 40.0][rng.random_range(0..3)];
    let cell = |number: usize| CellSpec {
        name: String::new(),
        gap: Millimetres(if number == 0 { 0.0 } else { (rng.random_range(0.0..=widest) * 2.0_f64).round() / 2.0 }),
        turns: rng.random_range(0..2) == 0,
        ring: (rng.random_range(0..3) == 0).then(|| ["a", "b"][rng.random_range(0..2)].to_owned()),
    };
    let cells = (0..cells).map(cell).collect();
    let axis_marks_deg = rng.random_range(1..=45);
    DeclaredFrame { name: "random".into(), vertex: Millimetres(12.0), pd: None, axis_marks_deg, cells }
}

/// One to four series of spheres and none to three of cylinders, of up to 400 powers each, up to 99 pieces of each.
fn declared(rng: &mut ChaCha8Rng) -> DeclaredBox {
    let mut lines: Vec<LensLine> = Vec::new();
    let (spheres, cylinders) = (rng.random_range(1..=4), rng.random_range(0..=3));
    for kind in
        (0..spheres).map(|_| Lens::Sphere as fn(Mark) -> Lens).chain((0..cylinders).map(|_| Lens::Cylinder as _))
    {
        let steps: f64 = [0.01, 0.05, 0.12, 0.25, 0.5, 1.0, 2.0][rng.random_range(0..7)];
        let most = [1, 4, 20, 60, 400][rng.random_range(0..5)];
        let (powers, sign) = (rng.random_range(1..=most), if rng.random_range(0..2) == 0 { 1.0 } else { -1.0 });
        let first: f64 = f64::from(rng.random_range(1..=40)) * steps;
        let each = [1, 2, 99][rng.random_range(0..3)];
        for nth in 0..powers {
            let power = first + f64::from(nth) * steps;
            let lens = kind(Mark::nearest(sign * power));
            if power <= 40.0 && lines.iter().all(|line| line.lens != lens) {
                lines.push(LensLine { lens, declared: each, missing: 0 });
            }
        }
    }
    DeclaredBox {
        name: "random".into(),
        id: None,
        note: None,
        form: LensForm::Thin,
        rims: Rims::default(),
        lines,
        measured: Vec::new(),
        tray: Vec::new(),
    }
}
