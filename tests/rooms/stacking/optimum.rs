//! What comes first is what exhaustive enumeration finds the cheapest, and so are those that follow.

use dioptray::frame::{DeclaredFrame, FittedFrame, Move};
use dioptray::kit::{BoxChange, LensForm, Measurement, Piece, Stock};
use dioptray::optics::{CylinderForm, Eye, Power};
use dioptray::stacking::{SearchOptions, propose};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::boxes::{cell, frame, power, quarter, random_powers, stock};
use super::enumeration::{Ask, Key, best_of_every_choice, kinds};
use super::proposals::assert_honest;

/// The first five of the search against the best of every choice of lenses by enumeration.
fn assert_optimum(fitted: &FittedFrame, wanted: Power, most: usize, plus_cylinders: bool, context: &str) {
    let ask = Ask { eye: Eye::Right, wanted, most, plus_cylinders };
    let all = best_of_every_choice(fitted, &kinds(fitted, &[Eye::Right]), &ask);
    let mut best: Vec<Key> = all.into_values().collect();
    best.sort_by(|one, other| one.partial_cmp(other).unwrap());
    let form = if plus_cylinders { CylinderForm::Plus } else { CylinderForm::Minus };
    let options = SearchOptions { max_lenses: Some(most), limit: 5, form, ..SearchOptions::default() };
    let found = propose(fitted, Eye::Right, wanted, &options);
    assert!(found.is_complete(), "{context}");
    assert_eq!(found.list.len(), best.len().min(5), "{context}");
    for (nth, (proposal, best)) in found.list.iter().zip(&best).enumerate() {
        assert_honest(fitted, proposal, wanted, context);
        assert_eq!(proposal.reaches, !best.unreached, "{context}, {nth}: {proposal:?} for {best:?}");
        if best.unreached {
            let steps = (proposal.miss_d / 0.02 + 1e-7).floor() as u32;
            assert_eq!(steps, best.steps, "{context}, {nth}: {proposal:?} for {best:?}");
        }
        let cost = proposal.cost.total();
        assert!((cost - best.cost).abs() < 2e-6, "{context}, {nth}: {proposal:?} costs {cost}, not {best:?}");
    }
}

/// Something in the cells, a damaged lens and a measured one.
fn stir(fitted: &mut FittedFrame, rng: &mut ChaCha8Rng) {
    let stacked = |stock: &Stock| -> Vec<Piece> { stock.rising().map(|stocked| stocked.piece.clone()).collect() };
    let pieces = stacked(&fitted.stock);
    let any = |rng: &mut ChaCha8Rng| pieces[rng.random_range(0..pieces.len())].clone();
    fitted.stock.change(&BoxChange::Damaged { piece: any(rng), what: None }).unwrap();
    let piece = any(rng);
    let power = piece.lens.mark().unwrap().dioptres() + 0.06;
    fitted.stock.change(&BoxChange::Measured { piece, measurement: Measurement::of(power) }).unwrap();
    for _ in 0..2 {
        let cell = rng.random_range(1..=fitted.frame.cells.len() as u8);
        let piece = any(rng);
        let direction = piece.lens.is_cylinder().then(|| rng.random_range(1..=180));
        let eye = if rng.random_range(0..4) == 0 { Eye::Left } else { Eye::Right };
        // what does not go there is left out
        let _put = fitted.apply(&Move::Put { piece, eye, cell, direction });
    }
}

fn assert_random(frames: &[DeclaredFrame], seeds: std::ops::Range<u64>, spheres: usize, cylinders: usize) {
    for seed in seeds {
        let rng = &mut ChaCha8Rng::seed_from_u64(seed);
        let form = if seed % 7 == 0 { LensForm::Additive } else { LensForm::Thin };
        let mut powers = random_powers(rng, cylinders, 12);
        if seed % 5 == 0 {
            for power in &mut powers {
                power.0 = power.0.abs();
            }
            powers.sort_by(|one, other| one.0.total_cmp(&other.0));
            powers.dedup_by(|one, other| one.0 == other.0);
        }
        let stock = stock(&random_powers(rng, spheres, 32), &powers, form);
        let mut fitted = FittedFrame::new(frames[seed as usize % frames.len()].clone(), stock);
        if seed % 3 != 0 {
            stir(&mut fitted, rng);
        }
        let axis = f64::from(rng.random_range(1..=180));
        // half of the powers are what lenses of the box add up to, so that they are reached; the others mostly are not
        let wanted = if seed % 2 == 0 {
            power(quarter(rng, 40), quarter(rng, 10), axis)
        } else {
            let lenses: Vec<(f64, bool)> =
                fitted.stock.rising().map(|stocked| (stocked.power().0, stocked.piece.lens.is_cylinder())).collect();
            let mut any = |cylinder: bool| {
                let of: Vec<f64> = lenses.iter().filter(|lens| lens.1 == cylinder).map(|lens| lens.0).collect();
                of.get(rng.random_range(0..of.len().max(1))).copied().unwrap_or(0.0)
            };
            power(any(false) + any(false), any(true), axis)
        };
        assert_optimum(&fitted, wanted, 3, seed % 4 == 0, &format!("seed {seed}"));
    }
}

#[test]
fn spheres_and_one_axis_are_as_cheap_as_enumeration() {
    let frames = [
        frame(vec![cell(0.0, false, None), cell(3.5, false, None), cell(3.5, true, None)]),
        frame(vec![cell(0.0, true, Some("a")), cell(7.5, true, Some("a")), cell(3.5, false, None)]),
        frame(vec![cell(0.0, false, None), cell(40.0, true, None), cell(40.0, false, None)]),
        frame(vec![cell(0.0, false, None), cell(4.0, false, None), cell(2.0, false, None), cell(9.0, false, None)]),
    ];
    assert_random(&frames, 0..240, 4, 2);
}

#[test]
fn crossed_cylinders_are_as_cheap_as_enumeration() {
    let frames = [
        frame(vec![cell(0.0, false, None), cell(3.5, true, None), cell(3.5, true, None)]),
        frame(vec![cell(0.0, true, None), cell(3.5, false, None), cell(3.5, true, None)]),
        frame(vec![cell(0.0, true, None), cell(5.0, true, None), cell(3.5, false, None)]),
        frame(vec![cell(0.0, true, Some("a")), cell(5.0, true, Some("a")), cell(3.5, true, None)]),
        frame(vec![cell(0.0, true, Some("a")), cell(5.0, true, None), cell(3.5, true, Some("a"))]),
    ];
    assert_random(&frames, 1000..1030, 2, 2);
}

#[test]
fn three_crossed_cylinders_are_as_cheap_as_enumeration() {
    let frame = frame(vec![cell(0.0, true, None), cell(3.5, true, None), cell(3.5, true, None)]);
    let fitted = FittedFrame::new(frame, stock(&[], &[(-1.25, 2), (0.75, 1)], LensForm::Thin));
    assert_optimum(&fitted, power(0.25, -1.5, 33.0), 3, false, "three turning cells");
}

#[test]
fn two_rings_of_two_cells_each_are_as_cheap_as_enumeration() {
    let cells = || {
        vec![
            cell(0.0, true, Some("a")),
            cell(4.0, true, Some("b")),
            cell(3.5, true, Some("a")),
            cell(3.5, true, Some("b")),
        ]
    };
    for (seed, wanted) in [(1, power(-1.0, -2.0, 20.0)), (2, power(0.25, -1.25, 77.0)), (3, power(-3.0, -4.5, 140.0))] {
        let rng = &mut ChaCha8Rng::seed_from_u64(seed);
        let stock = stock(&[(-1.0, 1)], &random_powers(rng, 2, 8), LensForm::Thin);
        let fitted = FittedFrame::new(frame(cells()), stock);
        assert_optimum(&fitted, wanted, 4, false, &format!("seed {seed}"));
    }
}

#[test]
fn a_focus_between_cells_hides_no_cheaper_stack() {
    // lenses so strong and cells so far apart that light comes to a focus between them
    let frames = [
        frame(vec![cell(0.0, true, None), cell(30.0, true, None), cell(40.0, false, None)]),
        frame(vec![cell(0.0, false, None), cell(40.0, true, None), cell(25.0, true, None)]),
    ];
    for seed in 0..24 {
        let rng = &mut ChaCha8Rng::seed_from_u64(7000 + seed);
        let stock = stock(&random_powers(rng, 3, 160), &random_powers(rng, 2, 120), LensForm::Thin);
        let fitted = FittedFrame::new(frames[seed as usize % frames.len()].clone(), stock);
        let wanted = power(quarter(rng, 160), quarter(rng, 80), f64::from(rng.random_range(1..=180)));
        assert_optimum(&fitted, wanted, if seed % 6 == 0 { 3 } else { 2 }, false, &format!("seed {seed}"));
    }
}

#[test]
fn four_lenses_of_a_box_with_many_are_the_best_of_the_strongest() {
    // beyond what four lenses make: the best four are among the strongest, which enumeration can look through
    let strong: Vec<(f64, u8)> = (0..5).map(|nth| (-1.50 + 0.01 * f64::from(nth), 1)).collect();
    let all: Vec<(f64, u8)> = (0..140).map(|nth| (-1.50 + 0.01 * f64::from(nth), 1)).collect();
    let cells = || vec![cell(0.0, false, None), cell(3.5, false, None), cell(12.0, false, None), cell(3.5, true, None)];
    let wanted = power(-6.5, 0.0, 180.0);
    let fitted = FittedFrame::new(frame(cells()), stock(&strong, &[], LensForm::Thin));
    let ask = Ask { eye: Eye::Right, wanted, most: 4, plus_cylinders: false };
    let best = best_of_every_choice(&fitted, &kinds(&fitted, &[Eye::Right]), &ask);
    let best = best.into_values().reduce(|one, other| if other < one { other } else { one }).unwrap();
    let fitted = FittedFrame::new(frame(cells()), stock(&all, &[], LensForm::Thin));
    let options = SearchOptions { limit: 1, ..SearchOptions::default() };
    let found = propose(&fitted, Eye::Right, wanted, &options);
    assert!(best.unreached);
    assert!(found.is_complete(), "{:?} after {} steps", found.bound, found.steps);
    assert!((found.list[0].cost.total() - best.cost).abs() < 2e-6, "{:?} for {best:?}", found.list[0]);
}
