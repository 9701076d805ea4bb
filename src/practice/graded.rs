//! People drawn by how hard they are to refract.

use super::care::Care;
use super::drills::Level;
use super::law::Law;
use super::people::Person;
use crate::exam::Complaint;
use crate::optics::{Eye, Power};

/// People of one seed that are looked through for one of a level: each level has one in some hundreds at the rarest.
const LOOKED_THROUGH: u64 = 20_000;

/// The best log MAR of an eye that sees poorly whatever stands before it: 6/24, as of an amblyope. Ours, no source.
const POOR_LOG_MAR: f64 = 0.602_059_991_327_962_4;

/// Of the hardest, one person in so many has an eye that sees poorly.
const ONE_IN_POOR: u64 = 4;

/// The person of this number under a seed, as hard to refract as the level says.
///
/// - 1: spheres from 0.75 to 4 D with hardly any cylinder, eyes alike, below 40 years;
/// - 2: anybody who has something to complain of;
/// - 3: cylinders of 1 D and more that lie obliquely, eyes that differ by more than 1 D, or both sphere and addition to find
///   with cylinder; in one of four an eye that reads no better than 6/24.
pub fn graded(level: Level, seed: u64, number: u64, care: Care, law: Law) -> Person {
    let first = number * LOOKED_THROUGH;
    let people = (first..first + LOOKED_THROUGH).map(|nth| Person::drawn(seed, nth, care, law));
    let mut person =
        people.clone().find(|person| is_of(level, person)).unwrap_or_else(|| Person::drawn(seed, first, care, law));
    let poor = level == Level::Three && (seed ^ number).is_multiple_of(ONE_IN_POOR);
    if poor {
        let eye = if ((seed ^ number) / ONE_IN_POOR).is_multiple_of(2) { Eye::Right } else { Eye::Left };
        person.eyes[eye].best_log_mar = POOR_LOG_MAR;
    }
    person
}

fn is_of(level: Level, person: &Person) -> bool {
    let needs = person.needs();
    let all = |holds: fn(Power) -> bool| needs.iter().all(|(_, need)| holds(*need));
    let any = |holds: fn(Power) -> bool| needs.iter().any(|(_, need)| holds(*need));
    let differ_d = (needs.right.m - needs.left.m).abs();
    match level {
        Level::One => {
            all(|need| (0.75..=4.0).contains(&need.m.abs()) && cylinder_d(need) < 0.375)
                && differ_d < 0.75
                && person.age_years < 40
        }
        Level::Two => person.complaint != Complaint::Nothing,
        Level::Three => {
            let oblique = any(|need| cylinder_d(need) >= 1.0 && need.j45.abs() > need.j0.abs());
            let presbyope = person.age_years > 45 && any(|need| cylinder_d(need) >= 1.0 && need.m.abs() >= 1.0);
            person.complaint != Complaint::Nothing && (oblique || differ_d > 1.0 || presbyope)
        }
    }
}

/// The cylinder of a power in dioptres, without a sign.
fn cylinder_d(power: Power) -> f64 {
    2.0 * power.astigmatism()
}
