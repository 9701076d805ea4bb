//! What all lines that were read tell together of the sphere, once a cylinder stands: those read through fog on the way count
//! beside the one read through fog at the end, so that nothing that is known is asked again.
//!
//! It says which quarter is shown once more, and is never itself a finding.

use libm::{exp, hypot, log10};

use crate::guide::findings::LineAt;
use crate::optics::Power;
use crate::optics::blur::mar_through;

/// Where the right sphere may lie about what the comparisons left, as standard deviations in dioptres: an eye that accommodates
/// hides plus, and nothing hides minus (these and those below ours, by practice eyes).
const MORE_PLUS_SD_D: f64 = 0.90;
const LESS_PLUS_SD_D: f64 = 0.27;

/// The best line of people and how it differs, in log MAR (6/5 to 6/6 in health).
const BEST_LOG_MAR: f64 = -0.06;
const BEST_SD_LOG_MAR: f64 = 0.06;

/// How much blur differs between people by their pupils, as the standard deviation of its logarithm.
const PUPIL_SD: f64 = 0.14;

/// A line read again differs by this, in log MAR, and what fog costs is told less well by so much a dioptre beyond the first.
const READING_SD_LOG_MAR: f64 = 0.055;
const FAR_SD_LOG_MAR: f64 = 0.10;

/// One line cannot say more than this against all others, in standard deviations.
const MOST_OFF_SD: f64 = 2.5;

/// Lines poorer than this say nothing exact, in log MAR.
const POOREST_LOG_MAR: f64 = 0.80;

/// Lines read with so much less plus were accommodated, in dioptres.
const TOO_MUCH_MINUS_D: f64 = 0.60;

/// How far each way the sphere is looked for, and how finely, in dioptres.
const REACH_D: f64 = 1.00;
const GRAIN_D: f64 = 0.0625;

/// A line as it is looked at: sphere beyond what stands there, astigmatism that was left, what was read.
struct Read {
    fog_d: f64,
    astigmatism_d: f64,
    log_mar: f64,
}

/// The plus that is owing before a power by all lines that were read, in dioptres: negative where there is too much plus.
pub fn owing_by_lines_d(lines: &[LineAt], base: Power) -> f64 {
    let read: Vec<Read> = lines
        .iter()
        .filter_map(|line| {
            let log_mar = line.acuity.log_mar().filter(|read| *read <= POOREST_LOG_MAR)?;
            let off = line.power - base;
            (off.m > -TOO_MUCH_MINUS_D).then_some(Read { fog_d: off.m, astigmatism_d: off.astigmatism(), log_mar })
        })
        .collect();
    let steps = (2.0 * REACH_D / GRAIN_D) as i32;
    let owing = |step: i32| f64::from(step) * GRAIN_D - REACH_D;
    let (mut sum, mut weighed) = (0.0, 0.0);
    for owing_d in (0..=steps).map(owing) {
        let sphere_sd_d = if owing_d > 0.0 { MORE_PLUS_SD_D } else { LESS_PLUS_SD_D };
        for (pupil, best) in PEOPLE.into_iter().flat_map(|pupil| PEOPLE.map(|best| (pupil, best))) {
            let spread = [owing_d / sphere_sd_d, pupil, best];
            let enlarges = exp(PUPIL_SD * pupil);
            let best_log_mar = BEST_LOG_MAR + BEST_SD_LOG_MAR * best;
            let off = read.iter().map(|read| misses(read, owing_d, enlarges, best_log_mar)).sum::<f64>();
            let likely = exp(-0.5 * (off + spread.map(|spread| spread * spread).iter().sum::<f64>()));
            sum += likely * owing_d;
            weighed += likely;
        }
    }
    if weighed > 0.0 { sum / weighed } else { 0.0 }
}

/// People by their pupils and best lines, in standard deviations from the usual.
const PEOPLE: [f64; 7] = [-2.25, -1.5, -0.75, 0.0, 0.75, 1.5, 2.25];

/// How far a line is from what it would be through a pupil that enlarges the blur so, as a square of standard deviations.
fn misses(read: &Read, owing_d: f64, enlarges: f64, best_log_mar: f64) -> f64 {
    // with too little plus an eye accommodates
    let fog_d = (read.fog_d - owing_d).max(0.0);
    let blur_d = hypot(fog_d, read.astigmatism_d);
    let best = exp(best_log_mar * core::f64::consts::LN_10);
    let expected = log10(mar_through(best, enlarges * blur_d));
    let sd = READING_SD_LOG_MAR + FAR_SD_LOG_MAR * (blur_d - 1.0).max(0.0);
    let off = (read.log_mar - expected) / sd;
    (off * off).min(MOST_OFF_SD * MOST_OFF_SD)
}
