//! What is seen in a screening pass beside acuities.

use serde::{Deserialize, Serialize};

use crate::optics::{Eye, Eyes};

/// What was seen in a screening pass beside the acuities.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Screened {
    /// Whether an eye reads the same line through +2.00: more than 2.00 D of plus may hide then (IAPB school eye health
    /// guideline).
    PlusTwo(Eye, bool),
    /// Whether both eyes together read the near card.
    Near(bool),
}

/// What is known from a screening pass beside the acuities.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Screening {
    /// Whether each eye reads the same line through +2.00.
    pub plus_two: Eyes<Option<bool>>,
    /// Whether both eyes together read the near card.
    pub near: Option<bool>,
}

impl Screening {
    /// Takes in what was seen; later takes the place of earlier.
    pub(super) fn note(&mut self, screened: Screened) {
        match screened {
            Screened::PlusTwo(eye, reads) => self.plus_two[eye] = Some(reads),
            Screened::Near(reads) => self.near = Some(reads),
        }
    }
}
