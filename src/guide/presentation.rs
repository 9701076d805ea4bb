//! What to present next, as data: the screen words it, the realiser finds the lenses, a person or a practice eye answers.

use super::question::{Choice, Question};
use super::remark::Remark;
use crate::exam::{ProcedureName, Sentence, Shown};
use crate::optics::{Axis, Dioptres, Eye, Eyes, Power};

/// How something is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Show {
    /// What stands in the cells, nothing else.
    AsItIs,
    /// `to` against `from`: the difference is held in front where a loose lens of it is free, else made in the cells.
    Compare,
    /// `to` is built into the cells and looked through.
    BuildIn,
    /// A cross cylinder is held in front of what stands in the cells and flipped.
    CrossCylinder {
        /// Before which eye.
        eye: Eye,
        /// The F of its +F and −F: 0.25 for one of ±0.25.
        power: Dioptres,
        /// Its minus axis in the first position.
        first: Axis,
        /// Its minus axis in the second position.
        second: Axis,
    },
    /// A pinhole is held in front.
    Pinhole {
        /// Before which eye.
        eye: Eye,
    },
    /// A stenopaeic slit is held in front.
    Slit {
        /// Before which eye.
        eye: Eye,
        /// Along which meridian, in degrees; `None` to turn it slowly.
        meridian: Option<Axis>,
    },
    /// The streak of the retinoscope sweeps.
    Sweep {
        /// Before which eye.
        eye: Eye,
        /// Along which meridian; the streak lies across it.
        meridian: Axis,
    },
}

impl Show {
    /// Whether what is shown can be compared with what was before by changing the cells.
    pub fn is_compared_in_the_cells(self) -> bool {
        match self {
            Self::Compare | Self::Slit { .. } => true,
            Self::AsItIs | Self::BuildIn | Self::CrossCylinder { .. } | Self::Pinhole { .. } | Self::Sweep { .. } => {
                false
            }
        }
    }
}

/// What everything judged so far leaves open, in dioptres of sphere: the answer lies between.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bracket {
    /// The least plus (most minus) power that is too minus.
    pub least_d: Option<f64>,
    /// The most plus power that is too plus.
    pub most_d: Option<f64>,
}

/// Where a procedure stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Presentations so far in this procedure, this one counted.
    pub presentation: usize,
    /// The most it can take.
    pub most: usize,
}

/// What to present next.
#[derive(Debug, Clone, PartialEq)]
pub struct Presentation {
    /// By which procedure; `None` between procedures.
    pub procedure: Option<ProcedureName>,
    /// Of which eye; `None` for both. The other eye is covered.
    pub eye: Option<Eye>,
    /// How it is shown.
    pub show: Show,
    /// What should stand in the cells first; `None` where it does not matter.
    pub from: Eyes<Option<Power>>,
    /// What should then be before the eyes.
    pub to: Eyes<Option<Power>>,
    /// What really stands there, once set out.
    pub shown: Shown,
    /// What is asked.
    pub question: Question,
    /// What to say to the person, in plain words; empty when nothing is said.
    pub say: Sentence,
    /// What the examiner does.
    pub instruction: Sentence,
    /// Why, in one line.
    pub why: Sentence,
    /// The answers, one key each.
    pub choices: Vec<Choice>,
    /// The bracket left, where there is one.
    pub bracket: Option<Bracket>,
    /// Where the procedure stands; `None` between procedures.
    pub progress: Option<Progress>,
    /// What the guide says beside it.
    pub remarks: Vec<Remark>,
}
