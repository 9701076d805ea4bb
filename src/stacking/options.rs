//! What a search may use, and how much it hands out.

use crate::optics::CylinderForm;

/// A stack reaches the wanted power when it misses by at most this, in dioptres: half an eighth, rounded down.
pub const REACHES_WITHIN_D: f64 = 0.06;

/// The most lenses that are stacked before one eye when nothing else is asked.
pub const USUAL_MOST_LENSES: usize = 4;

/// What a search may use and how much it hands out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SearchOptions {
    /// The most lenses before one eye; when not said, [`USUAL_MOST_LENSES`].
    pub max_lenses: Option<usize>,
    /// The most proposals.
    pub limit: usize,
    /// The greatest miss, in dioptres, that still counts as reached.
    pub within_d: f64,
    /// The cylinder form that is chosen; what the box is decides with it (`Stock::form_in_use`).
    pub form: CylinderForm,
}

impl Default for SearchOptions {
    fn default() -> Self {
        Self { max_lenses: None, limit: 5, within_d: REACHES_WITHIN_D, form: CylinderForm::Minus }
    }
}
