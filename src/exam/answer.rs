//! What can be answered to the guide.

use serde::{Deserialize, Serialize};

use crate::optics::{Acuity, Eye};

/// A procedure that the guide leads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Procedure {
    /// Person, frame and unaided acuity.
    SetUp,
    /// The first lens.
    FirstLens,
    /// The best vision sphere.
    BestSphere,
    /// Has too much minus been given?
    OverMinusCheck,
    /// Astigmatism on the fan and block.
    Fan,
    /// Is there astigmatism? By the cross cylinder.
    CrossCylinderSearch,
    /// Astigmatism by the stenopaeic slit.
    Slit,
    /// Axis by the cross cylinder.
    CrossCylinderAxis,
    /// Power by the cross cylinder.
    CrossCylinderPower,
    /// The sphere once more.
    FinalSphere,
    /// Both eyes equal.
    Balance,
    /// The addition.
    Near,
    /// Retinoscopy.
    Retinoscopy,
    /// Writing it down.
    Writing,
}

/// An answer to what the guide presents.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// The second is clearer than the first; with it is clearer.
    Clearer,
    /// No difference.
    Same,
    /// Worse.
    Worse,
    /// Yes.
    Yes,
    /// No.
    No,
    /// The first of two positions, or the right eye.
    First,
    /// The second of two positions, or the left eye.
    Second,
    /// This was read.
    Read(Acuity),
    /// The clearest line of the fan, by its lower clock hour (half hours allowed), in halves of an hour.
    HalfHours(u8),
    /// A direction in whole degrees on the dial.
    Degrees(u16),
    /// A distance in centimetres.
    Centimetres(f64),
    /// The reflex moves with the sweep.
    With,
    /// The reflex moves against the sweep.
    Against,
    /// The pupil fills at once: reversal.
    Neither,
    /// This was done.
    Done,
}

/// What happened in the guide.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GuideEvent {
    /// A procedure began.
    Began {
        /// Which.
        procedure: Procedure,
        /// For which eye; `None` for both.
        eye: Option<Eye>,
    },
    /// What was presented was answered.
    Answered(Answer),
    /// The step was passed over.
    Skipped,
    /// The step is to be shown again.
    Repeated,
    /// The procedure was left.
    Left,
}
