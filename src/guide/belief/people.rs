//! What the belief holds true of people: how blur costs letters, how an eye accommodates, how a line is read and two looks are
//! compared. Written for people and not for any one law: of what nobody knows beforehand several ways are held possible.

use super::numbers::{bell, exp, exp10, log10, share_below};

/// How blur costs letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Blur {
    /// The minimum angle of resolution grows by the square of the blur (Blendowske 2015: MAR ∝ 1 + b²).
    Square,
    /// Blur and best acuity add as squares: far from the best the angle grows with the blur.
    Linear,
    /// Blur below a quarter of a dioptre costs nothing (*Vision Res* 2005;45:1967: 0.28 to 0.33 D are noticed).
    DeadZone,
}

/// How an eye accommodates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Accommodation {
    /// Less and less of what is missing, up to a short objective amplitude (Anderson, *IOVS* 2008;49:2919, four fifths of it).
    Saturating,
    /// Nearly all that is missing, up to Hofstetter's mean, 18.5 − 0.30 age.
    Ample,
}

/// A way in which people differ for which there is no figure in between.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kind {
    /// How blur costs letters.
    pub blur: Blur,
    /// How the eye accommodates.
    pub accommodation: Accommodation,
}

/// Every kind with how many of a hundred people it is thought to be of: by common sense, no source.
pub const KINDS: [(Kind, f32); 6] = [
    (Kind { blur: Blur::Square, accommodation: Accommodation::Saturating }, 35.0),
    (Kind { blur: Blur::Square, accommodation: Accommodation::Ample }, 15.0),
    (Kind { blur: Blur::Linear, accommodation: Accommodation::Saturating }, 18.0),
    (Kind { blur: Blur::Linear, accommodation: Accommodation::Ample }, 7.0),
    (Kind { blur: Blur::DeadZone, accommodation: Accommodation::Saturating }, 18.0),
    (Kind { blur: Blur::DeadZone, accommodation: Accommodation::Ample }, 7.0),
];

/// What a dioptre of blur adds to the minimum angle of resolution of a usual pupil, in minutes of arc: so that 6/5 reads 6/12
/// through +1.00 (*Optometry in Practice* 2004;5(4)), by each way in which blur can cost letters.
const SQUARE_MAR: f32 = 1.17;
const LINEAR_SQUARE_MAR: f32 = 3.3;
const DEAD_ZONE_MAR: f32 = 1.17;
const DEAD_ZONE_D: f32 = 0.25;

/// How much of the blur a pinhole leaves, and what it takes of the best acuity: ours, no source.
const BLUR_THROUGH_PINHOLE: f32 = 0.32;
const MAR_THROUGH_PINHOLE: f32 = 1.15;

/// Up to which age a young eye may not relax at once, up to which more minus may look clearer only for its blackness, and from
/// which on nothing that is asked with minus makes an eye accommodate.
const TENSE_BELOW_YEARS: f32 = 42.0;
const BLACKER_BELOW_YEARS: f32 = 45.0;
const OLD_FROM_YEARS: f32 = 45.0;

/// From this age on too much minus is hardly accommodated for, and a fog says nothing about it.
const NO_CHECK_FROM_YEARS: f32 = 55.0;

/// What is left of the amplitude under drops, in dioptres.
const UNDER_DROPS_D: f32 = 0.05;

/// What is known beforehand of how somebody accommodates, and of how answers come to be kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beforehand {
    /// Age in years.
    pub age_years: f32,
    /// Whether drops keep the eyes from accommodating.
    pub under_drops: bool,
    /// How many answers have nothing to do with what is seen: a share of all.
    pub slips: f32,
}

impl Beforehand {
    /// The amplitude of an eye by its kind, in dioptres, before the person's own share of it.
    pub fn amplitude_d(self, accommodation: Accommodation) -> f32 {
        match accommodation {
            _ if self.under_drops => UNDER_DROPS_D,
            Accommodation::Saturating => {
                let years = self.age_years - 3.0;
                (0.80 * (7.33 - 0.0035 * years * years)).max(0.95)
            }
            Accommodation::Ample => (18.5 - 0.30 * self.age_years).max(0.05),
        }
    }

    /// Whether an eye may not relax at once.
    pub fn can_be_tense(self) -> bool {
        !self.under_drops && self.age_years < TENSE_BELOW_YEARS
    }

    /// Whether more minus may look clearer only because it looks blacker.
    pub fn can_prefer_blacker(self) -> bool {
        self.age_years < BLACKER_BELOW_YEARS
    }

    /// Whether a comparison with more minus is as good as any other.
    pub fn is_steady_with_minus(self) -> bool {
        self.under_drops || self.age_years >= OLD_FROM_YEARS
    }

    /// Whether too much minus could go unnoticed but for a fog.
    pub fn hides_minus(self) -> bool {
        !self.under_drops && self.age_years < NO_CHECK_FROM_YEARS
    }
}

/// One person who is possible, as far as an eye's sight goes.
#[derive(Debug, Clone, Copy)]
pub struct Traits {
    /// The best minimum angle of resolution in minutes of arc.
    pub best_mar: f32,
    /// How much more blur the pupil makes than a usual one, squared.
    pub pupil_squared: f32,
    /// The amplitude of accommodation in dioptres.
    pub amplitude_d: f32,
}

/// How much is accommodated where so much plus is missing, in dioptres.
#[inline]
pub fn spends_d(accommodation: Accommodation, missing_d: f32, amplitude_d: f32) -> f32 {
    match accommodation {
        Accommodation::Saturating => saturating_d(missing_d, amplitude_d),
        Accommodation::Ample => ample_d(missing_d, amplitude_d),
    }
}

#[inline]
fn saturating_d(missing_d: f32, amplitude_d: f32) -> f32 {
    amplitude_d * (1.0 - exp(-missing_d.max(0.0) / amplitude_d))
}

#[inline]
fn ample_d(missing_d: f32, amplitude_d: f32) -> f32 {
    (0.9 * missing_d.max(0.0)).min(amplitude_d)
}

#[inline]
fn square_mar(best: f32, pupil_squared: f32, square: f32) -> f32 {
    best + SQUARE_MAR * pupil_squared * square
}

#[inline]
fn linear_mar(best: f32, pupil_squared: f32, square: f32) -> f32 {
    (best * best + LINEAR_SQUARE_MAR * pupil_squared * square).sqrt()
}

#[inline]
fn dead_zone_mar(best: f32, pupil_squared: f32, square: f32) -> f32 {
    let beyond = ((square.sqrt() - DEAD_ZONE_D) / (1.0 - DEAD_ZONE_D)).max(0.0);
    best + DEAD_ZONE_MAR * pupil_squared * beyond * beyond
}

/// Many people of one kind, each part by itself; all of the same length.
#[derive(Debug, Clone, Copy)]
pub struct People<'a> {
    /// What is missing of the sphere, and the square of what is missing of the cylinder.
    pub missing_d: &'a [f32],
    /// The square of what is missing of the cylinder.
    pub square_j: &'a [f32],
    /// As in [`Traits`].
    pub best_mar: &'a [f32],
    /// As in [`Traits`].
    pub pupil_squared: &'a [f32],
    /// As in [`Traits`].
    pub amplitude_d: &'a [f32],
}

/// The log MAR of one look of each of them.
pub fn log_mar(kind: Kind, of: People<'_>, pinhole: bool, seen: &mut [f32]) {
    use Accommodation::{Ample, Saturating};
    // each combination is a loop of its own, without a choice in it
    match (kind.blur, kind.accommodation) {
        (Blur::Square, Saturating) => each(of, pinhole, seen, saturating_d, square_mar),
        (Blur::Square, Ample) => each(of, pinhole, seen, ample_d, square_mar),
        (Blur::Linear, Saturating) => each(of, pinhole, seen, saturating_d, linear_mar),
        (Blur::Linear, Ample) => each(of, pinhole, seen, ample_d, linear_mar),
        (Blur::DeadZone, Saturating) => each(of, pinhole, seen, saturating_d, dead_zone_mar),
        (Blur::DeadZone, Ample) => each(of, pinhole, seen, ample_d, dead_zone_mar),
    }
}

#[inline]
fn each(
    of: People<'_>,
    pinhole: bool,
    seen: &mut [f32],
    spends_d: impl Fn(f32, f32) -> f32,
    mar: impl Fn(f32, f32, f32) -> f32,
) {
    let (of_blur, of_best) =
        if pinhole { (BLUR_THROUGH_PINHOLE * BLUR_THROUGH_PINHOLE, MAR_THROUGH_PINHOLE) } else { (1.0, 1.0) };
    let count = seen.len();
    let (missing_d, square_j) = (&of.missing_d[..count], &of.square_j[..count]);
    let (best_mar, pupil_squared) = (&of.best_mar[..count], &of.pupil_squared[..count]);
    let amplitude_d = &of.amplitude_d[..count];
    for nth in 0..count {
        let left_d = missing_d[nth] - spends_d(missing_d[nth], amplitude_d[nth]);
        let square = of_blur * (left_d * left_d + square_j[nth]);
        seen[nth] = log10(mar(of_best * best_mar[nth], pupil_squared[nth], square));
    }
}

/// How far a line that is read lies from what is seen, in log MAR: standard deviation at 6/15 and better, and what poorer
/// acuity adds, where the ways in which blur costs letters differ most.
const READING_SD: f32 = 0.055;
const READING_SD_POORER: f32 = 0.07;
const POORER_FROM_LOG_MAR: f32 = 0.40;

/// Some readings are guesses, or of another line.
const READING_SLIPS: f32 = 0.045;
const READING_SLIP_SD: f32 = 0.25;

#[inline]
fn reading_sd(log_mar: f32) -> f32 {
    READING_SD + READING_SD_POORER * (log_mar - POORER_FROM_LOG_MAR).max(0.0)
}

/// How likely it is that this line is read by somebody who sees so much.
#[inline]
pub fn reads(seen_log_mar: f32, read_log_mar: f32) -> f32 {
    let off = read_log_mar - seen_log_mar;
    let sd = reading_sd(seen_log_mar);
    (1.0 - READING_SLIPS) * bell(off / sd) / sd + READING_SLIPS * bell(off / READING_SLIP_SD) / READING_SLIP_SD
}

/// The same for looking ahead: without what is only a slip, up to a factor.
#[inline]
pub fn reads_about(seen_log_mar: f32, line_log_mar: f32) -> f32 {
    0.002 + bell((line_log_mar - seen_log_mar) / (1.15 * reading_sd(seen_log_mar)))
}

/// How likely it is that no letter is read of a chart with this top line by somebody who sees so much.
#[inline]
pub fn reads_no_letter(seen_log_mar: f32, top_log_mar: f32) -> f32 {
    let sd = 1.5 * reading_sd(top_log_mar);
    0.02 + 0.96 * share_below((seen_log_mar - top_log_mar) / sd)
}

/// How a comparison is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Said {
    /// The second is clearer.
    Clearer,
    /// No difference.
    Same,
    /// The second is worse.
    Worse,
}

/// A difference that is noticed at 6/6 and better, in log MAR (one letter), and the standard deviation of a comparison.
const NOTICED_LOG_MAR: f32 = 0.02;
const COMPARISON_SD: f32 = 0.042;

/// How many answers have nothing to do with what is seen, where nothing is known of the examiner's other exams.
pub const SLIPS: f32 = 0.033;

/// From more than this blur in both looks, in log MAR poorer than the best, a comparison counts half: people are less steady
/// than any formula there.
const UNSTEADY_FROM_LOG_MAR: f32 = 0.35;

/// How much coarser than at 6/6 a look is judged through which so much is seen.
#[inline]
pub fn coarser(seen_log_mar: f32) -> f32 {
    1.0 + ((exp10(seen_log_mar) - 1.0) / 3.0).max(0.0)
}

/// How much less steadily a look is judged by somebody who sees so much at best.
#[inline]
pub fn unsteady(seen_log_mar: f32, best_log_mar: f32) -> f32 {
    1.0 + (4.0 * (seen_log_mar - best_log_mar - UNSTEADY_FROM_LOG_MAR)).clamp(0.0, 1.0)
}

/// How likely the second of two looks is said to be clearer, and worse, that gains so much in log MAR and is judged so.
#[inline]
pub fn notices(gain: f32, coarser: f32, unsteady: f32, slips: f32) -> (f32, f32) {
    let scale = 1.0 / (COMPARISON_SD * coarser * unsteady);
    let noticed = NOTICED_LOG_MAR * coarser;
    let said = |deviations: f32| slips / 3.0 + (1.0 - slips) * share_below(deviations);
    (said((gain - noticed) * scale), said((-gain - noticed) * scale))
}

/// How likely each answer is to two looks through which so much is seen; `favour` is what the second gains by anything but
/// sight, in log MAR.
#[inline]
pub fn compares(first: f32, second: f32, best: f32, favour: f32, slips: f32) -> [f32; 3] {
    let better = first.min(second);
    let (clearer, worse) = notices(first - second + favour, coarser(better), unsteady(better, best), slips);
    [clearer, (1.0 - clearer - worse).max(slips / 3.0), worse]
}

/// Print of the usual size is 0.35 log MAR at 40 cm.
const PRINT_LOG_MAR: f32 = 0.35;

/// How likely somebody complains of what is far, by what the eye sees unaided: the other eye may see better.
#[inline]
pub fn complains_of_far(unaided_log_mar: f32) -> f32 {
    0.06 + 0.84 * share_below((unaided_log_mar - 0.12) / 0.10)
}

/// How likely somebody finds print hard to read without lenses, by the need and what can be accommodated of the sphere that is
/// missing at 40 cm.
#[inline]
pub fn complains_of_near(kind: Kind, of: Traits, need: [f32; 3]) -> f32 {
    let [m, j0, j45] = need;
    // held as near as is best: whoever is short-sighted reads at the far point
    let missing_d = (m + 2.5).max(0.0);
    let left_d = missing_d - spends_d(kind.accommodation, missing_d, of.amplitude_d);
    let square = left_d * left_d + j0 * j0 + j45 * j45;
    let seen = log10(square_mar(of.best_mar, of.pupil_squared, square));
    0.06 + 0.84 * share_below((seen - PRINT_LOG_MAR) / 0.10)
}
