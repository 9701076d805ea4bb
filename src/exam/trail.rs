//! Everything tried so far: the power before the eye, what was read, how it was judged.

use serde::{Deserialize, Serialize};

use crate::optics::{Acuity, Eye, Power};

/// How something tried compares with what was before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Judgement {
    /// Clearer than before.
    Better,
    /// No different.
    Same,
    /// Worse than before.
    Worse,
}

/// One thing tried before one eye.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tried {
    /// Before which eye.
    pub eye: Eye,
    /// The power that was before it.
    pub power: Power,
    /// What was read with it, if it was asked.
    pub acuity: Option<Acuity>,
    /// How it compared, if it was asked.
    pub judgement: Option<Judgement>,
    /// Whether it was kept.
    pub kept: bool,
}
