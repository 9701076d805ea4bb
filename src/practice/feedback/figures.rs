//! How far off an exam is, and what it cost.

use crate::exam::prescription::EyeOutcome;
use crate::optics::Power;
use crate::practice::effort::Effort;
use crate::practice::off::Off;

/// What one eye needs beside what it was given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OfEye {
    /// What it needs, at the vertex distance of the glasses.
    pub needs: Power,
    /// Its best line in logMAR.
    pub best_log_mar: f64,
    /// What its row of the prescription comes to.
    pub outcome: EyeOutcome,
    /// What is written beside what is needed; `None` where no power is written: such an eye is not refracted, and never plano.
    pub off: Option<Off>,
}

/// What an exam took, beside the guide's own of the same person.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cost {
    /// Lenses and looks.
    pub effort: Effort,
    /// How long it took, in minutes, where that is known.
    pub minutes: Option<f64>,
    /// Lenses and looks of the guide's own exam, where that was led.
    pub guide: Option<Effort>,
}
