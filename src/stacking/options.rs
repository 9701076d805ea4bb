//! What a search may use, and how much it hands out.

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
    /// Whether plus cylinders are in use. A box without minus cylinders is used so whatever this says.
    pub plus_cylinders: bool,
}

impl Default for SearchOptions {
    fn default() -> Self {
        Self { max_lenses: None, limit: 5, within_d: REACHES_WITHIN_D, plus_cylinders: false }
    }
}
