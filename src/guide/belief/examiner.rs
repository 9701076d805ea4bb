//! What an examiner's earlier exams say of how far this one's findings and answers can be trusted.

use super::people::SLIPS;
use crate::exam::{EarlierExams, Repeats};
use crate::optics::Power;

/// How far retinoscopy lies from what is needed where nothing is known of the examiner: standard deviations of sphere and of
/// either part of the cylinder (trial frame against other means −0.04 ± 0.59, Ohlendorf, *Healthcare* 2016), how many eyes'
/// worth that is thought to be, and the least that it ever is. The last two by common sense, no source.
const RETINOSCOPY_SD_D: [f32; 2] = [0.40, 0.25];
const WORTH_EYES: f32 = 8.0;
const LEAST_SD_D: f32 = 0.15;

/// How often a steady person changes an answer when asked again, and somebody who answers at random among three; how many
/// repeated questions what is thought beforehand is worth; the least and the most that is ever thought. By common sense, no
/// source.
const CHANGES_STEADY: f32 = 0.25;
const CHANGES_AT_RANDOM: f32 = 2.0 / 3.0;
const WORTH_REPEATS: f32 = 30.0;
const SLIPS_WITHIN: [f32; 2] = [0.015, 0.20];

/// How far this examiner's retinoscopy lies from what is needed: standard deviations of sphere and of either part of the
/// cylinder. What it is off by in the mean is part of that, unless it was taken off.
pub fn retinoscopy_sd_d(earlier: Option<&EarlierExams>, difference_taken_off: bool) -> [f32; 2] {
    let Some(earlier) = earlier.filter(|earlier| earlier.eyes >= 2) else { return RETINOSCOPY_SD_D };
    let eyes = earlier.eyes as f32;
    let square = |of: fn(Power) -> f64| {
        let (differs, spread) = (of(earlier.differs) as f32, of(earlier.spread) as f32);
        let remains = if difference_taken_off { 0.0 } else { differs };
        remains * remains + spread * spread
    };
    let cylinder = f32::midpoint(square(|power| power.j0), square(|power| power.j45));
    let [of_sphere, of_cylinder] = RETINOSCOPY_SD_D;
    let with = |usual: f32, seen: f32| {
        let square = (WORTH_EYES * usual * usual + eyes * seen) / (WORTH_EYES + eyes);
        square.sqrt().max(LEAST_SD_D)
    };
    [with(of_sphere, square(|power| power.m)), with(of_cylinder, cylinder)]
}

/// Which share of the answers that this examiner keeps has nothing to do with what is seen, by how often a question that was asked
/// again got another answer.
pub fn slips(earlier: Option<&EarlierExams>) -> f32 {
    let Repeats { repeated, changed } = earlier.map(|earlier| earlier.repeats).unwrap_or_default();
    let (repeated, changed) = (repeated as f32, changed as f32);
    let at_random = (changed - CHANGES_STEADY * repeated) / (CHANGES_AT_RANDOM - CHANGES_STEADY);
    let share = (WORTH_REPEATS * SLIPS + at_random) / (WORTH_REPEATS + repeated);
    share.clamp(SLIPS_WITHIN[0], SLIPS_WITHIN[1])
}
