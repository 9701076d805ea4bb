//! A deviation of the eyes that prisms neutralised, and the prism chosen from it: shared between the eyes, or by Sheard's rule.

use serde::{Deserialize, Serialize};

use crate::optics::decentration::{between_eyes, split_in_halves};
use crate::optics::sheard::prism_wanted;
use crate::optics::{Eye, Eyes, Prism, PrismDioptres};

/// At which distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DeviationAt {
    /// At the chart.
    Far,
    /// At the near distance.
    Near,
}

impl DeviationAt {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Far, Self::Near];

    /// What it is called.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::Far => "far",
            Self::Near => "near",
        }
    }
}

/// How a deviation was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SeenBy {
    /// By a Maddox rod: light and line came together.
    MaddoxRod,
    /// By a cover test: the eyes moved no more.
    CoverTest,
}

impl SeenBy {
    /// What it is called.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::MaddoxRod => "Maddox rod",
            Self::CoverTest => "cover test",
        }
    }
}

/// What was found of a deviation at one distance.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Deviation {
    /// The prism before each eye that neutralised it, right first; `None` before both while nobody measured it.
    pub before: Eyes<Option<Prism>>,
    /// The reserve of the vergence that makes up for it, to the blur.
    pub reserve: Option<PrismDioptres>,
}

/// A deviation at one distance, as prism before one eye: what both eyes had in front, taken together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Neutralised(Eyes<Prism>);

/// Less than this is rounding, not a deviation, in prism dioptres.
const NONE_PDPT: f64 = 0.005;

impl Deviation {
    /// The prism that neutralised it, where it was measured before either eye.
    pub fn neutralised(&self) -> Option<Neutralised> {
        let measured = self.before.into_iter().any(|prism| prism.is_some());
        measured.then(|| Neutralised(self.before.map(Option::unwrap_or_default)))
    }
}

impl Neutralised {
    /// The whole of it before one eye. A base in stays in before the other eye, a base up becomes down.
    pub fn before(self, eye: Eye) -> Prism {
        between_eyes(self.0[eye], self.0[eye.other()])
    }

    /// The whole before one eye, nothing before the other.
    pub fn all_before(self, eye: Eye) -> Eyes<Prism> {
        Eyes::from_fn(|of| if of == eye { self.before(eye) } else { Prism::NONE })
    }

    /// A half before each eye.
    pub fn shared(self) -> Eyes<Prism> {
        let [right, left] = split_in_halves(self.before(Eye::Right));
        Eyes::new(right, left)
    }

    /// The horizontal prism, shared, that leaves a reserve twice the deviation (Sheard's rule, see
    /// [`prism_wanted`]); its base lies where that of the neutralising prism does. The rule says nothing of a vertical part.
    pub fn by_sheard(self, reserve: PrismDioptres) -> Eyes<Prism> {
        let horizontal = self.before(Eye::Right).x;
        let wanted = prism_wanted(PrismDioptres(horizontal.abs()), reserve).0;
        let [right, left] = split_in_halves(Prism { x: wanted.copysign(horizontal), y: 0.0 });
        Eyes::new(right, left)
    }

    /// Whether it has a vertical part.
    pub fn is_vertical_too(self) -> bool {
        self.before(Eye::Right).y.abs() >= NONE_PDPT
    }
}
