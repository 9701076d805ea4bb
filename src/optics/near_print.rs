//! Sizes of print for near: N, the points of its type, M, the metres at which it stands under five minutes of arc, and decimal.
//!
//! Print of 1 M has small letters of 1.45 mm, about those of type of 8 points, so M = N/8 (common practice for N notation, no
//! source); the decimal acuity is the distance in metres over M.

/// Points of type for each M unit.
const POINTS_OF_M: f64 = 8.0;

/// The M units of print of so many points.
pub fn m_units(points: f64) -> f64 {
    points / POINTS_OF_M
}

/// The decimal acuity of somebody who reads print of so many points so many metres away.
pub fn decimal(points: f64, metres: f64) -> f64 {
    metres / m_units(points)
}

/// The points of print whose letters stand, so many metres away, under five times this minimum angle of resolution in minutes.
///
/// ```
/// use dioptray::optics::near_print::{decimal, m_units, print_points};
/// assert_eq!((m_units(8.0), decimal(8.0, 1.0)), (1.0, 1.0));
/// assert_eq!(print_points(1.0, 1.0), 8.0);
/// assert!((decimal(5.0, 0.40) - 0.64).abs() < 1e-9);
/// ```
pub fn print_points(mar: f64, metres: f64) -> f64 {
    (mar * metres * POINTS_OF_M * 10.0).round() / 10.0
}
