//! Practice eyes against values from outside and against their own written law.
//!
//! Each value names its source beside it; *law* means the written law of `practice`, worked out by hand. A share that is
//! measured is asserted within four times what chance alone does to it.

mod cases;
mod class;
mod drills;
mod examinee;
mod feedback;
mod figures;
mod laws;
mod lessons;
mod outside;
mod people;
mod picture;
mod seat;
mod sight;
mod standing;

use dioptray::optics::{Dioptres, Eye, Eyes, Power};
use dioptray::practice::draws::Draws;
use dioptray::practice::sight::{FAR_M, Look};
use dioptray::practice::{Examinee, Law, Person, Traits};

fn rx(sphere: f64, cylinder: f64, axis: f64) -> Power {
    Power::sphere(Dioptres(sphere)) + Power::cylinder(Dioptres(cylinder), axis)
}

fn sphere(power: f64) -> Power {
    Power::sphere(Dioptres(power))
}

/// Somebody both of whose eyes need this, by the written law.
fn person(needs: Power, age_years: u8, traits: Traits) -> Person {
    Person::new(Eyes::both(needs), age_years, traits, Law::Written)
}

/// Somebody who sees and answers without any chance.
fn steady(needs: Power, age_years: u8) -> Examinee {
    examined(person(needs, age_years, Traits::STEADY))
}

/// The person, with chance that is the same in every run.
fn examined(person: Person) -> Examinee {
    Examinee::new(person, Draws::new(2_026, 7))
}

/// The chart at 6 m through lenses.
fn far(before: Power) -> Look {
    Look::at_chart(before, FAR_M)
}

/// The log MAR of the right eye at the chart, without any chance.
fn log_mar(person: &Person, before: Power) -> f64 {
    person.eyes[Eye::Right].log_mar(&far(before), dioptray::practice::sight::Condition::default())
}

/// In which share of so many times something happens.
fn share(times: u32, mut happens: impl FnMut() -> bool) -> f64 {
    f64::from((0..times).map(|_| u32::from(happens())).sum::<u32>()) / f64::from(times)
}

/// A measured share is the expected one, within four times what chance does to it in so many times.
#[track_caller]
fn assert_share(measured: f64, expected: f64, times: u32) {
    let chance = (expected * (1.0 - expected) / f64::from(times)).sqrt();
    assert!((measured - expected).abs() <= 4.0 * chance, "{measured} is not {expected} ± {}", 4.0 * chance);
}

#[track_caller]
fn assert_near(measured: f64, expected: f64, within: f64) {
    assert!((measured - expected).abs() <= within, "{measured} is not {expected} ± {within}");
}

fn mean_and_deviation(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let values: Vec<f64> = values.collect();
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let square = values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>() / count;
    (mean, square.sqrt())
}
