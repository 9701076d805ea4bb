//! What a hand sees of lenses held together, with the figures that this rests on.
//!
//! Two thin lenses a little apart make F1 + F2 − d F1 F2 together (the equivalent power of two thin lenses, in every textbook
//! of geometrical optics, such as Hecht, *Optics*, chapter 6). How fine a hand is, how far apart two lenses are held and how
//! many lenses of a box are mismarked are assumptions, no source.

use libm::{erfc, sqrt};

/// The standard deviation of what a hand sees, in dioptres: an assumption.
pub const HAND_NOISE_D: f64 = 0.12;
/// A line that is left with less than so many dioptres is taken to stand still: an assumption.
pub const STILL_WITHIN_D: f64 = 0.12;
/// The distance between two lenses held rim to rim, in metres: an assumption.
pub const APART_M: f64 = 0.003;
/// The standard deviation of that distance, in metres: an assumption, and why strong lenses say less.
pub const APART_SD_M: f64 = 0.0005;
/// The share of lenses that are off their mark before anything was looked at: an assumption.
pub const MISMARKED_SHARE: f64 = 0.05;
/// The same of a lens that was measured.
pub const MISMEASURED_SHARE: f64 = 0.002;
/// The share of looks in which the answer is any of the three.
const SLIPS: f64 = 0.01;

/// By how much a lens may be off its mark, in dioptres, to the quarter; what is off by more counts as the last.
pub const SHIFTS_D: [f64; 9] = [0.0, -0.25, 0.25, -0.50, 0.50, -0.75, 0.75, -1.00, 1.00];
/// How likely each of them is in a lens that is off: an assumption.
const SHARES: [f64; 9] = [0.0, 0.22, 0.22, 0.14, 0.14, 0.06, 0.06, 0.08, 0.08];

/// A chance for each of [`SHIFTS_D`].
pub type Chances = [f64; SHIFTS_D.len()];

/// What is known of a lens before a look: the chance of each shift, when so large a share of its like is off.
pub fn before_any_look(share_off: f64) -> Chances {
    let mut chances = SHARES.map(|share| share * share_off);
    chances[0] = 1.0 - share_off;
    chances
}

/// What lenses held together make, in dioptres.
pub fn together_d(powers_d: &[f64]) -> f64 {
    powers_d.iter().fold(0.0, |made, power| made + power - APART_M * made * power)
}

/// How far what they make may be off because nobody knows how far apart they are held, in dioptres: a standard deviation.
fn apart_sd_d(powers_d: &[f64]) -> f64 {
    let crossed = powers_d.iter().fold((0.0, 0.0), |(made, crossed), power| (made + power, crossed + made * power));
    APART_SD_M * crossed.1.abs()
}

/// The chance of each motion, in the order of [`Motion::ALL`](crate::kit::Motion::ALL), behind lenses of these powers in dioptres.
pub fn motions(powers_d: &[f64]) -> [f64; 3] {
    let left = together_d(powers_d);
    let apart = apart_sd_d(powers_d);
    let sd = sqrt(HAND_NOISE_D * HAND_NOISE_D + apart * apart);
    let below = |d: f64| erfc(-d / sd / core::f64::consts::SQRT_2) / 2.0;
    let with = below(-STILL_WITHIN_D - left);
    let against = below(left - STILL_WITHIN_D);
    [with, against, (1.0 - with - against).max(0.0)].map(|chance| chance * (1.0 - SLIPS) + SLIPS / 3.0)
}
