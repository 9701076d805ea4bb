//! Prescriptions put together and compared: sums, differences and means are those of their power vectors
//! (Harris, *Optom Vis Sci* 1988;65:794-802); lenses one on the other, without a gap, are their sum.

use super::power::Power;

/// The mean of powers: the mean of each part of their vectors. None of no power at all.
///
/// Means of sphere, cylinder and axis taken one by one are another thing, and mean nothing: those of 10 and 170 would be 90.
pub fn mean(powers: &[Power]) -> Option<Power> {
    let total: Power = powers.iter().copied().sum();
    let count = powers.len() as f64;
    (count > 0.0).then(|| Power { m: total.m / count, j0: total.j0 / count, j45: total.j45 / count })
}

/// What is left uncorrected, and its score.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residual {
    /// What would have to be added to what is worn.
    pub power: Power,
    /// |M| + |C|/2 of it, in dioptres, by which answers in retinoscopy are marked (Taylor and others, *Eye* 2011;25:1333).
    pub score: f64,
}

/// What is left of `needed` when `worn` stands before the eye.
pub fn residual(worn: Power, needed: Power) -> Residual {
    let power = needed - worn;
    Residual { power, score: power.m.abs() + power.astigmatism() }
}
