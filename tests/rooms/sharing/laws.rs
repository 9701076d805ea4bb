//! The laws, over many schedules by chance. A schedule that fails is named by its seed.

use std::env;
use std::ops::Range;

use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::reference::Fact;
use super::world::{PIECES, World};

/// In the gate.
const SCHEDULES: u64 = 10_000;
/// In a run of its own, and after how many it is said how far it has come.
const MANY_SCHEDULES: u64 = 1_000_000;
const SAID_AFTER: u64 = 50_000;

/// What came of the schedules, so that nothing is proven by schedules in which nothing happens.
#[derive(Debug, Clone, Copy, Default)]
struct Seen {
    entries: usize,
    in_two_places: usize,
    settled_again: usize,
    handed: usize,
    outside: usize,
}

impl Seen {
    fn and(self, other: Self) -> Self {
        Self {
            entries: self.entries + other.entries,
            in_two_places: self.in_two_places + other.in_two_places,
            settled_again: self.settled_again + other.settled_again,
            handed: self.handed + other.handed,
            outside: self.outside + other.outside,
        }
    }
}

fn check(seed: u64, seen: &mut Seen) {
    let mut world = World::of_seed(seed);
    for _ in 0..2 {
        world.run(14);
        for seat in 0..world.seats.len() {
            as_the_reference_says(seed, &mut world, seat, seen);
        }
    }
    world.exchange_all();
    let state = world.state_at(0);
    for seat in 0..world.seats.len() {
        assert_eq!(world.count_at(seat), world.reference.count(), "seed {seed}: all of it, once, at seat {seat}");
        assert_eq!(world.state_at(seat), state, "seed {seed}: one state, also at seat {seat}");
    }
    as_the_reference_says(seed, &mut world, 0, seen);
    // once more, and nothing is new
    let taken_in: Vec<usize> = world.seats.iter().map(|seat| seat.taken_in).collect();
    world.exchange_all();
    assert_eq!(taken_in, world.seats.iter().map(|seat| seat.taken_in).collect::<Vec<_>>(), "seed {seed}");
    seen.entries += world.reference.count();
}

/// A piece is in two places exactly when neither seat knew of the other, whatever the order of what a seat has.
fn as_the_reference_says(seed: u64, world: &mut World, seat: usize, seen: &mut Seen) {
    let names = world.seats.iter().map(|seat| seat.name.to_string()).collect();
    world.reference.name_seats(names);
    let state = world.state_at(seat);
    let shuffled = world.shuffled(seat);
    assert_eq!(world.state_of(&shuffled), state, "seed {seed}: any order gives one state at seat {seat}");
    let handed: Vec<String> = state.handed_to().map(ToString::to_string).collect();
    assert_eq!(handed, world.reference.handed_to(seat), "seed {seed}: handed over at seat {seat}");
    seen.handed += usize::from(!handed.is_empty());
    for piece in PIECES {
        let newest = World::newest_at(&state, piece);
        let must_be = world.reference.newest_at(seat, piece);
        assert_eq!(newest, must_be, "seed {seed}: piece {piece} at seat {seat}");
        let outside = World::outside_at(&state, piece);
        assert_eq!(outside, world.reference.outside_at(seat, piece), "seed {seed}: piece {piece} at seat {seat}");
        seen.outside += outside.len();
        match newest.get(&Fact::Place).map(Vec::len) {
            Some(2..) => seen.in_two_places += 1,
            Some(1) => seen.settled_again += 1,
            _ => {}
        }
    }
}

/// Schedules are independent of each other: every processor has some.
fn run(seeds: Range<u64>) {
    let mut all = Seen::default();
    let mut from = seeds.start;
    while from < seeds.end {
        let to = seeds.end.min(from + SAID_AFTER);
        let seen = (from..to).into_par_iter().fold(Seen::default, |mut seen, seed| {
            check(seed, &mut seen);
            seen
        });
        all = all.and(seen.reduce(Seen::default, Seen::and));
        println!("seeds {} to {}: {all:?}", seeds.start, to - 1);
        from = to;
    }
    let many = usize::try_from((seeds.end - seeds.start) / 10).unwrap_or(usize::MAX);
    let Seen { entries, in_two_places, settled_again, handed, outside } = all;
    for (what, count) in [
        ("entries", entries),
        ("pieces in two places", in_two_places),
        ("pieces in one", settled_again),
        ("boxes handed over", handed),
        ("changes of others meanwhile", outside),
    ] {
        assert!(count > many, "{what}: only {count}");
    }
}

/// A number that a longer run is asked for.
fn asked(name: &str, otherwise: u64) -> u64 {
    env::var(name).map_or(otherwise, |number| number.parse().expect("a number"))
}

/// What was confirmed arrives once; any order gives one state; in two places exactly when neither knew of the other.
#[test]
fn seats_that_carry_parcels_come_to_one_state_and_know_what_is_in_two_places() {
    run(0..SCHEDULES);
}

#[test]
#[ignore = "a million schedules: `.ci/long seats`"]
fn a_million_schedules() {
    let from = asked("DIOPTRAY_SCHEDULES_FROM", SCHEDULES);
    run(from..from + asked("DIOPTRAY_SCHEDULES", MANY_SCHEDULES));
}

/// The chance of the schedules is the same on every machine.
#[test]
fn a_seed_gives_the_same_schedule_again() {
    let state = |seed| {
        let mut world = World::of_seed(seed);
        world.run(40);
        (world.state_at(0), world.reference.count())
    };
    assert_eq!(state(7), state(7));
    assert_ne!(ChaCha8Rng::seed_from_u64(7), ChaCha8Rng::seed_from_u64(8));
}
