//! The table of procedures: their names, what they are about, and what they are called.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::chosen::Strategy;
use crate::optics::Eye;

/// What a procedure can be about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// One eye, which is always named.
    OneEye,
    /// Both eyes together.
    BothEyes,
    /// One eye, or one after the other.
    Either,
}

/// Hands the table to a macro: a row for each procedure, in the order of an exam; later ones at the end, so that each keeps its key. Everything that lists procedures is made
/// from it.
macro_rules! with_procedures {
    ($table:ident) => {
        $table! {
            /// Person, frame and unaided acuity.
            SetUp, BothEyes, "history and frame";
            /// The present glasses by hand neutralisation.
            Neutralisation, Either, "hand neutralisation of glasses";
            /// Retinoscopy.
            Retinoscopy, Either, "retinoscopy";
            /// The first lens.
            FirstLens, OneEye, "first lens";
            /// The best vision sphere.
            BestSphere, OneEye, "best vision sphere";
            /// Has too much minus been given?
            OverMinusCheck, OneEye, "over-minus check";
            /// Is there astigmatism? By the cross cylinder.
            CrossCylinderSearch, OneEye, "cross-cylinder search";
            /// Astigmatism on the fan and block.
            Fan, OneEye, "fan";
            /// Astigmatism by the stenopaeic slit.
            Slit, OneEye, "slit";
            /// Axis by the cross cylinder.
            CrossCylinderAxis, OneEye, "cylinder axis";
            /// Power by the cross cylinder.
            CrossCylinderPower, OneEye, "cylinder power";
            /// The sphere once more.
            FinalSphere, OneEye, "final sphere";
            /// Sphere and cylinder by likelihood: what is asked next is what tells most.
            Likelihood, OneEye, "refraction by likelihood";
            /// Both eyes equal.
            Balance, BothEyes, "balance of both eyes";
            /// The addition.
            Near, BothEyes, "near addition";
            /// Writing it down.
            Writing, BothEyes, "prescription";
            /// A first letter, where an eye reads none unaided: in place of the first lens.
            FirstLetter, OneEye, "finding a first letter";
        }
    };
}
pub(crate) use with_procedures;

macro_rules! names {
    ($($(#[doc = $doc:literal])+ $name:ident, $about:ident, $shown:literal;)+) => {
        /// A procedure that the guide leads.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum ProcedureName {
            $($(#[doc = $doc])+ $name),+
        }

        impl ProcedureName {
            /// Every procedure, in the order of an exam.
            pub const ALL: &[Self] = &[$(Self::$name),+];

            /// What it can be about.
            pub fn about(self) -> About {
                match self {
                    $(Self::$name => About::$about),+
                }
            }

            /// The same where room is short.
            pub fn in_few_words(self) -> &'static str {
                if self == Self::Likelihood { "by likelihood" } else { self.shown() }
            }

            /// What it is called on a screen.
            pub fn shown(self) -> &'static str {
                match self {
                    $(Self::$name => $shown),+
                }
            }
        }
    };
}
with_procedures!(names);

impl ProcedureName {
    /// Whether it can be about this eye, or about both when `None`.
    pub fn takes(self, eye: Option<Eye>) -> bool {
        match self.about() {
            About::OneEye => eye.is_some(),
            About::BothEyes => eye.is_none(),
            About::Either => true,
        }
    }

    /// Whether it leaves the sphere to be searched for once more in halves, since it does not keep the spherical equivalent.
    pub fn shifts_the_equivalent(self) -> bool {
        match self {
            Self::Fan | Self::Slit => true,
            Self::SetUp
            | Self::Neutralisation
            | Self::Retinoscopy
            | Self::FirstLens
            | Self::BestSphere
            | Self::OverMinusCheck
            | Self::CrossCylinderSearch
            | Self::CrossCylinderAxis
            | Self::CrossCylinderPower
            | Self::FinalSphere
            | Self::Likelihood
            | Self::Balance
            | Self::Near
            | Self::Writing
            | Self::FirstLetter => false,
        }
    }

    /// Whether it looks for astigmatism where none is known yet: after it a cylinder is refined, not looked for again.
    pub fn looks_for_astigmatism(self) -> bool {
        match self {
            Self::CrossCylinderSearch | Self::Fan | Self::Slit => true,
            Self::SetUp
            | Self::Neutralisation
            | Self::Retinoscopy
            | Self::FirstLens
            | Self::BestSphere
            | Self::OverMinusCheck
            | Self::CrossCylinderAxis
            | Self::CrossCylinderPower
            | Self::FinalSphere
            | Self::Likelihood
            | Self::Balance
            | Self::Near
            | Self::Writing
            | Self::FirstLetter => false,
        }
    }

    /// Whether it asks with a cross cylinder.
    pub fn asks_with_a_cross_cylinder(self) -> bool {
        match self {
            Self::CrossCylinderSearch | Self::CrossCylinderAxis | Self::CrossCylinderPower => true,
            Self::SetUp
            | Self::Neutralisation
            | Self::Retinoscopy
            | Self::FirstLens
            | Self::BestSphere
            | Self::OverMinusCheck
            | Self::Fan
            | Self::Slit
            | Self::FinalSphere
            | Self::Likelihood
            | Self::Balance
            | Self::Near
            | Self::Writing
            | Self::FirstLetter => false,
        }
    }

    /// The way of refracting that it is part of; `None` where it is part of either.
    pub fn strategy(self) -> Option<Strategy> {
        match self {
            Self::Likelihood => Some(Strategy::Belief),
            Self::FirstLens
            | Self::BestSphere
            | Self::OverMinusCheck
            | Self::CrossCylinderSearch
            | Self::Fan
            | Self::Slit
            | Self::CrossCylinderAxis
            | Self::CrossCylinderPower
            | Self::FinalSphere => Some(Strategy::Ladder),
            Self::SetUp
            | Self::Neutralisation
            | Self::Retinoscopy
            | Self::FirstLetter
            | Self::Balance
            | Self::Near
            | Self::Writing => None,
        }
    }

    /// The eye that it is about, where somebody works on one: none for what is only, or can be, about both.
    pub fn eye_of(self, at_work: Eye) -> Option<Eye> {
        match self.about() {
            About::OneEye => Some(at_work),
            About::BothEyes | About::Either => None,
        }
    }
}

impl fmt::Display for ProcedureName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.shown())
    }
}
