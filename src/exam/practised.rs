//! What an exam of a practice eye has beside what every exam has: who sits there, and what was asked of that eye by hand.

use serde::{Deserialize, Serialize};

use super::answer::Answer;
use crate::optics::{Eye, Eyes, Power};

/// Who sits there in an exam of a practice eye.
///
/// The text is for the program alone: it stands for a person, and what that person needs cannot be read in it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sitter {
    /// By what the person is drawn or named again.
    pub who: String,
    /// Which of several, from 1.
    pub number: u16,
    /// How many there are.
    pub of: u16,
}

/// What an eye is asked by hand, without the guide.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ByHand {
    /// The lowest line that is read.
    Letters,
    /// Whether it is clearer with the lens in the hand than without.
    WithLens,
    /// Which lines of the fan are clearest.
    Fan,
    /// Which of red and green is clearer.
    RedGreen,
    /// Which position of the cross cylinder in the hand is clearer.
    CrossCylinder,
    /// Which eye is clearer, both of them open.
    ClearerEye,
    /// The smallest print that is read near.
    Print,
    /// How the light moves that is swept along this meridian, in degrees.
    Reflex {
        /// Degrees on the dial, 0 to 179.
        along: u8,
    },
}

impl ByHand {
    /// The meridian along which a streak is swept, in degrees, where light is what is asked about.
    pub fn along_deg(self) -> Option<u8> {
        match self {
            Self::Reflex { along } => Some(along),
            Self::Letters
            | Self::WithLens
            | Self::Fan
            | Self::RedGreen
            | Self::CrossCylinder
            | Self::ClearerEye
            | Self::Print => None,
        }
    }
}

/// Who answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AnsweredBy {
    /// The practice eye, by its law.
    TheEye,
    /// The student, who judged the picture.
    TheStudent,
}

impl AnsweredBy {
    /// Both, the eye first.
    pub const BOTH: [Self; 2] = [Self::TheEye, Self::TheStudent];
}

/// Something that was asked by hand, and what was answered.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AskedByHand {
    /// Which eye; `None` for both together.
    pub eye: Option<Eye>,
    /// What.
    pub question: ByHand,
    /// The answer.
    pub answer: Answer,
    /// Whose it is.
    pub by: AnsweredBy,
}

/// Something that happens only in an exam of a practice eye.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PracticeEvent {
    /// Something was asked by hand.
    Asked(AskedByHand),
    /// The student is done, and the truth may be shown.
    Ended {
        /// Whether it was given up.
        gave_up: bool,
    },
}

/// The part of an exam's state that only practice has.
#[derive(Debug, Clone, PartialEq)]
pub struct Practised {
    /// Who sits there.
    pub sitter: Sitter,
    /// What was asked by hand, in order.
    pub asked: Vec<AskedByHand>,
    /// What stood before both eyes, with what the hand held, as each of them was asked.
    pub through: Vec<Eyes<Power>>,
    /// Whether it ended, and whether by giving up.
    pub ended: Option<bool>,
}

impl Practised {
    /// A practice exam as it begins.
    pub(super) fn begun(sitter: Sitter) -> Self {
        Self { sitter, asked: Vec::new(), through: Vec::new(), ended: None }
    }

    /// Takes in what happened with this before the eyes.
    pub(super) fn note(&mut self, event: &PracticeEvent, through: Eyes<Power>) {
        match event {
            PracticeEvent::Asked(asked) => {
                self.asked.push(*asked);
                self.through.push(through);
            }
            PracticeEvent::Ended { gave_up } => self.ended = Some(*gave_up),
        }
    }
}
