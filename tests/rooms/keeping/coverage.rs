//! What a box makes: against exhaustive enumeration, the search for stacks, and a direct sum over the table.

use dioptray::frame::shipped::{FRAMES, demo_frame};
use dioptray::frame::{DeclaredFrame, FittedFrame, parse_frame};
use dioptray::keeping::{
    Asked, Cells, Coverage, CoverageMap, Holdings, Made, MapEyes, People, Wanted, Zoom, for_the_hand, made,
};
use dioptray::kit::{BoxChange, DeclaredBox, LensForm, LensLine, Measurement, Piece, Stock};
use dioptray::optics::refraction_counts::counted;
use dioptray::optics::{Eye, Eyes};
use dioptray::stacking::{SearchOptions, propose, propose_both};
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::enumeration::{Everything, power};
use super::shipped;
use crate::plain::{box_of, four_cells};

fn makes(stock: &Stock, frame: &DeclaredFrame, wanted: &[Wanted]) -> Vec<Made> {
    made(&Holdings::of(stock), &Cells::of(frame, stock.form), wanted, 4, Asked::BothEyes)
}

/// A box of a few lenses by chance, in ones, twos and threes.
fn small_box(rng: &mut ChaCha8Rng, spheres: usize, cylinders: usize) -> Stock {
    let mut lines: Vec<LensLine> = Vec::new();
    while lines.len() < spheres + cylinders {
        let kind = if lines.len() < spheres { "sphere" } else { "cylinder" };
        let most = if kind == "sphere" { 24 } else { 8 };
        let quarters = rng.random_range(1..=most) * if rng.random_range(0..3) == 0 { 1 } else { -1 };
        let label = format!("{:+.2} {kind}", f64::from(quarters) / 4.0);
        let declared = rng.random_range(1..=3);
        let line = LensLine { lens: label.parse().unwrap(), declared, missing: 0 };
        if lines.iter().all(|of| of.lens != line.lens) {
            lines.push(line);
        }
    }
    let mut stock = Stock::of(&DeclaredBox {
        form: if rng.random_range(0..5) == 0 { LensForm::Additive } else { LensForm::Thin },
        ..box_of("Small", lines)
    });
    let first = stock.rising().next().unwrap().piece.clone();
    let power = first.lens.mark().unwrap().dioptres() + 0.06;
    stock.change(&BoxChange::Measured { piece: first, measurement: Measurement::of(power) }).unwrap();
    stock
}

fn some_wanted(rng: &mut ChaCha8Rng, how_many: usize) -> Vec<Wanted> {
    let quarter = |quarters: i32| f64::from(quarters) / 4.0;
    let any = |_| Wanted { sphere: quarter(rng.random_range(-24..=20)), cylinder: quarter(rng.random_range(-12..=0)) };
    (0..how_many).map(any).collect()
}

fn assert_exhaustive(frames: &[DeclaredFrame], seeds: std::ops::Range<u64>, spheres: usize, cylinders: usize) {
    let mut reached = 0;
    for seed in seeds {
        let rng = &mut ChaCha8Rng::seed_from_u64(seed);
        let stock = small_box(rng, spheres, cylinders);
        let frame = frames.choose(rng).unwrap();
        let wanted = some_wanted(rng, 16);
        let all = Everything::of(&stock, frame);
        for of in makes(&stock, frame, &wanted) {
            let (lenses, miss) = all.one_eye(of.wanted);
            let context = format!("seed {seed}, {}: {of:?}", frame.name);
            assert_eq!(of.lenses, lenses, "{context}, least miss {miss}");
            assert!((of.miss - miss).abs() < 1e-9, "{context}: {miss}");
            assert_eq!(of.both, all.both_eyes(of.wanted), "{context}");
            reached += usize::from(lenses.is_some());
        }
    }
    assert!(reached > 8, "only {reached} were reached: the boxes are too small to compare much");
}

fn frames() -> Vec<DeclaredFrame> {
    FRAMES.iter().map(|(file, text)| parse_frame(file, text).unwrap()).collect()
}

#[test]
fn fewest_lenses_and_least_miss_are_those_of_exhaustive_enumeration() {
    assert_exhaustive(&frames(), 0..5, 4, 2);
}

#[test]
fn behind_a_focus_too() {
    // 30 mm between the cells: strong plus lenses bring light to a focus between them
    let mut frame = four_cells();
    frame.cells.iter_mut().skip(1).for_each(|cell| cell.gap.0 = 30.0);
    let lens = |label: &str| LensLine { lens: label.parse().unwrap(), declared: 2, missing: 0 };
    let stock = Stock::of(&box_of(
        "Strong",
        ["+20.00 sphere", "+13.00 sphere", "-9.00 sphere", "+16.00 cylinder", "-6.00 cylinder"].map(lens).to_vec(),
    ));
    let all = Everything::of(&stock, &frame);
    let rng = &mut ChaCha8Rng::seed_from_u64(1);
    for of in makes(&stock, &frame, &some_wanted(rng, 30)) {
        let (lenses, miss) = all.one_eye(of.wanted);
        assert_eq!(of.lenses, lenses, "{of:?}");
        assert!((of.miss - miss).abs() < 1e-9, "{of:?}: {miss}");
    }
}

#[test]
fn shipped_boxes_make_what_the_search_for_stacks_makes() {
    let rng = &mut ChaCha8Rng::seed_from_u64(7);
    for (file, frame) in [("outreach.yaml", 0), ("full.yaml", 0), ("reduced-aperture.yaml", 0), ("outreach.yaml", 2)] {
        let (stock, frame) = (shipped(file), frames().swap_remove(frame));
        let grid = Wanted::grid();
        let wanted: Vec<Wanted> = (0..24).map(|_| *grid.choose(rng).unwrap()).collect();
        let fitted = FittedFrame::new(frame.clone(), stock.clone());
        for of in makes(&stock, &frame, &wanted) {
            let reaches = |lenses: u8| {
                let options = SearchOptions { max_lenses: Some(lenses.into()), limit: 1, ..SearchOptions::default() };
                lenses == 0 && power(of.wanted).blur_strength() <= 0.06
                    || propose(&fitted, Eye::Right, power(of.wanted), &options).list.first().is_some_and(|p| p.reaches)
            };
            let context = format!("{file}, {}: {of:?}", frame.name);
            match of.lenses {
                Some(lenses) => {
                    assert!(reaches(lenses), "{context}");
                    assert!(lenses == 0 || !reaches(lenses - 1), "{context}");
                }
                None => assert!(!reaches(4), "{context}"),
            }
            // the miss is no more than that of any stack that is proposed
            let options = SearchOptions { limit: 20, ..SearchOptions::default() };
            for proposal in propose(&fitted, Eye::Right, power(of.wanted), &options).list {
                assert!(of.miss <= proposal.miss_d + 1e-9, "{context}: {proposal:?}");
            }
        }
    }
}

#[test]
fn both_eyes_alike_are_what_the_search_for_pairs_makes() {
    let stock = shipped("outreach.yaml");
    let frame = demo_frame().unwrap();
    let fitted = FittedFrame::new(frame.clone(), stock.clone());
    // where a lens is missing, and around
    let wanted: Vec<Wanted> = [
        (-1.5, 0.0),
        (-1.5, -0.5),
        (3.25, 0.0),
        (3.25, -1.0),
        (3.25, -0.25),
        (-6.0, 0.0),
        (-6.0, -2.5),
        (-13.0, -2.25),
    ]
    .map(|(sphere, cylinder)| Wanted { sphere, cylinder })
    .to_vec();
    let made = makes(&stock, &frame, &wanted);
    assert!(made.iter().any(|of| of.both > of.lenses), "nothing here needs more lenses for both eyes: {made:?}");
    for of in made {
        let reaches = |lenses: u8| {
            let options = SearchOptions { max_lenses: Some(lenses.into()), limit: 1, ..SearchOptions::default() };
            let both = Eyes::both(power(of.wanted));
            let found = propose_both(&fitted, both, &options);
            found.list.first().is_some_and(|pair| pair.right.reaches && pair.left.reaches)
        };
        let both = of.both.unwrap();
        assert!(reaches(both) && !reaches(both - 1), "{of:?}");
    }
}

#[test]
fn shares_are_a_direct_sum_over_the_table() {
    let stock = shipped("outreach.yaml");
    let frame = demo_frame().unwrap();
    let holdings = Holdings::of(&stock);
    let coverage = Coverage::of(&holdings, &Cells::of(&frame, stock.form), &People::counted(), Asked::BothEyes);
    let (mut one_eye, mut both, mut all) = ([0_u32; 5], [0_u32; 5], 0_u32);
    // some people have more cylinder than the grid
    let beyond: Vec<Wanted> =
        People::counted().wanted().iter().copied().filter(|of| of.grid_index().is_none()).collect();
    assert!(!beyond.is_empty());
    let beyond = makes(&stock, &frame, &beyond);
    for row in counted() {
        let wanted = Wanted { sphere: row.sphere, cylinder: row.cylinder };
        let of = coverage.at(wanted).or_else(|| beyond.iter().find(|of| of.wanted == wanted)).unwrap();
        all += row.eyes;
        for (sums, lenses) in [(&mut one_eye, of.lenses), (&mut both, of.both)] {
            if let Some(lenses) = lenses {
                sums[usize::from(lenses)] += row.eyes;
            }
        }
    }
    assert_eq!(all, 31_955);
    for (sums, shares) in [(one_eye, coverage.one_eye), (both, coverage.both_eyes.unwrap())] {
        let mut so_far = sums[0];
        for (lenses, more) in sums.iter().enumerate().skip(1) {
            so_far += more;
            let share = f64::from(so_far) / f64::from(all);
            assert!((shares.at_most(lenses) - share).abs() < 1e-12, "{lenses}: {shares:?}, {share}");
        }
        let lenses: f64 = (1..=4).map(|n| f64::from(sums[n]) * n as f64).sum();
        assert!((shares.mean.unwrap() - lenses / f64::from(so_far)).abs() < 1e-12);
    }
}

#[test]
fn what_is_kept_back_is_not_used() {
    let stock = shipped("outreach.yaml");
    let cells = Cells::of(&demo_frame().unwrap(), stock.form);
    let all = Holdings::of(&stock);
    let needed = for_the_hand();
    let left = all.without(needed.iter().map(|of| (&of.lens, of.pieces)));
    let pieces = |of: &Holdings| of.list().iter().map(|of| u32::from(of.pieces)).sum::<u32>();
    // four to hold, two to fog and two working lenses; what is no sphere was never to be stacked
    assert_eq!(pieces(&all) - pieces(&left), 8);
    let one = [Wanted { sphere: 1.0, cylinder: 0.0 }, Wanted { sphere: 0.25, cylinder: 0.0 }];
    let of = made(&left, &cells, &one, 4, Asked::BothEyes);
    assert_eq!(of[0].lenses, Some(2), "+1.00 is kept back: {of:?}");
    assert_eq!((of[1].lenses, of[1].both), (Some(1), Some(2)), "one +0.25 is left: {of:?}");
}

#[test]
fn lost_and_lent_lenses_make_nothing_and_damaged_ones_do() {
    let mut stock = shipped("spheres.yaml");
    let of = |label: &str, number: u8| Piece { lens: format!("{label} sphere").parse().unwrap(), number };
    stock.change(&BoxChange::Damaged { piece: of("+2.00", 1), what: None }).unwrap();
    stock.change(&BoxChange::Lost(of("+3.00", 1))).unwrap();
    stock.change(&BoxChange::Lost(of("+3.00", 2))).unwrap();
    let wanted = [2.0, 3.0].map(|sphere| Wanted { sphere, cylinder: 0.0 });
    let of = makes(&stock, &demo_frame().unwrap(), &wanted);
    assert_eq!((of[0].lenses, of[0].both), (Some(1), Some(1)));
    assert_eq!(of[1].lenses, Some(2));
}

#[test]
fn half_steps_show_the_worst_of_four_quarter_steps() {
    let stock = shipped("outreach.yaml");
    let cells = Cells::of(&demo_frame().unwrap(), stock.form);
    let coverage = Coverage::of(&Holdings::of(&stock), &cells, &People::counted(), Asked::OneEye);
    let fine = CoverageMap::of(&coverage, None, MapEyes::One, Zoom::Quarter);
    let coarse = CoverageMap::of(&coverage, Some(&coverage), MapEyes::One, Zoom::Half);
    assert_eq!((fine.rows.len(), fine.rows[0].len()), (25, 161));
    assert_eq!((coarse.rows.len(), coarse.rows[0].len()), (13, 81));
    for (row, column) in [(0, 0), (0, 40), (3, 21), (4, 20), (7, 50), (12, 80)] {
        let places = [(0, 0), (0, 1), (1, 0), (1, 1)].map(|(down, right)| (2 * row + down, 2 * column + right));
        let there = places.iter().filter_map(|(row, column)| fine.rows.get(*row)?.get(*column));
        let worst = there.map(|figure| figure.lenses).reduce(|one, other| Some(one?.max(other?))).unwrap();
        let figure = coarse.rows[row][column];
        assert_eq!((figure.lenses, figure.beside), (worst, Some(worst)), "{row}, {column}");
    }
    let wanted = Wanted { sphere: -6.0, cylinder: -2.5 };
    let (row, column) = fine.place_of(wanted).unwrap();
    assert_eq!((fine.spheres[column], fine.cylinders[row]), (-6.0, -2.5));
    assert_eq!(fine.rows[row][column].lenses, coverage.at(wanted).unwrap().lenses);
    assert_eq!(fine.rows[row][column].text('.'), "3");
    assert_eq!(coarse.rows[12][80].text('.'), "..");
}
