//! What blur costs letters.
//!
//! The minimum angle of resolution grows by the square of the blur (MAR ∝ 1 + b², Blendowske 2015), by so much that 6/5 reads
//! 6/12 through +1.00 (College of Optometrists, *Optometry in Practice* 2004;5(4): 6/12 to 6/18). It holds for most people and
//! for nobody exactly.

use libm::{pow, sqrt};

/// The best line of most healthy eyes, 6/5, in minutes of arc.
pub const USUAL_BEST_MAR: f64 = 5.0 / 6.0;

/// The same in logMAR.
pub const USUAL_BEST_LOG_MAR: f64 = -0.079_181_246_047_624_83;

/// The line of such an eye through a dioptre of blur, 6/12, in minutes of arc.
pub const MAR_THROUGH_A_DIOPTRE: f64 = 12.0 / 6.0;

/// What each square dioptre of blur adds to the minimum angle of resolution, in minutes of arc.
pub const MAR_OF_SQUARE_DIOPTRE: f64 = MAR_THROUGH_A_DIOPTRE - USUAL_BEST_MAR;

/// The minimum angle of resolution, in minutes of arc, of an eye with this best one through so many dioptres of blur.
pub fn mar_through(best_mar: f64, blur_d: f64) -> f64 {
    best_mar + MAR_OF_SQUARE_DIOPTRE * blur_d * blur_d
}

/// The blur in dioptres that takes an eye from its best line to another, both in logMAR; none where the other is not poorer.
pub fn blur_between_d(best_log_mar: f64, log_mar: f64) -> f64 {
    sqrt(((pow(10.0, log_mar) - pow(10.0, best_log_mar)) / MAR_OF_SQUARE_DIOPTRE).max(0.0))
}
