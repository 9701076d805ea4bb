//! How far the optical centres of made glasses may stand from where they were ordered.

use super::power::Power;
use super::quantity::{Millimetres, PrismDioptres};

/// A meridian of less power than this has no limit: far below any lens, far above rounding.
const NO_POWER_D: f64 = 1e-9;

/// By how much a centre may be off along one direction: so many millimetres for one dioptre, in inverse proportion to the
/// power along it, and at least some (ANSI Z80.1-2015, quick reference: 0.67 Δ or 2.5 mm, 0.33 Δ or 1.0 mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// The direction, as a meridian in degrees.
    pub meridian_deg: f64,
    /// The limit for a power of one dioptre.
    pub of_one_dioptre: Millimetres,
    /// The limit is never less than this.
    pub least: Millimetres,
}

/// To the side: 6.7/|F| mm, at least 2.5.
pub const HORIZONTAL: Tolerance =
    Tolerance { meridian_deg: 180.0, of_one_dioptre: Millimetres(6.7), least: Millimetres(2.5) };
/// Up and down: 3.3/|F| mm, at least 1.0.
pub const VERTICAL: Tolerance =
    Tolerance { meridian_deg: 90.0, of_one_dioptre: Millimetres(3.3), least: Millimetres(1.0) };

impl Tolerance {
    /// The limit for a power; none where it has none in this meridian, so that nothing would notice.
    pub fn of(&self, power: Power) -> Option<Millimetres> {
        let along = power.along(self.meridian_deg).abs();
        (along > NO_POWER_D).then(|| Millimetres(f64::max(self.of_one_dioptre.0 / along, self.least.0)))
    }

    /// The same as the prism that it makes: the prism of the limit for one dioptre, or that of the least distance.
    pub fn in_prism(&self, power: Power) -> PrismDioptres {
        let along = power.along(self.meridian_deg).abs();
        PrismDioptres(f64::max(self.of_one_dioptre.0, self.least.0 * along) / 10.0)
    }
}
