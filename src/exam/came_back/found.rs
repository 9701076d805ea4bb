//! What was found on glasses that came back: kept in the record of the exam they were made by, as an addition to it.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::optics::{Eyes, Millimetres, Power, SpheroCylinder};

/// What was measured on one lens, and where it stands before its eye. What nobody measured is `None`.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct FoundLens {
    /// Its power, in the cylinder form in which it was entered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power: Option<SpheroCylinder>,
    /// Its addition in dioptres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub addition: Option<f64>,
    /// From the middle of the nose to its centre for far.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub centre: Option<Millimetres>,
    /// From the middle of the nose to its centre for near.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub near_centre: Option<Millimetres>,
    /// How far its centre stands above the pupil; minus is below.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub above_pupil: Option<Millimetres>,
}

/// What was measured on a pair, and what the person says.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct FoundGlasses {
    /// Each lens, right first.
    pub lenses: Eyes<FoundLens>,
    /// From the cornea to the back of the glasses as they sit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vertex: Option<Millimetres>,
    /// What the person complains of, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub complaint: Option<String>,
}

impl FoundGlasses {
    /// Whether nothing was measured.
    pub fn is_empty(&self) -> bool {
        *self == Self { complaint: self.complaint.clone(), ..Self::default() }
    }
}

/// A later exam of the same person: what was found when the person was refracted again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RefractedAgain {
    /// The identity of that exam.
    pub exam: Uuid,
    /// The number that it had in the logbook.
    pub number: u64,
    /// What was found for far, at the vertex distance below, before it went to quarters, right first.
    pub far: Eyes<Option<Power>>,
    /// The written additions in dioptres, right first.
    pub additions: Eyes<Option<f64>>,
    /// The vertex distance of these powers.
    pub vertex: Millimetres,
}

/// Glasses that came back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CameBack {
    /// When that was noted.
    pub at: Timestamp,
    /// By whom, if that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// What was found.
    pub found: FoundGlasses,
    /// What a refraction found since, where one was named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub again: Option<RefractedAgain>,
}

/// That what was noted of glasses that came back is taken back; it stays readable.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CameBackTakenBack {
    /// Which of those in the exam, from 1.
    pub number: usize,
    /// When.
    pub at: Timestamp,
    /// By whom, if that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// Glasses that came back, as they stand in an exam.
#[derive(Debug, Clone, PartialEq)]
pub struct Returned {
    /// What was noted.
    pub came_back: CameBack,
    /// That it was taken back, if it was.
    pub taken_back: Option<CameBackTakenBack>,
}

/// The number, from 1, of the last that stands.
pub fn last_standing(returned: &[Returned]) -> Option<usize> {
    returned.iter().rposition(|returned| returned.taken_back.is_none()).map(|place| place + 1)
}
