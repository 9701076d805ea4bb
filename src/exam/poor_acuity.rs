//! When an acuity is poor, when a pinhole is held before the eye, and what it says: the rules of guide and cautions alike.

use libm::log10;

use crate::optics::Acuity;

/// logMAR of 6/60 (hospital triage pages).
const LOG_MAR_6_60: f64 = 1.0;
/// A pinhole improves acuity when it gains a line: common practice, no source.
const LINE_LOG_MAR: f64 = 0.1;
/// Differences below this are rounding, not letters.
const TOLERANCE: f64 = 1e-9;

/// logMAR of 6/9 (IAPB school eye health guideline).
fn log_mar_6_9() -> f64 {
    log10(1.5)
}

/// Whether an acuity is worse than 6/9, as one without a letter is (IAPB school eye health guideline).
pub fn worse_than_6_9(acuity: Acuity) -> bool {
    worse_than(acuity, log_mar_6_9())
}

/// Whether an acuity is worse than 6/60, a reason to refer (hospital triage pages).
pub fn worse_than_6_60(acuity: Acuity) -> bool {
    worse_than(acuity, LOG_MAR_6_60)
}

/// Whether an eye with this unaided acuity is to look through a pinhole: where it is worse than 6/9.
pub fn pinhole_is_asked(unaided: Acuity) -> bool {
    worse_than_6_9(unaided)
}

/// Whether a lens or a pinhole can change what an eye sees that reads this: not where it sees light alone, or none.
pub fn lenses_can_help(acuity: Acuity) -> bool {
    match acuity {
        Acuity::Line { .. }
        | Acuity::ChartLine { .. }
        | Acuity::NoLetter
        | Acuity::CountingFingers
        | Acuity::HandMovements => true,
        Acuity::LightPerception | Acuity::NoLightPerception => false,
    }
}

/// Whether a pinhole leaves a poor acuity as poor as it was: it gains less than a line. A good acuity it leaves good.
pub fn pinhole_does_not_help(unaided: Acuity, through_pinhole: Acuity) -> bool {
    pinhole_is_asked(unaided) && !gains_a_line(unaided, through_pinhole)
}

fn worse_than(acuity: Acuity, log_mar: f64) -> bool {
    acuity.log_mar().is_none_or(|read| read > log_mar + TOLERANCE)
}

fn gains_a_line(without: Acuity, with: Acuity) -> bool {
    match (without.log_mar(), with.log_mar()) {
        (_, None) => false,
        (None, Some(_)) => true,
        (Some(without), Some(with)) => without - with >= LINE_LOG_MAR - TOLERANCE,
    }
}
