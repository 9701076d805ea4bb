//! The person and the room.

use serde::{Deserialize, Serialize};

use super::chosen::Strategy;
use super::deviation::{Deviation, DeviationAt, SeenBy};
use super::drops::DropsPut;
use crate::optics::{Eye, Eyes, Millimetres, Power, SpheroCylinder, WornLens};

/// What the person complains of; it decides the first guess.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Complaint {
    /// Blurred far away only.
    FarBlur,
    /// Blurred at all distances.
    BlurEverywhere,
    /// Only near work is hard.
    NearOnly,
    /// No trouble with seeing at any distance.
    Nothing,
}

/// A sign that needs somebody who can examine and treat the eye (IAPB school eye health guideline, hospital triage pages).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RedFlag {
    /// Sight that was lost suddenly.
    SuddenLoss,
    /// Pain, or a red eye.
    Pain,
    /// Flashes of light.
    Flashes,
    /// New floaters, or a curtain.
    Floaters,
    /// Double vision.
    DoubleVision,
    /// A child's eye that turns.
    TurnedEye,
}

impl RedFlag {
    /// All of them, in the order in which they are asked.
    pub const ALL: [Self; 6] =
        [Self::SuddenLoss, Self::Pain, Self::Flashes, Self::Floaters, Self::DoubleVision, Self::TurnedEye];

    /// What it is called.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::SuddenLoss => "sudden loss of sight",
            Self::Pain => "pain or a red eye",
            Self::Flashes => "flashes of light",
            Self::Floaters => "new floaters or a curtain",
            Self::DoubleVision => "double vision",
            Self::TurnedEye => "a child's eye that turns",
        }
    }
}

/// What is known of the glasses that the person has now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PresentGlasses {
    /// There are none.
    None,
    /// They are here, and their power is known.
    HereKnown,
    /// They are here, and nobody knows their power yet.
    HereUnknown,
    /// They are not here.
    Elsewhere,
}

impl PresentGlasses {
    /// All of them, in the order in which they are asked.
    pub const ALL: [Self; 4] = [Self::None, Self::HereKnown, Self::HereUnknown, Self::Elsewhere];

    /// What it is called.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::None => "no glasses",
            Self::HereKnown => "here, power known",
            Self::HereUnknown => "here, power not known",
            Self::Elsewhere => "has some, not here",
        }
    }

    /// Whether the person can read through them now.
    pub const fn are_here(self) -> bool {
        match self {
            Self::HereKnown | Self::HereUnknown => true,
            Self::None | Self::Elsewhere => false,
        }
    }

    /// Whether somebody may be able to say their power.
    pub const fn may_be_known(self) -> bool {
        match self {
            Self::HereKnown | Self::Elsewhere => true,
            Self::None | Self::HereUnknown => false,
        }
    }
}

/// What the person does near.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum NearTask {
    /// Reading and writing.
    Reading,
    /// Fine work: sewing, repairs.
    FineWork,
    /// A computer screen.
    Screen,
    /// Something else, at a distance that was measured.
    Other,
}

impl NearTask {
    /// All of them, in the order in which they are asked.
    pub const ALL: [Self; 4] = [Self::Reading, Self::FineWork, Self::Screen, Self::Other];

    /// What it is called.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::Reading => "reading",
            Self::FineWork => "fine work",
            Self::Screen => "a screen",
            Self::Other => "something else",
        }
    }

    /// How far it usually is from the eyes, in metres (common practice, no source); `None` where that has to be measured.
    pub const fn usual_metres(self) -> Option<f64> {
        match self {
            Self::Reading => Some(0.40),
            Self::FineWork => Some(0.33),
            Self::Screen => Some(0.60),
            Self::Other => None,
        }
    }
}

/// A steady difference of earlier retinoscopy from the power then found, over closed exams.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct EarlierRetinoscopy {
    /// How many eyes were compared.
    pub eyes: usize,
    /// The parts of the mean difference that are steady, retinoscopy less found power.
    pub differs: Power,
    /// Standard deviation of each part.
    pub spread: Power,
}

/// Questions that were asked again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Repeats {
    /// How many.
    pub repeated: usize,
    /// How many of them got another answer.
    pub changed: usize,
}

impl Repeats {
    /// These and others together.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self { repeated: self.repeated + other.repeated, changed: self.changed + other.changed }
    }

    /// Whether there are none.
    pub fn is_none(&self) -> bool {
        *self == Self::default()
    }
}

/// What the examiner's earlier exams say of how sure this examiner's answers are, over closed exams.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct EarlierExams {
    /// How many eyes had retinoscopy and a power found afterwards.
    pub eyes: usize,
    /// The mean difference, retinoscopy less found power; nothing below two eyes.
    pub differs: Power,
    /// Standard deviation of each part; nothing below two eyes.
    pub spread: Power,
    /// Questions that were asked again, and how many of them got another answer.
    pub repeats: Repeats,
}

/// What is known of the person and the room.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Person {
    /// Label or initials.
    pub label: Option<String>,
    /// Age in whole years.
    pub age_years: Option<u8>,
    /// What the person complains of.
    pub complaint: Option<Complaint>,
    /// Vertex distance for which glasses are planned; the frame's own when not said.
    pub planned_vertex: Option<Millimetres>,
    /// Chart distance in metres.
    pub chart_metres: Option<f64>,
    /// The distance in metres for which the chart's figures are printed; that at which it stands, when not said.
    pub chart_made_for_metres: Option<f64>,
    /// Near distance in metres.
    pub near_metres: Option<f64>,
    /// Working distance of retinoscopy in metres.
    pub working_metres: Option<f64>,
    /// Old glasses, right first.
    pub old_glasses: Eyes<Option<SpheroCylinder>>,
    /// Addition of the old glasses in dioptres, one for both eyes.
    pub old_addition: Option<f64>,
    /// The preferred eye.
    pub dominant_eye: Option<Eye>,
    /// How the examiner's earlier retinoscopy differs from the power then found; once known it stays for the exam.
    pub earlier_retinoscopy: Option<EarlierRetinoscopy>,
    /// In which way the eyes are refracted.
    pub strategy: Option<Strategy>,
    /// The signs that were named; `None` while nobody asked, empty when none was.
    pub red_flags: Option<Vec<RedFlag>>,
    /// Whether drops rest the accommodation (cycloplegia).
    pub drops: bool,
    /// The drops that were put in, the first ones first.
    pub drops_put: Vec<DropsPut>,
    /// The glasses that the person has now.
    pub present_glasses: Option<PresentGlasses>,
    /// What the person does near.
    pub near_task: Option<NearTask>,
    /// How far the old glasses may be off in each meridian, in dioptres, where they were measured by hand, right first.
    pub old_glasses_within: Eyes<Option<f64>>,
    /// What the examiner's earlier exams say; once known it stays for the exam.
    pub earlier_exams: Option<EarlierExams>,
    /// What stays on under the frame before each eye, right first: all that is found is found over it.
    pub stays_on: Eyes<Option<WornLens>>,
    /// Vertex distance of the frame where it was measured at this person; the frame's declared one where it was not.
    pub measured_vertex: Option<Millimetres>,
    /// Pantoscopic tilt of the lenses in degrees, where it is declared.
    pub tilt_deg: Option<f64>,
    /// Face form of the lenses in degrees, where it is declared.
    pub face_form_deg: Option<f64>,
    /// How a deviation of the eyes was seen.
    pub deviation_seen_by: Option<SeenBy>,
    /// The deviation at the chart.
    pub deviation_far: Deviation,
    /// The deviation at the near distance.
    pub deviation_near: Deviation,
}

impl Person {
    /// The old glasses of an eye as a first guess at what is looked for: none where something stays on, as they tell of the
    /// whole power of the eye and not of what it takes over that.
    pub fn glasses_to_start_from(&self, eye: Eye) -> Option<SpheroCylinder> {
        self.old_glasses[eye].filter(|_| self.stays_on[eye].is_none())
    }

    /// The deviation of the eyes at a distance.
    pub fn deviation(&self, at: DeviationAt) -> &Deviation {
        match at {
            DeviationAt::Far => &self.deviation_far,
            DeviationAt::Near => &self.deviation_near,
        }
    }

    /// The same, to be changed.
    pub(super) fn deviation_mut(&mut self, at: DeviationAt) -> &mut Deviation {
        match at {
            DeviationAt::Far => &mut self.deviation_far,
            DeviationAt::Near => &mut self.deviation_near,
        }
    }
}
