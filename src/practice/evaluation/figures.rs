//! The figures of an evaluation, counted over all eyes that were drawn.

use serde::Serialize;

use super::outcome::Outcome;
use crate::optics::Eye;
use crate::practice::off::ROUNDING_D;

/// The middle of a list of figures, and what nine of ten do not exceed; none of an empty list. The rank is rounded up.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Spread {
    /// The median.
    pub median: Option<f64>,
    /// The 90th percentile.
    pub p90: Option<f64>,
}

impl Spread {
    fn of(figures: impl IntoIterator<Item = f64>) -> Self {
        let mut sorted: Vec<f64> = figures.into_iter().collect();
        sorted.sort_by(f64::total_cmp);
        let at = |tenths: usize| sorted.get((sorted.len() * tenths).div_ceil(10).saturating_sub(1)).copied();
        Self { median: at(5), p90: at(9) }
    }
}

/// Eyes whose equivalent the balance moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Balance {
    /// By more than a quarter; `None` where one eye alone was examined.
    pub moved_over_quarter: Option<usize>,
}

/// Whether slips of the examiner are noticed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Slips {
    /// Share of the exams in which a slip changed the equivalent that is written by 1.50 D or more, or left nothing to write, and
    /// something did not fit at the end.
    pub caught: Option<f64>,
    /// Share of the exams without a slip in which something did not fit.
    pub false_alarms: Option<f64>,
    /// Share of the exams with a slip that changed what stood before the eye by 1.50 D or more, in which something did not fit,
    /// whatever was found then: a lens that is soon replaced does no harm and leaves no trace.
    pub caught_of_lenses: Option<f64>,
    /// Exams with a slip by how far the equivalent written is off.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub by_size: Vec<BySize>,
}

/// Exams with a slip whose equivalent is so far off.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BySize {
    /// From this on, in dioptres.
    pub from: f64,
    /// Below this, in dioptres; `None` for no limit.
    pub to: Option<f64>,
    /// How many there were.
    pub slips: usize,
    /// The share that was noticed.
    pub caught: Option<f64>,
}

/// A slip of this size may do harm, in dioptres.
const LARGE_SLIP_D: f64 = 1.50;

/// Where the sizes of slips part, in dioptres.
const SIZES_D: [f64; 4] = [0.0, 0.50, LARGE_SLIP_D, 3.00];

impl Slips {
    fn of(exams: &[&Outcome]) -> Self {
        let (slipped, clean): (Vec<&Outcome>, Vec<&Outcome>) =
            exams.iter().copied().partition(|exam| exam.slip.is_some());
        let doubted = |of: Vec<&Outcome>| share_of(of, |exam| exam.doubted);
        let between = |from: f64, to: f64| -> Vec<&Outcome> {
            // nothing written is as far off as can be
            let off = |exam: &Outcome| exam.m_off_d().map_or(f64::MAX, f64::abs) + ROUNDING_D;
            slipped.iter().copied().filter(|exam| (from..to).contains(&off(exam))).collect()
        };
        let ends = SIZES_D.into_iter().skip(1).map(Some).chain([None]);
        let by_size = SIZES_D.into_iter().zip(ends).map(|(from, to)| {
            let of = between(from, to.unwrap_or(f64::INFINITY));
            BySize { from, to, slips: of.len(), caught: doubted(of) }
        });
        let large = |exam: &&Outcome| exam.slip.is_some_and(|slip| slip.changes_m_d >= LARGE_SLIP_D - ROUNDING_D);
        let lenses = slipped.iter().copied().filter(large);
        Self {
            caught: doubted(between(LARGE_SLIP_D, f64::INFINITY)),
            false_alarms: doubted(clean),
            caught_of_lenses: doubted(lenses.collect()),
            by_size: by_size.collect(),
        }
    }

    /// Where slips are not counted.
    const fn not_counted() -> Self {
        Self { caught: None, false_alarms: None, caught_of_lenses: None, by_size: Vec::new() }
    }
}

/// Whether what a strategy says of its own error is true.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Calibration {
    /// Share of eyes whose equivalent lies within two of the standard deviations that were said; `None` for a strategy that
    /// says none.
    pub within_two_sd: Option<f64>,
}

/// Two exams of the same eye.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Retest {
    /// Mean difference of the equivalents, regardless of sign, in dioptres.
    pub mean: Option<f64>,
    /// Share of eyes whose equivalents differ by at most 0.50 D.
    pub within_half: Option<f64>,
    /// Standard deviation of the difference of the axes in degrees, of cylinders of half a dioptre and more.
    pub axis_sd: Option<f64>,
}

/// Retinoscopy of the same eyes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RetinoscopyFigures {
    /// Share of the eyes right within 0.25 D in both principal meridians.
    pub both_meridians_within_quarter: f64,
    /// Lenses that it took, an exam.
    pub lenses: Spread,
}

/// The figures; shares are of all eyes that were drawn. An eye that was not refracted is outside every limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figures {
    /// Eyes that were drawn.
    pub eyes: usize,
    /// Exams that did not come to their end.
    pub unfinished: usize,
    /// Share whose equivalent is right within 0.25 D.
    pub m_within_quarter: f64,
    /// Share whose equivalent is right within 0.50 D.
    pub m_within_half: f64,
    /// Share whose power vector is right within 0.50 D.
    pub vector_within_half: f64,
    /// Share more than 0.25 D too minus.
    pub over_minus: f64,
    /// Share more than 0.25 D too plus.
    pub over_plus: f64,
    /// Share more than 0.50 D too minus.
    pub over_minus_half: f64,
    /// Share more than 0.50 D too plus.
    pub over_plus_half: f64,
    /// The largest error of an equivalent, regardless of sign, in dioptres; `None` when no eye was refracted.
    pub worst_m: Option<f64>,
    /// Eyes off by more than 1 D.
    pub beyond_one: usize,
    /// Eyes off by more than 2 D.
    pub beyond_two: usize,
    /// Eyes for which nothing was written.
    pub not_refracted: usize,
    /// What the balance did.
    pub balance: Balance,
    /// Share of those from 45 years on who read print with what was written; `None` where one eye alone was examined.
    pub near_read: Option<f64>,
    /// Slips.
    pub slips: Slips,
    /// Looks that were asked about: an eye, with both eyes an exam.
    pub presentations: Spread,
    /// Lenses put, taken, turned and held: an eye, with both eyes an exam.
    pub moves: Spread,
    /// The cylinder that would be left, in dioptres.
    pub cylinder_vector_error: Spread,
    /// The error of the axis in degrees, of eyes that need half a dioptre of cylinder or more and got one.
    pub axis_error: Spread,
    /// What the strategy says of its own error.
    pub calibration: Calibration,
    /// The same eyes again.
    pub retest: Retest,
    /// Retinoscopy, where it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub retinoscopy: Option<RetinoscopyFigures>,
}

/// A share; `None` of nothing.
fn share_of<'a>(all: impl IntoIterator<Item = &'a Outcome>, counts: impl Fn(&Outcome) -> bool) -> Option<f64> {
    let (mut count, mut of) = (0_usize, 0_usize);
    for outcome in all {
        of += 1;
        count += usize::from(counts(outcome));
    }
    (of > 0).then(|| count as f64 / of as f64)
}

/// What is counted besides the errors of every evaluation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Counted {
    pub both: bool,
    pub slips: bool,
    pub retinoscopy: bool,
}

impl Figures {
    pub(super) fn of(outcomes: &[Outcome], counted: Counted) -> Self {
        let m_off = |test: &dyn Fn(f64) -> bool| {
            let counts = |outcome: &Outcome| outcome.m_off_d().is_some_and(test);
            share_of(outcomes, counts).unwrap_or(0.0)
        };
        let beyond = |limit: f64| {
            let off = outcomes.iter().filter_map(Outcome::m_off_d);
            off.filter(|off| off.abs() > limit + ROUNDING_D).count()
        };
        // one outcome of each exam
        let exams: Vec<&Outcome> = outcomes.iter().filter(|outcome| outcome.eye == Eye::Right).collect();
        let of_exams = |figure: &dyn Fn(&Outcome) -> usize| Spread::of(exams.iter().map(|one| figure(one) as f64));
        let near: Vec<&Outcome> = exams.iter().copied().filter(|exam| exam.near_read.is_some()).collect();
        let said = outcomes.iter().filter(|outcome| outcome.off_by_sd.is_some());
        Self {
            eyes: outcomes.len(),
            unfinished: exams.iter().filter(|exam| !exam.finished).count(),
            m_within_quarter: m_off(&|off| off.abs() <= 0.25 + ROUNDING_D),
            m_within_half: m_off(&|off| off.abs() <= 0.50 + ROUNDING_D),
            vector_within_half: share_of(outcomes, |outcome| {
                outcome.off().is_some_and(|off| off.blur_strength() <= 0.50 + ROUNDING_D)
            })
            .unwrap_or(0.0),
            over_minus: m_off(&|off| off < -0.25 - ROUNDING_D),
            over_plus: m_off(&|off| off > 0.25 + ROUNDING_D),
            over_minus_half: m_off(&|off| off < -0.50 - ROUNDING_D),
            over_plus_half: m_off(&|off| off > 0.50 + ROUNDING_D),
            worst_m: outcomes.iter().filter_map(Outcome::m_off_d).map(f64::abs).max_by(f64::total_cmp),
            beyond_one: beyond(1.0),
            beyond_two: beyond(2.0),
            not_refracted: outcomes.iter().filter(|outcome| outcome.written.is_none()).count(),
            balance: Balance {
                moved_over_quarter: counted
                    .both
                    .then(|| outcomes.iter().filter(|outcome| outcome.moved_by_balance).count()),
            },
            near_read: share_of(near, |exam| exam.near_read == Some(true)),
            slips: if counted.slips { Slips::of(&exams) } else { Slips::not_counted() },
            presentations: of_exams(&|exam| exam.effort.presentations),
            moves: of_exams(&|exam| exam.effort.moves),
            cylinder_vector_error: Spread::of(outcomes.iter().filter_map(Outcome::cylinder_off_d)),
            axis_error: Spread::of(outcomes.iter().filter_map(Outcome::axis_off_deg)),
            calibration: Calibration {
                within_two_sd: share_of(said, |outcome| outcome.off_by_sd.is_some_and(|off| off.abs() <= 2.0)),
            },
            retest: retest(outcomes),
            retinoscopy: counted.retinoscopy.then(|| RetinoscopyFigures {
                both_meridians_within_quarter: share_of(outcomes, Outcome::retinoscopy_is_right).unwrap_or(0.0),
                lenses: of_exams(&|exam| exam.retinoscopy_lenses),
            }),
        }
    }
}

/// How far two exams of the same eyes differ, of the eyes that were written twice.
fn retest(outcomes: &[Outcome]) -> Retest {
    let differences: Vec<f64> = outcomes
        .iter()
        .filter_map(|outcome| Some((outcome.again?.power().m - outcome.written?.power().m).abs()))
        .collect();
    let axes: Vec<f64> = outcomes.iter().filter_map(Outcome::axis_between_exams_deg).collect();
    let mean = |figures: &[f64]| (!figures.is_empty()).then(|| figures.iter().sum::<f64>() / figures.len() as f64);
    let squares: Vec<f64> = axes.iter().map(|degrees| degrees * degrees).collect();
    let within = differences.iter().filter(|difference| **difference <= 0.50 + ROUNDING_D).count();
    Retest {
        mean: mean(&differences),
        within_half: (!differences.is_empty()).then(|| within as f64 / differences.len() as f64),
        axis_sd: mean(&squares).map(f64::sqrt),
    }
}
