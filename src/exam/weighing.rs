//! What the figures say beside the choice of an outcome: lines gained, a power beside what would be noticed, what a pinhole
//! did. It says, and never chooses.

use serde::Serialize;

use super::certainty::Certainty;
use super::event::Through;
use super::prescription::Prescription;
use super::state::State;
use crate::optics::{Acuity, Eye};

/// A line of a chart in logMAR.
const LINE: f64 = 0.1;

/// What the figures of one eye say.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Weighed {
    /// Of which eye.
    pub eye: Eye,
    /// Lines that the prescription reads more than the eye unaided.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub over_unaided_lines: Option<f64>,
    /// Lines that it reads more than the glasses that the person has.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub over_glasses_lines: Option<f64>,
    /// Lines that a pinhole reads more than the eye unaided.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pinhole_lines: Option<f64>,
    /// The prescription as one blur, in dioptres.
    pub blur_d: f64,
    /// A blur that this person would just notice, in dioptres.
    pub noticed_d: f64,
}

impl Weighed {
    /// What the figures of an eye say; `None` where it has no prescription.
    pub fn of(state: &State, prescription: &Prescription, eye: Eye) -> Option<Self> {
        let of_eye = prescription.eye(eye)?;
        let read = |through| state.last_read(eye, through);
        let (unaided, best) = (read(Through::Unaided), of_eye.acuity);
        let noticed_d = Certainty::of(state, eye, of_eye).noticed_d;
        Some(Self {
            eye,
            over_unaided_lines: gained(unaided, best),
            over_glasses_lines: gained(read(Through::OldGlasses), best),
            pinhole_lines: gained(unaided, read(Through::Pinhole)),
            blur_d: of_eye.planned.blur_strength(),
            noticed_d,
        })
    }

    /// Whether the prescription gains less than a line, and its power is below what would be noticed.
    pub fn would_not_be_noticed(&self) -> bool {
        self.over_unaided_lines.is_some_and(|lines| lines < 1.0) && self.blur_d < self.noticed_d
    }
}

/// Lines of a chart from one acuity to another; `None` where either has no line.
fn gained(from: Option<Acuity>, to: Option<Acuity>) -> Option<f64> {
    let lines = (from?.log_mar()? - to?.log_mar()?) / LINE;
    // exact steps of a chart are whole lines although logarithms are not
    Some((lines * 10.0).round() / 10.0)
}
