//! The best bag: against exhaustion and greed, its bound, and what a loss costs.

use dioptray::frame::shipped::demo_frame;
use dioptray::keeping::{
    Asked, BagFor, Cells, Holding, Holdings, MOST_LENSES_WEIGHED, People, Shares, losses, made, pack, pack_for_share,
    shares,
};
use dioptray::kit::{BoxChange, Lens, LensForm, Piece, Stock};
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::shipped;

/// The most common prescriptions of the table.
fn common(how_many: usize) -> People {
    let people = People::counted();
    let mut rows: Vec<_> = people.wanted().iter().copied().zip(people.eyes().iter().copied()).collect();
    rows.sort_by(|one, other| other.1.total_cmp(&one.1));
    People::of(rows.into_iter().take(how_many))
}

/// The share that some lenses make, measured and not weighed.
fn measured(holdings: &Holdings, bag: BagFor<'_>) -> f64 {
    let made = made(holdings, bag.cells, bag.people.wanted(), bag.lenses, bag.asked);
    let lenses = made.iter().map(|of| match bag.asked {
        Asked::OneEye => of.lenses,
        Asked::BothEyes => of.both,
    });
    Shares::of(bag.people, lenses).at_most(bag.lenses)
}

/// Every way to take at most so many pieces, in turn.
fn every_bag(holdings: &Holdings, pieces: u8, mut each: impl FnMut(&Holdings)) {
    let list = holdings.list();
    let mut counts = vec![0_u8; list.len()];
    loop {
        if counts.iter().sum::<u8>() == pieces {
            let taken = list.iter().zip(&counts).map(|(of, pieces)| Holding { pieces: *pieces, ..of.clone() });
            each(&Holdings::gathered(holdings.form, taken));
        }
        let Some(at) = counts.iter().zip(list).position(|(count, of)| *count < of.pieces) else { return };
        counts[at] += 1;
        counts[..at].fill(0);
    }
}

fn small_box(rng: &mut ChaCha8Rng) -> Holdings {
    let mut labels: Vec<String> = (-8..=8)
        .filter(|quarters| *quarters != 0)
        .map(|quarters: i32| format!("{:+.2} sphere", f64::from(quarters) / 4.0))
        .chain(["-0.25", "-0.50", "-0.75", "+0.50"].map(|power| format!("{power} cylinder")))
        .collect();
    labels.shuffle(rng);
    // some of the cylinders at least
    labels.sort_by_key(|label| !label.ends_with("cylinder"));
    let chosen = labels[..2].iter().chain(&labels[5..9]);
    let holding = |label: &String| {
        let lens: Lens = label.parse().unwrap();
        Holding { power: lens.mark().unwrap().dioptres(), lens, pieces: rng.random_range(1..=2) }
    };
    Holdings::gathered(LensForm::Thin, chosen.map(holding).collect::<Vec<_>>())
}

#[test]
fn the_bag_is_the_best_of_all_on_small_cases_and_its_bound_says_so() {
    let cells = Cells::of(&demo_frame().unwrap(), LensForm::Thin);
    let people = common(60);
    for seed in 0..6 {
        let rng = &mut ChaCha8Rng::seed_from_u64(seed);
        let holdings = small_box(rng);
        let asked = if seed % 2 == 0 { Asked::BothEyes } else { Asked::OneEye };
        let lenses = if seed % 4 == 3 { MOST_LENSES_WEIGHED } else { 2 };
        let for_whom = BagFor { cells: &cells, people: &people, lenses, asked };
        let pieces = 3 + (seed % 3) as u8;
        let bag = pack(&holdings, &[], pieces.into(), for_whom, &mut |_| 0.0);
        let mut best: f64 = 0.0;
        every_bag(&holdings, pieces, |taken| best = best.max(measured(taken, for_whom)));
        assert!((bag.share - best).abs() < 1e-9, "seed {seed}: {} is not the best, {best}: {bag:?}", bag.share);
        assert!((bag.bound - best).abs() < 1e-6, "seed {seed}: the bound is {}, the best {best}", bag.bound);
        let taken = Holdings::gathered(holdings.form, bag.take.clone());
        assert!((measured(&taken, for_whom) - bag.share).abs() < 1e-9, "seed {seed}");
        assert!(best > 0.02, "seed {seed}: a box that makes nothing says nothing");
    }
}

/// Greed as anybody would do it: a pair at a time, whichever adds most.
fn greedy(holdings: &Holdings, pieces: u8, bag: BagFor<'_>) -> f64 {
    let mut taken = Holdings::gathered(holdings.form, []);
    for _ in 0..pieces / 2 {
        let with = |of: &Holding| {
            let there = taken.list().iter().find(|there| there.lens == of.lens && there.power == of.power);
            let has_room = there.map_or(0, |there| there.pieces) + 2 <= of.pieces;
            has_room.then(|| taken.with([Holding { pieces: 2, ..of.clone() }]))
        };
        let all = holdings.list().iter().filter_map(with).map(|with| (measured(&with, bag), with));
        let Some((_, best)) = all.max_by(|one, other| one.0.total_cmp(&other.0)) else { break };
        taken = best;
    }
    measured(&taken, bag)
}

#[test]
fn a_bag_is_never_worse_than_greed_nor_better_than_its_bound() {
    let stock = shipped("outreach.yaml");
    let holdings = Holdings::of(&stock);
    let cells = Cells::of(&demo_frame().unwrap(), stock.form);
    let people = common(50);
    for (pieces, asked) in [(8, Asked::BothEyes), (12, Asked::OneEye)] {
        let bag_for = BagFor { cells: &cells, people: &people, lenses: 2, asked };
        // no time at all: greed and the bound at the root
        let bag = pack(&holdings, &[], pieces.into(), bag_for, &mut |_| 1.0);
        let greedy = greedy(&holdings, pieces, bag_for);
        assert!(bag.share >= greedy - 1e-9, "{pieces}: {} is less than {greedy}", bag.share);
        assert!(bag.bound >= bag.share && bag.bound < 1.3 * bag.share, "{pieces}: {bag:?}");
        assert_eq!(bag.take.iter().map(|of| of.pieces).sum::<u8>(), pieces);
    }
}

#[test]
fn what_is_always_in_it_is_in_it_and_counts() {
    let stock = shipped("outreach.yaml");
    let holdings = Holdings::of(&stock);
    let cells = Cells::of(&demo_frame().unwrap(), stock.form);
    let people = common(50);
    let bag_for = BagFor { cells: &cells, people: &people, lenses: 2, asked: Asked::BothEyes };
    let lens = |label: &str| label.parse::<Lens>().unwrap();
    let always = [(lens("+8.00 sphere"), 2), (lens("-6.00 sphere"), 1), (lens("+3.25 sphere"), 2)];
    let bag = pack(&holdings, &always, 10, bag_for, &mut |_| 1.0);
    let taken = |label: &str| bag.take.iter().filter(|of| of.lens == lens(label)).map(|of| of.pieces).sum::<u8>();
    assert_eq!(bag.take.iter().map(|of| of.pieces).sum::<u8>(), 10);
    // of +3.25 the box has one; of -6.00 the one that is true is taken, not the one measured -5.87
    assert_eq!((taken("+8.00 sphere"), taken("-6.00 sphere"), taken("+3.25 sphere")), (2, 1, 1));
    assert_eq!(bag.take.iter().find(|of| of.lens == lens("-6.00 sphere")).unwrap().power, -6.0);
    let free = pack(&holdings, &[], 10, bag_for, &mut |_| 1.0);
    assert!(free.share > bag.share);
}

#[test]
fn the_smallest_bag_for_a_share_reaches_it_and_no_smaller_one_is_found() {
    let cells = Cells::of(&demo_frame().unwrap(), LensForm::Thin);
    let people = common(60);
    let holdings = small_box(&mut ChaCha8Rng::seed_from_u64(2));
    let bag_for = BagFor { cells: &cells, people: &people, lenses: 2, asked: Asked::BothEyes };
    let whole = measured(&holdings, bag_for);
    let wanted = 0.6 * whole;
    let (bag, fewer) = pack_for_share(&holdings, &[], wanted, bag_for, &mut |_| 0.0).unwrap();
    let pieces = bag.take.iter().map(|of| of.pieces).sum::<u8>();
    assert!(bag.share >= wanted && measured(&Holdings::gathered(holdings.form, bag.take), bag_for) >= wanted - 1e-9);
    let mut best: f64 = 0.0;
    every_bag(&holdings, pieces - 1, |taken| best = best.max(measured(taken, bag_for)));
    assert!(best < wanted && fewer >= best - 1e-9 && fewer < wanted, "{best}, {fewer}, {wanted}");
    assert!(pack_for_share(&holdings, &[], whole + 0.01, bag_for, &mut |_| 0.0).is_none());
}

#[test]
fn what_a_loss_costs_is_what_is_measured_without_the_lens() {
    let mut stock: Stock = shipped("outreach.yaml");
    let cells = Cells::of(&demo_frame().unwrap(), stock.form);
    let people = People::counted();
    let bag_for = BagFor { cells: &cells, people: &people, lenses: 2, asked: Asked::BothEyes };
    let lose = losses(&Holdings::of(&stock), bag_for);
    assert!(lose.windows(2).all(|pair| pair[0].share >= pair[1].share));
    let before = shares(&Holdings::of(&stock), &cells, &people).1.at_most(2);
    let dearest = lose[0].clone();
    stock.change(&BoxChange::Lost(Piece { lens: dearest.lens.clone(), number: 1 })).unwrap();
    let after = shares(&Holdings::of(&stock), &cells, &people).1.at_most(2);
    assert!((before - after - dearest.share).abs() < 1e-9, "{dearest:?}: {before}, {after}");
    assert!(dearest.share > 0.05, "{dearest:?}");
}
