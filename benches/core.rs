//! Speed of the core: the net of a stack, the search for stacks on a full box and a four-cell frame, a picture of what a
//! practice eye sees.
//!
//! Prints percentiles over many wanted powers, which a mean over one input would hide. `cargo bench --bench core`.
#![expect(clippy::unwrap_used, reason = "a benchmark that cannot set itself up must stop")]

use std::hint::black_box;
use std::time::{Duration, Instant};

use dioptray::frame::FittedFrame;
use dioptray::frame::shipped::demo_frame;
use dioptray::kit::shipped::BOXES;
use dioptray::kit::{Stock, parse_box};
use dioptray::optics::blur::USUAL_BEST_LOG_MAR;
use dioptray::optics::vergence::net;
use dioptray::optics::{Eye, Eyes, Millimetres, Power, SpheroCylinder};
use dioptray::practice::Law;
use dioptray::practice::picture::raster::Shown;
use dioptray::practice::picture::readable::patch_of_look;
use dioptray::practice::picture::reflex::{STREAK_WIDTHS_MM, Streak, reflex};
use dioptray::practice::picture::targets::Optotype;
use dioptray::practice::picture::through::{fan, optotype};
use dioptray::practice::sight::{Condition, FAR_M, Look, PracticeEye};
use dioptray::stacking::{SearchOptions, Stacker};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn main() {
    let fitted = full();
    net_of_five_lenses();
    pictures();
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let mut common = |_| power(&mut rng, 24, 12);
    let wanted: Vec<Power> = (0..2000).map(&mut common).collect();
    let mut rng = ChaCha8Rng::seed_from_u64(2);
    let mut strong = |_| power(&mut rng, 80, 24);
    let extreme: Vec<Power> = (0..2000).map(&mut strong).collect();
    let mut rng = ChaCha8Rng::seed_from_u64(3);
    let beyond: Vec<Power> = (0..200)
        .map(|_| {
            let cylinder = -13.0 - 0.25 * f64::from(rng.random_range(0..24));
            let axis = f64::from(rng.random_range(1..=180));
            SpheroCylinder { sphere: quarter(&mut rng, 40), cylinder, axis }.power()
        })
        .collect();
    for limit in [1, 5] {
        let options = SearchOptions { limit, ..SearchOptions::default() };
        let one = |stacker: &Stacker<'_>, power: Power| stacker.propose(Eye::Right, power, &options).list[0].reaches;
        let stacker = Stacker::for_eye(&fitted, Eye::Right);
        println!("limit {limit}");
        report("  one eye, to ±6 D and −3 D cylinder", wanted.iter().map(|&p| time(|| one(&stacker, p))));
        report("  one eye, to ±20 D and −6 D cylinder", extreme.iter().map(|&p| time(|| one(&stacker, p))));
        report(
            "  one eye, with the box gathered again",
            wanted.iter().map(|&p| time(|| one(&Stacker::for_eye(&fitted, Eye::Right), p))),
        );
        report("  one eye, beyond all cylinders", beyond.iter().map(|&p| time(|| one(&stacker, p))));
        let stacker = Stacker::for_both_eyes(&fitted);
        let both = |pair: &[Power]| stacker.propose_both(Eyes::new(pair[0], pair[1]), &options).list[0].right.reaches;
        report("  both eyes, to ±6 D and −3 D cylinder", wanted.chunks(2).map(|pair| time(|| both(pair))));
        report("  both eyes, the same power", wanted.iter().map(|&p| time(|| both(&[p, p]))));
    }
}

fn net_of_five_lenses() {
    let gaps = [Millimetres(3.5); 4];
    let mut stack = [Power::ZERO; 5];
    for (index, power) in stack.iter_mut().enumerate() {
        *power = SpheroCylinder { sphere: 1.0 + index as f64, cylinder: -0.5, axis: 20.0 * index as f64 }.power();
    }
    let rounds = 1_000_000_u32;
    let start = Instant::now();
    for _ in 0..rounds {
        black_box(net(black_box(&stack), black_box(&gaps)));
    }
    println!("net of five lenses: {:.0} ns", start.elapsed().as_nanos() as f64 / f64::from(rounds));
}

/// A frame of the fan, the letters and the pupil: the blur of the moment found, then drawn as half blocks in terminals of 80x24,
/// 120x36 and 200x60, and in the pixels of one that has them.
fn pictures() {
    let needs: Vec<Power> = (0..60)
        .map(|number| {
            let of_number = |step: f64, most: f64| (f64::from(number) * step).rem_euclid(most);
            let (sphere, cylinder) = (of_number(0.25, 3.0) - 2.0, -of_number(0.5, 3.0));
            SpheroCylinder { sphere, cylinder, axis: 1.0 + of_number(17.0, 180.0) }.power()
        })
        .collect();
    let seen = |needs: Power| {
        let eye = PracticeEye {
            needs,
            best_log_mar: USUAL_BEST_LOG_MAR,
            pupil: 1.0,
            accommodation: 1.0,
            age_years: 60.0,
            law: Law::Written,
        };
        patch_of_look(&eye, &Look::at_chart(Power::ZERO, FAR_M), Condition::default())
    };
    for (columns, rows) in [(36, 28), (60, 48), (110, 90), (300, 300)] {
        let of_fan = |power: Power| !fan(columns, rows, Shown::Pixels, &seen(power)).row(0).is_empty();
        report(&format!("picture of the fan, {columns} by {rows} pixels"), needs.iter().map(|&p| time(|| of_fan(p))));
    }
    let ring = Optotype::Ring { gap_deg: 0.0 };
    let of_rings = |power: Power| {
        let patch = seen(power);
        (0..10).all(|_| !optotype(20, 16, Shown::Pixels, black_box(ring), 2.0, &patch).row(0).is_empty())
    };
    report("picture of two lines of five rings", needs.iter().map(|&p| time(|| of_rings(p))));
    let streak = Streak { lies_deg: 90.0, swept_mm: 1.0, width_mm: STREAK_WIDTHS_MM[0] };
    let of_pupil = |power: Power| !reflex(60, 48, power, streak, 0.67).row(0).is_empty();
    report("picture of the pupil, 60 by 48 pixels", needs.iter().map(|&p| time(|| of_pupil(p))));
}

fn time(work: impl FnOnce() -> bool) -> (Duration, bool) {
    let start = Instant::now();
    let reached = black_box(work());
    (start.elapsed(), reached)
}

fn report(what: &str, timed: impl Iterator<Item = (Duration, bool)>) {
    let (mut times, mut reached) = (Vec::new(), 0);
    for (time, reaches) in timed {
        times.push(time.as_secs_f64() * 1e6);
        reached += usize::from(reaches);
    }
    times.sort_by(f64::total_cmp);
    let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize];
    println!(
        "{what:42} median {:8.1} µs   99 % {:8.1} µs   most {:8.1} µs   reached {reached} of {}",
        at(0.5),
        at(0.99),
        at(1.0),
        times.len()
    );
}

fn quarter(rng: &mut ChaCha8Rng, most: i32) -> f64 {
    f64::from(rng.random_range(-most..=most)) * 0.25
}

fn power(rng: &mut ChaCha8Rng, sphere: i32, cylinder: i32) -> Power {
    let (sphere, cylinder) = (quarter(rng, sphere), -quarter(rng, cylinder).abs());
    SpheroCylinder { sphere, cylinder, axis: f64::from(rng.random_range(1..=180)) }.power()
}

/// The shipped full box beside the shipped four-cell frame.
fn full() -> FittedFrame {
    let (file, text) = BOXES.iter().find(|(file, _)| file.ends_with("full.yaml")).unwrap();
    FittedFrame::new(demo_frame().unwrap(), Stock::of(&parse_box(file, text).unwrap()))
}
