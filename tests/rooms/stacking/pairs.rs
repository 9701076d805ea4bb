//! Both eyes from one box.

use std::collections::BTreeMap;

use std::cmp::Ordering;

use dioptray::frame::FittedFrame;
use dioptray::kit::LensForm;
use dioptray::optics::{Eye, Eyes, Power};
use dioptray::stacking::{Proposal, SearchOptions, propose_both};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::boxes::{cell, frame, power, quarter, random_powers, stock};
use super::enumeration::{Ask, Key, Kind, Taken, best_of_every_choice, kinds};

/// The best pair of all: reached by cost, else by the misses in steps together and then by cost.
fn best_pair(fitted: &FittedFrame, wanted: Eyes<Power>, most: usize) -> (bool, u32, f64) {
    let kinds = kinds(fitted, &Eye::BOTH);
    let all: Eyes<BTreeMap<Taken, Key>> = Eyes::from_fn(|eye| {
        best_of_every_choice(fitted, &kinds, &Ask { eye, wanted: wanted[eye], most, plus_cylinders: false })
    });
    let pieces: Vec<usize> = kinds.iter().map(Kind::pieces).collect();
    let mut best = (true, u32::MAX, f64::INFINITY);
    for (right_takes, right) in &all.right {
        for (left_takes, left) in &all.left {
            let fits =
                right_takes.iter().zip(left_takes).zip(&pieces).all(|((right, left), have)| right + left <= *have);
            let unreached = right.unreached || left.unreached;
            let steps = |key: &Key| (key.miss / 0.02 + 1e-7).floor() as u32;
            let key = (unreached, if unreached { steps(right) + steps(left) } else { 0 }, right.cost + left.cost);
            if fits && key < best {
                best = key;
            }
        }
    }
    best
}

fn rank(right: &Proposal, left: &Proposal) -> (bool, u32, f64) {
    let unreached = !(right.reaches && left.reaches);
    let steps = |proposal: &Proposal| (proposal.miss_d / 0.02 + 1e-7).floor() as u32;
    (unreached, if unreached { steps(right) + steps(left) } else { 0 }, right.cost.total() + left.cost.total())
}

#[test]
fn pairs_use_no_piece_twice_and_are_the_best_of_all_pairs() {
    for seed in 0..80 {
        let rng = &mut ChaCha8Rng::seed_from_u64(5000 + seed);
        let spheres: Vec<(f64, u8)> = random_powers(rng, 5, 12).into_iter().map(|(power, _)| (power, 1)).collect();
        let three = frame(vec![cell(0.0, false, None), cell(3.5, false, None), cell(3.5, true, None)]);
        let fitted = FittedFrame::new(three, stock(&spheres, &[(-0.5, 1)], LensForm::Thin));
        let mut one = || {
            let sum = spheres[rng.random_range(0..5)].0 + spheres[rng.random_range(0..5)].0;
            if rng.random_range(0..2) == 0 { power(sum, 0.0, 180.0) } else { power(quarter(rng, 12), -0.5, 30.0) }
        };
        let wanted = Eyes::new(one(), one());
        let options = SearchOptions { limit: 4, max_lenses: Some(2), ..SearchOptions::default() };
        let found = propose_both(&fitted, wanted, &options);
        assert!(found.is_complete());
        for pair in &found.list {
            let mut used: Vec<_> = pair.right.cells.iter().chain(&pair.left.cells).map(|lens| &lens.piece).collect();
            let all = used.len();
            used.sort();
            used.dedup();
            assert_eq!(used.len(), all, "seed {seed}: a piece is used twice");
        }
        let ranks: Vec<_> = found.list.iter().map(|pair| rank(&pair.right, &pair.left)).collect();
        let in_order = |pair: &[(bool, u32, f64)]| {
            let [(unreached, steps, cost), after] = [pair[0], pair[1]];
            match (unreached, steps).cmp(&(after.0, after.1)) {
                Ordering::Less => true,
                Ordering::Equal => cost < after.2 + 2e-6,
                Ordering::Greater => false,
            }
        };
        assert!(ranks.windows(2).all(in_order), "seed {seed}: {ranks:?}");
        let best = best_pair(&fitted, wanted, 2);
        assert_eq!((ranks[0].0, ranks[0].1), (best.0, best.1), "seed {seed}: {ranks:?}");
        assert!((ranks[0].2 - best.2).abs() < 4e-6, "seed {seed}: {ranks:?} for {best:?}");
    }
}

#[test]
fn pairs_are_as_good_whichever_eye_wants_which_power() {
    // -2 D is reached by the sphere alone, but the other eye has more use for it: two crossed cylinders make it too
    let two = frame(vec![cell(0.0, true, None), cell(5.0, true, None)]);
    let spheres = [(-2.0, 1), (2.0, 1), (4.0, 1)];
    let fitted = FittedFrame::new(two, stock(&spheres, &[(-2.0, 2), (-1.0, 1)], LensForm::Thin));
    let (lesser, other) = (power(-2.0, 0.0, 180.0), power(2.5, -0.25, 53.0));
    let options = SearchOptions { limit: 1, ..SearchOptions::default() };
    let of_the_lesser = Eye::BOTH.map(|eye| {
        let wanted = Eyes::from_fn(|of| if of == eye { lesser } else { other });
        let pair = propose_both(&fitted, wanted, &options).list.remove(0);
        let eyes = Eyes::new(pair.right, pair.left);
        (eyes[eye].lens_list(), eyes[eye.other()].lens_list())
    });
    assert_eq!(of_the_lesser[0], of_the_lesser[1]);
}
