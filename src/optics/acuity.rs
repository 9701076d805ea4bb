//! Visual acuity in the notations examiners use.
//!
//! The minimum angle of resolution (MAR, minutes of arc) is 1/decimal acuity and logMAR = log10 MAR, so that
//! 6/6 = 20/20 = 1.0 = 0.00 and 6/12 = 20/40 = 0.5 = 0.30 (Holladay's table). One letter of a five-letter line counts
//! 0.02 logMAR.

use serde::{Deserialize, Serialize};

/// What one letter is worth, in logMAR: a fifth of a 0.1 line.
pub const LETTER_LOG_MAR: f64 = 0.02;

/// What a person read: a line of the chart, with letters missed or gained, or nothing at all.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Acuity {
    /// A line, whole or nearly.
    Line {
        /// Minimum angle of resolution of the line in minutes of arc: 1 for 6/6, 2 for 6/12.
        mar: f64,
        /// Letters missed (negative) or read in the next line (positive).
        letters: i8,
    },
    /// No letter of the chart.
    NoLetter,
}

impl Acuity {
    /// A line of the 6 m chart by the lower figure of its fraction: 12 for 6/12.
    pub fn of_6_m(denominator: f64) -> Self {
        Self::Line { mar: denominator / 6.0, letters: 0 }
    }

    /// logMAR, letters counted; `None` when no letter was read. Smaller is better.
    pub fn log_mar(self) -> Option<f64> {
        match self {
            Self::Line { mar, letters } => Some(mar.log10() - f64::from(letters) * LETTER_LOG_MAR),
            Self::NoLetter => None,
        }
    }

    /// The lower figure of the 6 m fraction with the letters counted in; `None` when no letter was read.
    pub fn denominator_6_m(self) -> Option<f64> {
        self.log_mar().map(|log_mar| 6.0 * 10f64.powf(log_mar))
    }
}
