//! Every search ends: what is looked at is counted in steps, not in seconds, and what was not looked at is said.

use dioptray::frame::{DeclaredFrame, FittedFrame};
use dioptray::kit::shipped::BOXES;
use dioptray::kit::{LensForm, Stock, parse_box};
use dioptray::optics::{Eye, Eyes, Power};
use dioptray::stacking::{MOST_STEPS, SearchOptions, propose, propose_both};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::boxes::{cell, four_cells, frame, power, stock};

/// What is looked through on nearly any box, two lenses and three at one axis, may take as many steps again; and what is begun
/// when the last step is spent is ended.
const MOST_TAKEN: u64 = 2 * MOST_STEPS + 100_000;

fn every(from: f64, to: f64, step: f64, each: u8) -> Vec<(f64, u8)> {
    let count = ((to - from) / step).round() as i32;
    (0..=count).map(|nth| (from + f64::from(nth) * step, each)).filter(|(power, _)| power.abs() > 1e-9).collect()
}

/// Frames and boxes on which a search once took minutes, or that are as large as they may be.
fn hard() -> Vec<(&'static str, DeclaredFrame, Stock, Power)> {
    let ring = |name| move |gap| cell(gap, true, Some(name));
    let (a, b) = (ring("a"), ring("b"));
    let turning = |gap| cell(gap, true, None);
    let still = |gap| cell(gap, false, None);
    let usual = || stock(&every(-8.0, 8.0, 0.25, 2), &every(-2.0, -0.25, 0.25, 2), LensForm::Thin);
    let all = |step: f64| stock(&every(-20.0, 20.0, step, 99), &every(-20.0, 20.0, step, 99), LensForm::Thin);
    vec![
        ("two shared rings", frame(vec![a(0.0), b(3.5), a(3.5), b(3.5)]), usual(), power(-4.1, -7.9, 33.0)),
        (
            "a ring beside a cell that turns",
            frame(vec![b(0.0), turning(1.5), still(3.0), still(4.0), still(0.5)]),
            usual(),
            power(-4.0, -8.5, 33.0),
        ),
        ("five turning cells", frame((0..5).map(|_| turning(3.5)).collect()), usual(), power(-4.0, -20.0, 20.0)),
        ("eight turning cells", frame((0..8).map(|_| turning(3.5)).collect()), usual(), power(9.1, -13.3, 120.0)),
        ("201 powers of each kind", four_cells(), all(0.2), power(-13.1, -7.3, 12.0)),
        (
            "401 powers of each kind, far apart",
            frame((0..8).map(|_| turning(40.0)).collect()),
            all(0.1),
            power(40.0, -40.0, 12.0),
        ),
        (
            "plus lenses alone",
            frame((0..8).map(|_| turning(40.0)).collect()),
            stock(&every(1.0, 40.0, 0.1, 99), &[], LensForm::Thin),
            power(-25.0, -3.0, 9.0),
        ),
    ]
}

#[test]
fn every_search_ends_within_its_steps_and_says_what_it_left_out() {
    for (what, frame, stock, wanted) in hard() {
        let fitted = FittedFrame::new(frame, stock);
        for (limit, within_d) in [(1, 0.06), (5, 0.06), (1, 0.005)] {
            let options = SearchOptions { limit, within_d, ..SearchOptions::default() };
            let one = propose(&fitted, Eye::Left, wanted, &options);
            let both = propose_both(&fitted, Eyes::new(wanted, wanted), &options);
            for (steps, found) in [(one.steps, one.list.len()), (both.steps, both.list.len())] {
                assert!(steps <= MOST_TAKEN, "{what}, {limit}, {within_d}: {steps} steps");
                assert!(found > 0, "{what}: nothing");
            }
            if let Some(bound) = one.bound {
                // two lenses at one axis, and at two, are always looked at
                assert!(bound >= 5.0 - 1e-9, "{what}: {bound}");
            }
        }
    }
}

#[test]
fn the_shipped_boxes_and_frames_are_searched_through() {
    let frames = dioptray::frame::shipped::FRAMES.iter();
    for (file, text) in frames {
        let declared = dioptray::frame::parse_frame(file, text).unwrap();
        for (file, text) in BOXES {
            let fitted = FittedFrame::new(declared.clone(), Stock::of(&parse_box(file, text).unwrap()));
            let rng = &mut ChaCha8Rng::seed_from_u64(11);
            for _ in 0..16 {
                let mut wanted = || {
                    let sphere = f64::from(rng.random_range(-100..=100)) * 0.25;
                    let cylinder = f64::from(rng.random_range(-48..=0)) * 0.25;
                    power(sphere, cylinder, f64::from(rng.random_range(1..=180)))
                };
                let (right, left) = (wanted(), wanted());
                for limit in [1, 5] {
                    let options = SearchOptions { limit, ..SearchOptions::default() };
                    let found = propose(&fitted, Eye::Right, right, &options);
                    assert!(found.is_complete(), "{file}, {}, {right:?}: {:?}", declared.name, found.bound);
                    let found = propose_both(&fitted, Eyes::new(right, left), &options);
                    assert!(
                        found.is_complete(),
                        "{file} {limit}, {}, {right:?} {left:?}: {:?}",
                        declared.name,
                        found.bound
                    );
                }
            }
        }
    }
}
