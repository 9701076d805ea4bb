//! The line that is expected of an eye with something missing before it, from public facts alone.
//!
//! - Blur costs letters as [`crate::optics::blur`] has it.
//! - Accommodation: a long-sighted eye that lacks M spends k (1 − exp(−M/k)), k = 0.80 A and at least 0.95 D, with the objective
//!   amplitude A = 7.33 − 0.0035 (age − 3)² (Anderson, *IOVS* 2008;49:2919). That fits the unaided lines of long-sighted eyes by
//!   age (Peters 1961) within 0.04 logMAR.
//! - A pinhole of 1.2 mm before a pupil of 4 mm leaves 0.3 of the blur.
//!
//! What practice eyes do stands elsewhere, and neither takes a figure from the other.

use libm::{exp, log10, pow, sqrt};

use crate::optics::blur::mar_through;
use crate::optics::{Dioptres, Power};

/// Where the law comes from, as a record says it.
pub const SOURCE: &str = "Expected lines: blur after Blendowske 2015 with 6/5 to 6/12 through +1.00 (Optometry in Practice \
                          2004;5(4)), accommodation by age after Anderson, IOVS 2008;49:2919 and Peters 1961.";

/// How much of the blur a pinhole leaves: 1.2 mm of 4 mm.
const BLUR_THROUGH_PINHOLE: f64 = 1.2 / 4.0;

/// What a small opening takes of the best line, in logMAR (ours, no source).
const LOG_MAR_THROUGH_OPENING: f64 = 0.06;

/// Through what an eye looks besides lenses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Opening {
    /// Its pupil.
    Pupil,
    /// A pinhole.
    Pinhole,
}

/// A line that is expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// The line in logMAR.
    pub log_mar: f64,
    /// How far people's lines lie from it, as a standard deviation in logMAR: reading, pupil and accommodation.
    pub sd: f64,
}

/// Standard deviation of one reading in logMAR (ours: a line is said to within two or three letters; no source).
const READING_LOG_MAR: f64 = 0.06;
/// What is uncertain of the blur itself, in dioptres, and as a share of it (pupils differ; ours, no source).
const BLUR_D: f64 = 0.12;
const SHARE_OF_BLUR: f64 = 0.10;
/// What is uncertain of the accommodation that is spent, as a share of it (ours, no source).
const SHARE_OF_ACCOMMODATION: f64 = 0.15;

/// How much an eye of an age spends where a sphere is missing, in dioptres; nothing where there is too much plus.
fn spent_d(missing_d: f64, age_years: f64) -> f64 {
    if missing_d <= 0.0 {
        return 0.0;
    }
    let amplitude_d = 7.33 - 0.0035 * (age_years - 3.0) * (age_years - 3.0);
    let most_d = (0.80 * amplitude_d).max(0.95);
    most_d * (1.0 - exp(-missing_d / most_d))
}

/// The line that an eye reads with `missing` before it, its best line in logMAR. Without an age, none is expected of an eye that
/// could accommodate.
pub fn expected(
    best_log_mar: f64,
    missing: Power,
    age_years: Option<u8>,
    drops: bool,
    opening: Opening,
) -> Option<Expected> {
    let spent = match age_years {
        _ if drops || missing.m <= 0.0 => 0.0,
        Some(age) => spent_d(missing.m, f64::from(age)),
        None => return None,
    };
    let left = missing - Power::sphere(Dioptres(spent));
    let (share, worse) = match opening {
        Opening::Pupil => (1.0, 0.0),
        Opening::Pinhole => (BLUR_THROUGH_PINHOLE, LOG_MAR_THROUGH_OPENING),
    };
    let blur = share * left.blur_strength();
    let best = pow(10.0, best_log_mar + worse);
    let log_mar = log10(mar_through(best, blur));
    let off = share * (BLUR_D + SHARE_OF_BLUR * left.blur_strength() + SHARE_OF_ACCOMMODATION * spent);
    let more = log10(mar_through(best, blur + off)) - log_mar;
    Some(Expected { log_mar, sd: sqrt(READING_LOG_MAR * READING_LOG_MAR + more * more) })
}
