//! The twenty drills by name, what a slip in each would hurt, and the three levels.

use serde::{Deserialize, Serialize};

/// What a slip hurts, the worst first: somebody with the wrong sign before the eye is worse off than with no lens.
///
/// The order is common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hurts {
    /// Plus taken for minus.
    Sign,
    /// The other eye.
    Eye,
    /// An axis across, mirrored, or turned the wrong way.
    Axis,
    /// A power in another place than where it is asked for: gap or vertex distance left out.
    Vertex,
    /// None of these.
    Nothing,
}

/// Declares the drills: each with its name, what it is about, and what a slip in it hurts most.
macro_rules! drills {
    ($($(#[$doc:meta])+ $drill:ident, $name:literal, $about:literal, $hurts:ident;)+) => {
        /// One of the twenty drills.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum Drill {
            $($(#[$doc])+ #[serde(rename = $name)] $drill,)+
        }

        impl Drill {
            /// All of them, in the order in which they are listed.
            pub const ALL: &'static [Self] = &[$(Self::$drill),+];

            /// The name by which it is asked for.
            pub fn name(self) -> &'static str {
                match self { $(Self::$drill => $name,)+ }
            }

            /// What it is about, in a few words.
            pub fn about(self) -> &'static str {
                match self { $(Self::$drill => $about,)+ }
            }

            /// What a slip in it hurts most.
            pub fn hurts(self) -> Hurts {
                match self { $(Self::$drill => Hurts::$hurts,)+ }
            }
        }
    };
}

drills! {
    /// The power of a stack at cell 1.
    Net, "net", "the true power of a stack of lenses at cell 1", Vertex;
    /// Which lenses make a power.
    Stack, "stack", "which lenses of a tray make a power", Sign;
    /// The other cylinder form.
    Transposition, "transposition", "the same power with the cylinder of the other sign", Axis;
    /// The spherical equivalent.
    Equivalent, "equivalent", "the spherical equivalent", Sign;
    /// A power at another vertex distance.
    Effective, "effective", "a power at another vertex distance", Vertex;
    /// Two cylinders together.
    Crossed, "crossed", "two cylinders one behind the other", Axis;
    /// Axes on the dial.
    Axis, "axis", "axes on the dial, and what a cylinder off its axis leaves", Axis;
    /// The power in one meridian.
    Meridian, "meridian", "the power along one meridian", Axis;
    /// What retinoscopy found.
    Retinoscopy, "retinoscopy", "the eye's power from reversal at a working distance", Sign;
    /// The lens to show first.
    FirstLens, "first-lens", "the lens to show first", Sign;
    /// The step that can be noticed.
    Step, "step", "the smallest step that a person can notice", Nothing;
    /// The fan.
    Clock, "clock", "the minus axis from the clearest line of the fan", Axis;
    /// The cross cylinder.
    CrossCylinder, "cross-cylinder", "what follows from the position of the cross cylinder that is preferred", Axis;
    /// How the reflex moves.
    WithAgainst, "with-against", "how the reflex moves in retinoscopy", Sign;
    /// The addition for near.
    Addition, "addition", "the tentative addition for near", Nothing;
    /// Which lens goes into which cell.
    Order, "order", "the order of lenses in the cells, and of the moves", Vertex;
    /// Prism by decentration.
    Prentice, "prentice", "the prism of a lens that is off its centre", Eye;
    /// Acuities in another notation.
    Acuity, "acuity", "an acuity in another notation", Nothing;
    /// Which slip was made.
    Fault, "fault", "which slip was made between what was found and what was written", Eye;
    /// Who is to be referred.
    Refer, "refer", "who is to be referred, and who wants glasses", Nothing;
}

impl Drill {
    /// The drill of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|drill| drill.name() == name)
    }
}

/// How hard the items of a drill are: 1, 2 or 3.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Level {
    /// The rule itself, in round figures.
    #[serde(rename = "1")]
    One,
    /// As it comes in an exam.
    #[serde(rename = "2")]
    Two,
    /// With a second thing to think of.
    #[serde(rename = "3")]
    Three,
}

impl Level {
    /// All of them, the easiest first.
    pub const ALL: &'static [Self] = &[Self::One, Self::Two, Self::Three];

    /// The level with this number.
    pub fn numbered(number: u8) -> Option<Self> {
        Self::ALL.iter().copied().find(|level| level.number() == number)
    }

    /// Its number, 1 to 3.
    pub fn number(self) -> u8 {
        match self {
            Self::One => 1,
            Self::Two => 2,
            Self::Three => 3,
        }
    }
}

/// What is spaced: a drill at a level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Skill {
    /// The drill.
    pub drill: Drill,
    /// How hard.
    pub level: Level,
}

impl Skill {
    /// Every one, drill by drill.
    pub fn all() -> impl Iterator<Item = Self> {
        Drill::ALL.iter().flat_map(|&drill| Level::ALL.iter().map(move |&level| Self { drill, level }))
    }
}
