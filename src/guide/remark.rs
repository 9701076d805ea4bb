//! What the guide says beside its question: contradictions, missing lenses, cautions.

use std::fmt;

use super::words::{signed, written};
use crate::exam::ProcedureName;
use crate::optics::{Eye, Power, Prism};

/// Something the guide says beside its question.
#[derive(Debug, Clone, PartialEq)]
pub enum Remark {
    /// Two answers cannot both be right.
    Contradiction {
        /// Of which eye.
        eye: Eye,
        /// The one, in words.
        before: String,
        /// The other, in words.
        now: String,
    },
    /// No free lens makes what a step needs: it was passed over.
    NoLens {
        /// Of which eye; `None` for both.
        eye: Option<Eye>,
        /// What is missing, in words.
        what: String,
    },
    /// What stands before the eye is the nearest that the free lenses make.
    Nearest {
        /// Of which eye.
        eye: Eye,
        /// What was wanted.
        wanted: Power,
        /// What stands there.
        stands: Power,
    },
    /// Another step than the usual one is shown, because its lens is not free.
    OtherStep {
        /// Of which eye.
        eye: Eye,
        /// The usual step in dioptres.
        usual: f64,
        /// The step that is shown.
        shown: f64,
    },
    /// A step is made in the cells, because no loose lens of it is free.
    InTheCells {
        /// Of which eye.
        eye: Eye,
    },
    /// A pinhole does not improve a poor acuity.
    PinholeNoHelp(Eye),
    /// The frame is set to another pupillary distance than the person's.
    FramePd {
        /// Of which eye.
        eye: Eye,
        /// The prism that the lenses in the frame induce.
        prism: Prism,
        /// By how much every lens stands off centre, in millimetres.
        off_mm: f64,
    },
    /// The chart is so near that the sphere is found too plus.
    NearChart {
        /// Its distance in metres.
        metres: f64,
        /// By how much in dioptres.
        too_plus: f64,
    },
    /// The age is not known, so a further minus is treated as for the young.
    AgeUnknown,
    /// A young person's accommodation can hide long sight.
    YoungHyperope,
    /// There is no cylinder to refine.
    NoCylinder(Eye),
    /// Nothing speaks for astigmatism.
    NoAstigmatism(Eye),
    /// The eye reads better than expected through +1.00: too much minus.
    TooMuchMinus(Eye),
    /// The acuities differ too much to be balanced.
    NotBalanced,
    /// More fog is left before both eyes than a quarter: two quarters less gained nothing.
    FogLeft {
        /// The fog in dioptres.
        dioptres: f64,
    },
    /// A procedure was ended because its answers lead nowhere.
    Ended(ProcedureName),
    /// The findings call for a look by somebody who can treat.
    Refer(&'static str),
    /// The working lens is part of what stands before the eye.
    WorkingLens {
        /// Its power in dioptres.
        power: f64,
        /// Whether it is in the frame (else it is kept in the head).
        in_frame: bool,
    },
    /// A note that one procedure leaves.
    Plain(&'static str),
}

impl Remark {
    /// Whether it may change what is done now; the others explain.
    pub fn is_grave(&self) -> bool {
        match self {
            Self::Contradiction { .. }
            | Self::NoLens { .. }
            | Self::Nearest { .. }
            | Self::OtherStep { .. }
            | Self::InTheCells { .. }
            | Self::PinholeNoHelp(_)
            | Self::FramePd { .. }
            | Self::YoungHyperope
            | Self::TooMuchMinus(_)
            | Self::FogLeft { .. }
            | Self::Ended(_)
            | Self::Refer(_) => true,
            Self::NearChart { .. }
            | Self::AgeUnknown
            | Self::NoCylinder(_)
            | Self::NoAstigmatism(_)
            | Self::NotBalanced
            | Self::WorkingLens { .. }
            | Self::Plain(_) => false,
        }
    }

    /// Whether the step is done otherwise than its instruction says.
    pub fn is_another_step(&self) -> bool {
        match self {
            Self::OtherStep { .. } | Self::InTheCells { .. } => true,
            Self::Contradiction { .. }
            | Self::NoLens { .. }
            | Self::Nearest { .. }
            | Self::PinholeNoHelp(_)
            | Self::FramePd { .. }
            | Self::NearChart { .. }
            | Self::AgeUnknown
            | Self::YoungHyperope
            | Self::NoCylinder(_)
            | Self::NoAstigmatism(_)
            | Self::TooMuchMinus(_)
            | Self::NotBalanced
            | Self::FogLeft { .. }
            | Self::Ended(_)
            | Self::Refer(_)
            | Self::WorkingLens { .. }
            | Self::Plain(_) => false,
        }
    }
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Contradiction { eye, before, now } => {
                write!(f, "{eye} eye: these answers do not agree: {before}; now {now}. The later one counts: ask again to be sure.")
            }
            Self::NoLens { eye: Some(eye), what } => write!(f, "{eye} eye: no free lens for {what}: passed over."),
            Self::NoLens { eye: None, what } => write!(f, "No free lens for {what}: passed over."),
            Self::Nearest { eye, wanted, stands } => write!(
                f,
                "{eye} eye: {} cannot be made from what is free; {} stands there, {:.2} D away.",
                written(*wanted),
                written(*stands),
                wanted.miss(*stands)
            ),
            Self::OtherStep { eye, usual, shown } => {
                write!(f, "{eye} eye: no lens for a step of {} is free: this step is {}.", signed(*usual), signed(*shown))
            }
            Self::InTheCells { eye } => {
                write!(f, "{eye} eye: no loose lens of this step is free: change it in the frame and back.")
            }
            Self::PinholeNoHelp(eye) => write!(
                f,
                "{eye} eye: a pinhole does not improve this acuity: lenses may not either. Have the eye looked at."
            ),
            Self::FramePd { eye, prism, off_mm } => write!(
                f,
                "{eye} eye: the frame is not set to this eye's pupillary distance: each lens stands {off_mm:.1} mm off \
                 and induces {:.1} Δ base {:.0}° with what is in now.",
                prism.amount(),
                prism.base_deg()
            ),
            Self::NearChart { metres, too_plus } => {
                write!(f, "The chart stands at {metres} m: the sphere is found {too_plus:.2} D too plus for far away.")
            }
            Self::AgeUnknown => f.write_str("The age is not known: more minus is kept only for another letter."),
            Self::YoungHyperope => f.write_str(
                "A child or a young long-sighted person can hide plus by accommodating: drops may be needed to find it.",
            ),
            Self::NoCylinder(eye) => write!(f, "{eye} eye: there is no cylinder to refine."),
            Self::NoAstigmatism(eye) => write!(f, "{eye} eye: nothing speaks for astigmatism."),
            Self::TooMuchMinus(eye) => {
                write!(f, "{eye} eye: reads better than 6/12 through +1.00: there is too much minus. Plus is added.")
            }
            Self::NotBalanced => f.write_str("The two acuities differ by more than a line: there is nothing to balance."),
            Self::FogLeft { dioptres } => write!(
                f,
                "Both eyes keep {} over what was found for each alone: read the chart, and balance again if it is poorer.",
                signed(*dioptres)
            ),
            Self::Ended(procedure) => write!(f, "These answers lead nowhere: {procedure} ends with what stands there."),
            Self::Refer(why) => write!(f, "{why}: have this person seen by somebody who can examine and treat the eye."),
            Self::WorkingLens { power, in_frame: true } => {
                write!(f, "The working lens {} is in the frame; it comes out at the end.", signed(*power))
            }
            Self::WorkingLens { power, in_frame: false } => {
                write!(f, "The working lens {} is not in the frame; it is taken off at the end.", signed(*power))
            }
            Self::Plain(text) => f.write_str(text),
        }
    }
}
