//! Whether what one eye answered can belong to the power that is written for it, and if not, the slip that explains it best.
//!
//! Every line and every comparison of the exam is held against what is expected ([`expected`](super::expected)) of an eye that
//! needs this power, and of one that needs another; then against the same with a lens that for some while was not what the
//! program took it for; retinoscopy and the old glasses count beside them. Where one of these is far likelier than the power
//! written, that is said. The limits are ours, set so that steady people are hardly ever doubted.

use libm::{erf, log};
use serde::Serialize;

use super::expected::{Opening, expected};
use super::observed::{Observation, Observed, observed};
use super::prescription::SAME_POWER_D;
use super::state::State;
use crate::optics::acuity::TOP_LETTER_LOG_MAR;
use crate::optics::{Dioptres, Eye, Power, SpheroCylinder};

/// A slip of the examiner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LikelySlip {
    /// A lens of the other sign was put in.
    Sign,
    /// A lens was put before the other eye.
    WrongEye,
    /// A cylinder stood at right angles to its axis.
    AxisAcross,
    /// The working lens was left in.
    WorkingLensLeft,
    /// The lines are those of a chart at another distance.
    OtherDistance,
    /// The answers speak for another power, and no slip explains them.
    Unexplained,
}

/// What does not fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Misfit {
    /// The likeliest slip.
    pub slip: LikelySlip,
    /// The equivalent for which the answers speak, in dioptres at cell 1.
    pub speaks_for_m: f64,
}

/// An answer that has nothing to do with what is seen, as a share.
const SLIPS: f64 = 0.03;
/// The difference in logMAR that is noticed half the time, and its standard deviation (ours, no source).
const NOTICED_LOG_MAR: f64 = 0.02;
const COMPARISON_SD: f64 = 0.045;
/// A reading further off than so many standard deviations counts no more than these.
const MOST_SD: f64 = 4.0;
/// How far to either side of the power written other powers are looked at, and in which steps, in dioptres.
const AROUND_D: f64 = 6.0;
const STEP_D: f64 = 0.25;
/// A power within this of the one written is the same, in dioptres.
const SAME_D: f64 = 0.50;
/// From this difference on another power is a doubt, in dioptres.
const DOUBT_FROM_D: f64 = 1.00;
/// So much likelier, in natural logarithm, another power, or a slip, has to be. With a unit less of both ten times as many exams
/// without a slip would be doubted (3 in 100 practice eyes), and hardly another slip that did harm be noticed.
const OTHER_POWER_BY: f64 = 3.0;
const SLIP_BY: f64 = 2.5;
/// How far retinoscopy and the old glasses lie from what is needed, as standard deviations of the equivalent in dioptres (trial
/// frame against other means −0.04 ± 0.59, Ohlendorf, *Healthcare* 2016; old glasses by common sense), and how many of them
/// count at most: glasses may be old, or somebody else's.
const RETINOSCOPY_SD_D: f64 = 0.50;
const MOST_OF_RETINOSCOPY_SD: f64 = 3.0;
const OLD_GLASSES_SD_D: f64 = 0.75;
const MOST_OF_OLD_GLASSES_SD: f64 = 2.0;
/// An eye that read so many lines through lenses has a power, whatever is read with the last ones.
const LINES_THROUGH_LENSES: usize = 2;
/// No eye reads better than this, in logMAR: a line of 6/3.1, two letters short of the last of a chart.
const BEST_OF_ALL_LOG_MAR: f64 = -0.28;
/// The best lines that an eye may have, in logMAR.
const BEST_LINES: [f64; 6] = [-0.15, -0.08, 0.0, 0.1, 0.25, 0.5];

/// What is known of the eye besides its answers.
#[derive(Debug, Clone, Copy)]
struct Known {
    age_years: Option<u8>,
    drops: bool,
}

/// What shifts what stands before the eye from what the program takes it for.
fn shifts(observed: &Observed, written: Power, working_d: Option<f64>) -> [Option<(LikelySlip, Power)>; 4] {
    let cells = observed.cells.minus_form();
    let sphere = Power::sphere(Dioptres(cells.sphere));
    let astigmatism = Power { m: 0.0, ..observed.cells };
    let strong = cells.sphere.abs() > 0.2;
    [
        strong.then_some((LikelySlip::Sign, -sphere - sphere)),
        strong.then_some((LikelySlip::WrongEye, -sphere)),
        (cells.cylinder < -0.2 && written.astigmatism() > 0.1)
            .then_some((LikelySlip::AxisAcross, -astigmatism - astigmatism)),
        working_d.map(|working| (LikelySlip::WorkingLensLeft, Power::sphere(Dioptres(working)))),
    ]
}

/// How likely an answer is of an eye with this need and best line, as a natural logarithm, where `shift` stood before it besides
/// what the program took to stand there. Nothing where the law says nothing.
fn log_likelihood(observed: &Observed, need: Power, best: f64, shift: Power, known: Known) -> f64 {
    match observed.what {
        Observation::Line { before, read, pinhole } => {
            // nothing stands before an eye that reads unaided
            let shift = if observed.cells == Power::ZERO { Power::ZERO } else { shift };
            let opening = if pinhole { Opening::Pinhole } else { Opening::Pupil };
            let at = expected(best, need - before - shift, known.age_years, known.drops, opening);
            let Some(at) = at else { return 0.0 };
            let sds = match read.log_mar() {
                Some(read) => (read - at.log_mar) / at.sd,
                // none of the chart is read: as good as expected only where that lies beyond the last letter
                None => ((TOP_LETTER_LOG_MAR - at.log_mar) / at.sd).max(0.0),
            };
            let sds = sds.abs().min(MOST_SD);
            // the wider the expectation, the less an agreement says
            -0.5 * sds * sds - log(at.sd / 0.06)
        }
        Observation::Compared { from, to, better, worse, letters } => {
            let line =
                |before: Power| expected(best, need - before - shift, known.age_years, known.drops, Opening::Pupil);
            let (Some(first), Some(second)) = (line(from), line(to)) else { return 0.0 };
            let gain = first.log_mar - second.log_mar;
            let sd = COMPARISON_SD + 0.15 * gain.abs();
            let above = |limit: f64| 0.5 * (1.0 + erf((gain - limit) / (sd * std::f64::consts::SQRT_2)));
            let (clearer, poorer) = (above(NOTICED_LOG_MAR), 1.0 - above(-NOTICED_LOG_MAR));
            let (share, of) = match (better, worse, letters) {
                (true, ..) => (clearer, 3.0),
                (false, true, _) => (poorer, 3.0),
                (false, false, false) => (1.0 - clearer - poorer, 3.0),
                (false, false, true) => (1.0 - clearer, 2.0),
            };
            log((1.0 - SLIPS) * share.max(0.0) + SLIPS / of)
        }
    }
}

/// How likely what was measured of an eye without its answers is of one with this need, as a natural logarithm.
fn log_likelihood_of_measured(state: &State, eye: Eye, need: Power) -> f64 {
    let of = |found: Option<Power>, sd_d: f64, most_sd: f64| {
        let sds = found.map_or(0.0, |found| (need.m - found.m).abs() / sd_d).min(most_sd);
        -0.5 * sds * sds
    };
    let old_glasses = state.person.glasses_to_start_from(eye).map(SpheroCylinder::power);
    of(state.results.retinoscopy[eye], RETINOSCOPY_SD_D, MOST_OF_RETINOSCOPY_SD)
        + of(old_glasses, OLD_GLASSES_SD_D, MOST_OF_OLD_GLASSES_SD)
}

/// The likeliest over a slip that came at some time and lasted while the same lenses stood there.
struct Likeliest {
    without: f64,
    slip: Option<(LikelySlip, f64)>,
}

impl Likeliest {
    /// The same with what else is known of the need.
    fn and(self, measured: f64) -> Self {
        Self { without: self.without + measured, slip: self.slip.map(|(slip, likely)| (slip, likely + measured)) }
    }
}

fn likeliest(
    all: &[Observed],
    need: Power,
    best: f64,
    working_d: Option<f64>,
    written: Power,
    known: Known,
) -> Likeliest {
    let plain: Vec<f64> = all.iter().map(|observed| log_likelihood(observed, need, best, Power::ZERO, known)).collect();
    let without: f64 = plain.iter().sum();
    let mut slip: Option<(LikelySlip, f64)> = None;
    for kind in 0..4 {
        // going back from the end: what a slip from here on, for as long as its lens stands, would gain
        let mut gain = 0.0;
        let mut power: Option<Power> = None;
        for (at, observed) in all.iter().enumerate().rev() {
            let Some((name, shift)) = shifts(observed, written, working_d)[kind] else {
                (gain, power) = (0.0, None);
                continue;
            };
            if power.is_none_or(|power| power.miss(shift) > 0.05) {
                (gain, power) = (0.0, Some(shift));
            }
            gain += log_likelihood(observed, need, best, shift, known) - plain[at];
            if slip.is_none_or(|(_, most)| gain > most) {
                slip = Some((name, gain));
            }
        }
    }
    Likeliest { without, slip: slip.map(|(name, gain)| (name, without + gain)) }
}

/// What does not fit between the answers of an eye and the power that is written for it; `None` when they fit.
pub fn misfit(state: &State, eye: Eye, written: Power) -> Option<Misfit> {
    let all = observed(state, eye);
    let other_distance = all.iter().filter_map(line_of).any(|log_mar| log_mar < BEST_OF_ALL_LOG_MAR);
    if other_distance {
        return Some(Misfit { slip: LikelySlip::OtherDistance, speaks_for_m: written.m });
    }
    let known = Known { age_years: state.person.age_years, drops: state.person.drops };
    let working_d = working_d(state, eye);
    let mut fits = f64::NEG_INFINITY;
    let mut other = (f64::NEG_INFINITY, written.m);
    let mut slipped = (f64::NEG_INFINITY, LikelySlip::Unexplained, written.m);
    for off in around() {
        let need = written + Power::sphere(Dioptres(off));
        let measured = log_likelihood_of_measured(state, eye, need);
        for best in BEST_LINES {
            let likeliest = likeliest(&all, need, best, working_d, written, known).and(measured);
            if off.abs() <= SAME_D {
                fits = fits.max(likeliest.without);
            } else if likeliest.without > other.0 {
                other = (likeliest.without, need.m);
            }
            if let Some((slip, likely)) = likeliest.slip.filter(|(_, likely)| *likely > slipped.0) {
                slipped = (likely, slip, need.m);
            }
        }
    }
    if slipped.0 > fits + SLIP_BY && slipped.0 > other.0 {
        return Some(Misfit { slip: slipped.1, speaks_for_m: slipped.2 });
    }
    let differs = (other.1 - written.m).abs() >= DOUBT_FROM_D;
    (differs && other.0 > fits + OTHER_POWER_BY)
        .then_some(Misfit { slip: LikelySlip::Unexplained, speaks_for_m: other.1 })
}

/// So much likelier, in natural logarithm, one of many shifts has to be where the need is known: a dozen lenses are tried.
const SHIFT_BY: f64 = 4.0;

/// Which of these shifts of what stood before an eye, for some while, explains best what it answered, where its need and its best
/// line in logMAR are known; its place among them.
///
/// `None` where the answers fit without one, be it those of an eye with another need: one that does not let go of its accommodation
/// answers so.
pub fn shift_of_known(state: &State, eye: Eye, need: Power, best_log_mar: f64, shifts: &[Power]) -> Option<usize> {
    let known = Known { age_years: state.person.age_years, drops: state.person.drops };
    let all = observed(state, eye);
    let likely = |need: Power, shift: Power| -> Vec<f64> {
        all.iter().map(|observed| log_likelihood(observed, need, best_log_mar, shift, known)).collect()
    };
    let plain = likely(need, Power::ZERO);
    // the most over all whiles from one answer to a later one
    let gain = |shift: Power| {
        let with = likely(need, shift);
        let gains = with.iter().zip(&plain).scan(0.0_f64, |sum, (with, plain)| {
            *sum = sum.max(0.0) + with - plain;
            Some(*sum)
        });
        gains.fold(0.0, f64::max)
    };
    let gains = shifts.iter().map(|shift| gain(*shift)).enumerate();
    let (place, most) = gains.max_by(|(_, one), (_, other)| one.total_cmp(other))?;
    let without: f64 = plain.iter().sum();
    let sum = |off_d: f64| likely(need + Power::sphere(Dioptres(off_d)), Power::ZERO).iter().sum::<f64>();
    let other = around().map(|off_d| sum(off_d) - without).fold(0.0, f64::max);
    (most > SHIFT_BY && most > other).then_some(place)
}

/// By how many dioptres other powers than one are looked at.
fn around() -> impl Iterator<Item = f64> {
    let steps = (AROUND_D / STEP_D) as i32;
    (-steps..=steps).map(|step| f64::from(step) * STEP_D)
}

/// What the working lens of an eye's retinoscopy makes, in dioptres, where there was one.
fn working_d(state: &State, eye: Eye) -> Option<f64> {
    state.results.retinoscopy[eye].and(state.person.working_metres).map(|metres| 1.0 / metres)
}

fn line_of(observed: &Observed) -> Option<f64> {
    match observed.what {
        Observation::Line { read, .. } => read.log_mar(),
        Observation::Compared { .. } => None,
    }
}

/// Whether an eye for which no power is written, since it read no letter at the end, read lines through lenses before.
pub fn read_before(state: &State, eye: Eye) -> bool {
    let through_lenses = |observed: &Observed| match observed.what {
        Observation::Line { before, read, pinhole: false } => {
            read.log_mar().is_some() && before.blur_strength() > SAME_POWER_D
        }
        Observation::Line { pinhole: true, .. } | Observation::Compared { .. } => false,
    };
    state.results.unrefracted[eye].is_some()
        && observed(state, eye).iter().filter(|observed| through_lenses(observed)).count() >= LINES_THROUGH_LENSES
}

/// Whether something does not fit what is accepted for an eye.
pub fn is_doubted(state: &State, eye: Eye) -> bool {
    state.results.refraction[eye]
        .map_or_else(|| read_before(state, eye), |written| misfit(state, eye, written).is_some())
}
