//! What a refraction by likelihood chose to show next, kept so that undo, a crash and a replay choose nothing again and ask the
//! same.

use serde::{Deserialize, Serialize};

use crate::optics::{Axis, Dioptres, Power};

/// What was chosen, and what was believed of the eye when it was.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Chosen {
    /// The power that stands before the eye for it; at the end, the result.
    pub stands: Power,
    /// What is shown and asked.
    pub shows: Shows,
    /// What was believed.
    pub believed: Believed,
}

/// What is believed of the need of an eye.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Believed {
    /// The mean need.
    pub mean: Power,
    /// Standard deviation of its spherical equivalent in dioptres.
    pub sphere_sd: f64,
    /// Standard deviation of the vector of its cylinder in dioptres.
    pub cylinder_sd: f64,
    /// How likely the equivalent of what stands there is right within a quarter: 0 to 1.
    pub within_quarter: f64,
}

/// What is shown and asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Shows {
    /// Whether it is clearer with this sphere held in front.
    Sphere(Dioptres),
    /// Whether another letter is read with this sphere held in front.
    Letters(Dioptres),
    /// Which position of a cross cylinder is clearer.
    CrossCylinder {
        /// The F of its +F and −F.
        power: Dioptres,
        /// Its minus axis in the first position; in the second it lies across.
        first: Axis,
    },
    /// The line that is read with this sphere held in front, 0 for none.
    Line(Dioptres),
    /// Nothing more: the result stands there.
    Ends,
    /// Nothing more: another way of refracting goes on from here.
    HandsOver {
        /// Because the answers fit no eye, not because they were too many.
        surprised: bool,
    },
}

/// In which way an eye is refracted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Strategy {
    /// One procedure after another, in steps from coarse to fine.
    #[default]
    Ladder,
    /// By likelihood: what is asked next is what tells most.
    Belief,
}

impl Strategy {
    /// Every way.
    pub const ALL: [Self; 2] = [Self::Ladder, Self::Belief];

    /// Its name on the command line, in settings and in files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ladder => "ladder",
            Self::Belief => "belief",
        }
    }

    /// The way of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|strategy| strategy.name() == name)
    }

    /// What it is called on a screen and a record.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::Ladder => "step by step",
            Self::Belief => "by likelihood",
        }
    }

    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Ladder => Self::Belief,
            Self::Belief => Self::Ladder,
        }
    }
}
