//! A lens that stays on under the trial frame, and what an eye takes in all with it.

use serde::{Deserialize, Serialize};

use super::power::{Power, SpheroCylinder};
use super::quantity::Millimetres;
use super::vergence::at_vertex;

/// What stays on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WornKind {
    /// A contact lens: it stands at the cornea.
    ContactLens,
    /// Glasses, between the eye and the frame.
    Glasses,
}

impl WornKind {
    /// What it is called.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::ContactLens => "contact lens",
            Self::Glasses => "glasses",
        }
    }
}

/// A lens that stays on under the trial frame while an eye is refracted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WornLens {
    /// What it is.
    pub kind: WornKind,
    /// Its back vertex power, in the cylinder form in which it was entered.
    pub power: SpheroCylinder,
    /// Its distance from the cornea: 0 for a contact lens.
    pub vertex: Millimetres,
}

impl WornLens {
    /// The whole power that the eye takes with this lens, as one lens at the vertex distance of the frame: `over` is what
    /// stands in the frame, at that distance.
    ///
    /// Light that comes through the frame reaches the worn lens with the vergence that it has there, gains the power of that
    /// lens, and the sum is carried back to the frame, each step by F / (1 − d F) in every meridian. `None` where the worn lens
    /// would stand in front of the frame, which is then set to a wrong distance, and where light comes to a focus on the way.
    pub fn total(&self, over: Power, frame_vertex: Millimetres) -> Option<Power> {
        if self.vertex.0 > frame_vertex.0 {
            return None;
        }
        let behind = at_vertex(over, frame_vertex, self.vertex) + self.power.power();
        Some(at_vertex(behind, self.vertex, frame_vertex)).filter(|total| total.is_finite())
    }
}
