//! What lines that were read tell: how much blur is left, where the sphere lies, which step is worth showing.
//!
//! Blur costs letters as [`crate::optics::blur`] has it, which holds for nobody exactly: what is told here says what to show
//! next, and is never itself a finding.

use libm::pow;

use crate::exam::prescription::SAME_POWER_D;
use crate::guide::findings::LineAt;
use crate::optics::acuity::{LAST_LINE_LOG_MAR, LETTER_LOG_MAR};
use crate::optics::blur::{MAR_OF_SQUARE_DIOPTRE, USUAL_BEST_LOG_MAR, blur_between_d};
use crate::optics::quarter::STEP_D as QUARTER_D;
use crate::optics::{Acuity, Power};

/// The steps of the search in dioptres, coarse to fine (common practice, no source); those above 2.00 for eyes that notice
/// nothing less.
pub const RUNGS_D: [f64; 6] = [8.00, 4.00, 2.00, 1.00, 0.50, 0.25];

/// A line of the chart in log MAR.
pub(in crate::guide) const LINE_LOG_MAR: f64 = 0.1;

/// Poorer than 6/12 with its last letter.
const POORER_THAN_6_12: f64 = 0.31;

/// Poorer than 6/9 with its last letter.
const POORER_THAN_6_9: f64 = 0.19;

/// From 6/18 on an eye is too poor for what a fogged line says.
const FROM_6_18: f64 = 0.47;

/// A line read within this of a power is its line: less than two quarters of sphere.
const KNOWN_WITHIN_D: f64 = 0.375;

/// A line read within this was read with the power itself: half a quarter.
const AT_WITHIN_D: f64 = 0.125;

/// The just noticeable difference in dioptres: the lower figure of the 6 m fraction over 30 (low-vision teaching notes: 20/200
/// gives 2.00 D, 20/50 gives 0.50 D; a student page of 2013 has 12.00 for 1/60).
fn just_noticed_d(acuity: Acuity) -> f64 {
    acuity.denominator_6_m().map_or(RUNGS_D[2], |denominator| denominator / 30.0)
}

/// The smallest rung that a person with this acuity can notice.
pub fn finest_noticed_d(acuity: Acuity) -> f64 {
    let noticed = just_noticed_d(acuity);
    // a hundredth of slack, so that 20/50 (0.50) is not lost to rounding
    RUNGS_D.iter().rev().copied().find(|&rung| rung + 0.01 >= noticed).unwrap_or(RUNGS_D[0])
}

/// The rung in which a search ends with this acuity: quarters at 6/12 and better, else what can be noticed.
pub fn last_rung_d(acuity: Acuity) -> f64 {
    if is_poorer_than_6_12(acuity) { finest_noticed_d(acuity) } else { QUARTER_D }
}

/// The greatest step towards minus that is shown to be kept: 0.25 from 6/9 on, 0.50 from 6/12 on.
pub fn greatest_step_d(acuity: Acuity) -> f64 {
    match acuity.log_mar() {
        Some(read) if read <= POORER_THAN_6_9 => QUARTER_D,
        Some(read) if read <= POORER_THAN_6_12 => 2.0 * QUARTER_D,
        _ => f64::INFINITY,
    }
}

/// Whether an acuity is poorer than 6/12, as one without a letter is.
pub fn is_poorer_than_6_12(acuity: Acuity) -> bool {
    acuity.log_mar().is_none_or(|read| read > POORER_THAN_6_12)
}

/// Whether an acuity is poorer than 6/6 by more than its last letter, as one without a letter is.
pub fn is_poorer_than_6_6(acuity: Acuity) -> bool {
    acuity.log_mar().is_none_or(|read| read > LETTER_LOG_MAR + 1e-9)
}

/// Whether an acuity is 6/18 or worse, as one without a letter is.
pub fn is_6_18_or_worse(acuity: Acuity) -> bool {
    acuity.log_mar().is_none_or(|read| read > FROM_6_18)
}

/// Whether the last line of the chart was read, so that no further letter can be.
pub fn is_last_line(acuity: Acuity) -> bool {
    acuity.log_mar().is_some_and(|read| read < LAST_LINE_LOG_MAR + LETTER_LOG_MAR / 2.0)
}

/// The blur that a line tells of an eye of which nothing else is known, in dioptres.
pub fn blur_of_d(acuity: Acuity) -> Option<f64> {
    acuity.log_mar().map(|read| blur_between_d(USUAL_BEST_LOG_MAR, read))
}

/// The sphere for which two lines speak that were read with two spheres and one cylinder, in dioptres. What astigmatism blurs
/// is in both and drops out; an eye that accommodates with one of them needs more plus than it says.
pub fn sphere_told_d(one: (f64, f64), other: (f64, f64)) -> f64 {
    let ((one_d, one_log_mar), (other_d, other_log_mar)) = (one, other);
    let gained = pow(10.0, one_log_mar) - pow(10.0, other_log_mar);
    let a_dioptre = 2.0 * MAR_OF_SQUARE_DIOPTRE;
    f64::midpoint(one_d, other_d) + gained / (a_dioptre * (other_d - one_d))
}

/// The plus that is owing by a line read through fog beside the line without: negative where there is too much plus.
pub fn owing_d(unfogged_log_mar: f64, fogged_log_mar: f64, fog_d: f64) -> f64 {
    fog_d - blur_between_d(unfogged_log_mar, fogged_log_mar)
}

/// Whether two powers have one cylinder.
fn with_one_cylinder(one: Power, other: Power) -> bool {
    (one - other).astigmatism() < SAME_POWER_D
}

/// The line that is known for a power: the mean of those read within less than two quarters of it with its cylinder, no letter
/// where the last of them was none.
pub fn line_known(lines: &[LineAt], power: Power) -> Option<Acuity> {
    line_within(lines, power, KNOWN_WITHIN_D)
}

/// The line that was read with a power itself: the mean where it was read more than once.
pub fn line_at(lines: &[LineAt], power: Power) -> Option<Acuity> {
    line_within(lines, power, AT_WITHIN_D)
}

fn line_within(lines: &[LineAt], power: Power, within_d: f64) -> Option<Acuity> {
    let near = |line: &&LineAt| with_one_cylinder(line.power, power) && (line.power.m - power.m).abs() < within_d;
    let last = lines.iter().rev().find(near)?.acuity;
    if last.log_mar().is_none() {
        return Some(last);
    }
    let read: Vec<f64> = lines.iter().filter(near).filter_map(|line| line.acuity.log_mar()).collect();
    if let [_] = read[..] {
        return Some(last);
    }
    let mean = read.iter().sum::<f64>() / read.len() as f64;
    Some(Acuity::of_log_mar(mean))
}

/// The lines that were read with the cylinder of a power: sphere equivalent and log MAR, oldest first.
pub fn lines_with(lines: &[LineAt], power: Power) -> impl DoubleEndedIterator<Item = (f64, Option<f64>)> + '_ {
    let with = lines.iter().filter(move |line| with_one_cylinder(line.power, power));
    with.map(|line| (line.power.m, line.acuity.log_mar()))
}

/// Gained in log MAR from one line to another: letters against none count as more than any.
pub fn gained_log_mar(before: Acuity, now: Acuity) -> f64 {
    match (before.log_mar(), now.log_mar()) {
        (Some(before), Some(now)) => before - now,
        (Some(_), None) => f64::NEG_INFINITY,
        (None, Some(_)) => f64::INFINITY,
        (None, None) => 0.0,
    }
}

/// To the next quarter.
pub fn to_quarter(dioptres: f64) -> f64 {
    (dioptres / QUARTER_D).round() * QUARTER_D
}

/// To the next quarter towards nothing.
pub fn to_lesser_quarter(dioptres: f64) -> f64 {
    (dioptres / QUARTER_D).trunc() * QUARTER_D
}

/// How many lines of the chart lie between two.
pub fn lines_between(better_log_mar: f64, poorer_log_mar: f64) -> f64 {
    (poorer_log_mar - better_log_mar) / LINE_LOG_MAR
}
