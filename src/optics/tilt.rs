//! A lens tilted before the eye.

use super::power::{Power, sin_cos_deg};

/// The refractive index that Martin's formula is used with: 1.5, as in its usual form F (1 + sin² θ / 3).
pub const LENS_INDEX: f64 = 1.5;

/// About which line a lens is turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TiltedAbout {
    /// The horizontal: pantoscopic tilt, the lower rim nearer the cheek.
    Horizontal,
    /// The vertical: face form, the outer rim nearer the temple.
    Vertical,
}

/// The power with which a thin lens, tilted by an angle in degrees, acts along the line of sight.
///
/// Martin's formula: a sphere F becomes F (1 + sin² θ / 2n) with a cylinder of its own sign, that times tan² θ, its axis the
/// line about which it is turned. For any lens: with k = 1 + sin² θ / 2n the power along that line is times k, the power
/// across it times k / cos² θ, and what lies between them times k / cos θ, since across the line the lens is foreshortened
/// by cos θ. Holds for small tilts; of light from far away and through the centre.
pub fn tilted(lens: Power, about: TiltedAbout, degrees: f64) -> Power {
    let (sin, cos) = sin_cos_deg(degrees);
    let k = 1.0 + sin * sin / (2.0 * LENS_INDEX);
    let across = 1.0 / (cos * cos);
    let (times_x, times_y) = match about {
        TiltedAbout::Horizontal => (k, k * across),
        TiltedAbout::Vertical => (k * across, k),
    };
    let (x, y) = ((lens.m + lens.j0) * times_x, (lens.m - lens.j0) * times_y);
    Power { m: f64::midpoint(x, y), j0: (x - y) / 2.0, j45: lens.j45 * k / cos }
}
