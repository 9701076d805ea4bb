//! How an examiner's retinoscopy differs from the subjective result, over many eyes (common practice, no source).

use crate::exam::EarlierRetinoscopy;
use crate::optics::Power;

/// A difference is offered as a correction from this many pairs on.
pub const LEAST_PAIRS: usize = 10;

/// A mean this many standard errors from nothing is not chance: the 99 % two-sided point of Student's t at nine degrees of
/// freedom (ten pairs), 3.25; with more pairs it is only stricter. Three parts are looked at, hence 99 and not 95 %.
const STANDARD_ERRORS: f64 = 3.25;

/// A mean smaller than half of the smallest usual lens step changes no prescription.
const LEAST_MEAN_D: f64 = 0.125;

/// How retinoscopy differs from the subjective result, part by part of the power vector (retinoscopy less subjective).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RetinoscopyBias {
    /// Pairs that were compared.
    pub pairs: usize,
    /// Mean difference.
    pub mean: Power,
    /// Standard deviation of each part.
    pub spread: Power,
    /// What to take off further retinoscopy: the parts of the mean that are steady; `None` when none is, or with fewer than
    /// [`LEAST_PAIRS`] pairs.
    pub take_off: Option<Power>,
}

impl RetinoscopyBias {
    /// The steady difference as an exam keeps it, where there is one.
    pub fn earlier(&self) -> Option<EarlierRetinoscopy> {
        let (eyes, spread) = (self.pairs, self.spread);
        self.take_off.map(|differs| EarlierRetinoscopy { eyes, differs, spread })
    }
}

/// Compares pairs of (retinoscopy, subjective result); `None` with fewer than two, which have no spread.
pub fn retinoscopy_bias(pairs: &[(Power, Power)]) -> Option<RetinoscopyBias> {
    if pairs.len() < 2 {
        return None;
    }
    let part = |of: fn(Power) -> f64| {
        let count = pairs.len() as f64;
        let differences: Vec<f64> = pairs.iter().map(|&(found, subjective)| of(found - subjective)).collect();
        let mean = differences.iter().sum::<f64>() / count;
        let squares: f64 = differences.iter().map(|difference| (difference - mean).powi(2)).sum();
        let spread = (squares / (count - 1.0)).sqrt();
        let clear = mean.abs() > STANDARD_ERRORS * spread / count.sqrt() && mean.abs() >= LEAST_MEAN_D;
        let steady = if pairs.len() >= LEAST_PAIRS && clear { mean } else { 0.0 };
        (mean, spread, steady)
    };
    let (m, j0, j45) = (part(|p| p.m), part(|p| p.j0), part(|p| p.j45));
    let steady = Power { m: m.2, j0: j0.2, j45: j45.2 };
    Some(RetinoscopyBias {
        pairs: pairs.len(),
        mean: Power { m: m.0, j0: j0.0, j45: j45.0 },
        spread: Power { m: m.1, j0: j0.1, j45: j45.1 },
        take_off: (steady != Power::ZERO).then_some(steady),
    })
}
