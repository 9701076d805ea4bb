//! The line that is expected of an eye with something missing before it, from public facts alone.
//!
//! - Blur: MAR = MAR0 + c b², MAR0 the best of the eye and b the blur in dioptres of the power vector (MAR ∝ 1 + b², Blendowske
//!   2015); c so that an eye of 6/5 reads 6/12 through +1.00 (College of Optometrists, *Optometry in Practice* 2004;5(4): 6/12 to
//!   6/18).
//! - Accommodation: a long-sighted eye that lacks M spends k (1 − exp(−M/k)), k = 0.80 A and at least 0.95 D, with the objective
//!   amplitude A = 7.33 − 0.0035 (age − 3)² (Anderson, *IOVS* 2008;49:2919). That fits the unaided lines of long-sighted eyes by
//!   age (Peters 1961) within 0.04 logMAR.
//! - A pinhole of 1.2 mm before a pupil of 4 mm leaves 0.3 of the blur.
//!
//! What practice eyes do stands elsewhere, and neither takes a figure from the other.

use libm::{exp, log10, pow, sqrt};

use crate::optics::{Dioptres, Power};

/// Where the law comes from, as a record says it.
pub const SOURCE: &str = "Expected lines: blur after Blendowske 2015 with 6/5 to 6/12 through +1.00 (Optometry in Practice \
                          2004;5(4)), accommodation by age after Anderson, IOVS 2008;49:2919 and Peters 1961.";

/// What each square dioptre of blur adds to the minimum angle of resolution in minutes of arc: 6/12 less 6/5.
const MAR_OF_SQUARE_DIOPTRE: f64 = 12.0 / 6.0 - 5.0 / 6.0;

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
    let log_mar = log10(best + MAR_OF_SQUARE_DIOPTRE * blur * blur);
    let off = share * (BLUR_D + SHARE_OF_BLUR * left.blur_strength() + SHARE_OF_ACCOMMODATION * spent);
    let more = log10(best + MAR_OF_SQUARE_DIOPTRE * (blur + off) * (blur + off)) - log_mar;
    Some(Expected { log_mar, sd: sqrt(READING_LOG_MAR * READING_LOG_MAR + more * more) })
}

/// The blur in dioptres that leaves an eye of 6/6 such a line.
pub fn blur_of_line_d(log_mar: f64) -> f64 {
    sqrt((pow(10.0, log_mar) - 1.0).max(0.0) / MAR_OF_SQUARE_DIOPTRE)
}
