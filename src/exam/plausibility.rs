//! Whether lines and power can belong together.
use libm::{pow, sqrt};

/// The blur in dioptres that leaves such a line.
pub fn blur_of_line_d(log_mar: f64) -> f64 {
    sqrt((pow(10.0, log_mar) - 1.0).max(0.0))
}
