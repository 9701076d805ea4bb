//! The details of an exam that can be typed: their names, and how they are written.

use crate::exam::{Complaint, Through};
use crate::optics::Eye;

/// A detail that can be typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Field {
    /// Label or initials.
    Label,
    /// Age in years.
    Age,
    /// What the person says.
    Complaint,
    /// The eye that the person prefers.
    DominantEye,
    /// Pupillary distance of an eye.
    EyePd(Eye),
    /// Pupillary distance to which the frame is set.
    FramePd(Eye),
    /// Vertex distance of the glasses.
    PlannedVertex,
    /// Chart distance.
    Chart,
    /// Near distance.
    Near,
    /// Working distance of retinoscopy.
    Working,
    /// Old glasses of an eye.
    OldGlasses(Eye),
    /// Old addition.
    OldAddition,
    /// An acuity; of both eyes together when none is named.
    Acuity(Through, Option<Eye>),
    /// The power found for an eye; not typed, but taken from the cells.
    Accepted(Eye),
    /// The prism wanted before an eye.
    Prism(Eye),
    /// The addition.
    Addition,
    /// Dioptres taken off for a near chart.
    ChartAllowance,
    /// A note; the notes before it stay.
    Note,
}

/// What the person can say, and the word for it.
pub const COMPLAINTS: [(&str, Complaint); 4] = [
    ("far", Complaint::FarBlur),
    ("all", Complaint::BlurEverywhere),
    ("near", Complaint::NearOnly),
    ("nothing", Complaint::Nothing),
];

impl Field {
    /// What it is, without the eye.
    pub fn name(self) -> &'static str {
        match self {
            Self::Label => "label or initials",
            Self::Age => "age",
            Self::Complaint => "says it is blurred",
            Self::DominantEye => "preferred eye",
            Self::EyePd(_) => "pupillary distance",
            Self::FramePd(_) => "frame is set to",
            Self::PlannedVertex => "glasses will sit at",
            Self::Chart => "chart at",
            Self::Near => "near work at",
            Self::Working => "retinoscopy at",
            Self::OldGlasses(_) => "old glasses",
            Self::OldAddition => "old addition, both",
            Self::Acuity(Through::Unaided, _) => "unaided",
            Self::Acuity(Through::Pinhole, _) => "through a pinhole",
            Self::Acuity(Through::OldGlasses, _) => "with old glasses",
            Self::Acuity(Through::Frame, Some(_)) => "through the frame",
            Self::Acuity(Through::Frame, None) => "both eyes, frame",
            Self::Accepted(_) => "power accepted",
            Self::Prism(_) => "prism wanted",
            Self::Addition => "addition, both eyes",
            Self::ChartAllowance => "off for chart, both",
            Self::Note => "notes",
        }
    }

    /// What it is, with its eye.
    pub fn full_name(self) -> String {
        match self.eye() {
            Some(eye) => format!("{}, {eye} eye", self.name()),
            None => self.name().to_owned(),
        }
    }

    /// Which eye it is of.
    pub fn eye(self) -> Option<Eye> {
        match self {
            Self::EyePd(eye)
            | Self::FramePd(eye)
            | Self::OldGlasses(eye)
            | Self::Acuity(_, Some(eye))
            | Self::Accepted(eye)
            | Self::Prism(eye) => Some(eye),
            Self::Acuity(_, None)
            | Self::Label
            | Self::Age
            | Self::Complaint
            | Self::DominantEye
            | Self::PlannedVertex
            | Self::Chart
            | Self::Near
            | Self::Working
            | Self::OldAddition
            | Self::Addition
            | Self::ChartAllowance
            | Self::Note => None,
        }
    }

    /// How it is written, for the typed line.
    pub fn hint(self) -> &'static str {
        match self {
            Self::Label => "no name is needed",
            Self::Age => "in years",
            Self::Complaint => "far, all, near or nothing",
            Self::DominantEye => "right or left",
            Self::EyePd(_) | Self::FramePd(_) => "mm from mid-nose",
            Self::PlannedVertex => "mm",
            Self::Chart | Self::Near | Self::Working => "metres",
            Self::OldGlasses(_) => "like -4.25/-0.75x180",
            Self::OldAddition | Self::Addition => "like +1.25",
            Self::Acuity(..) => "like 6/12-2, 20/40, 0.5, 0.3logMAR or none",
            Self::Accepted(_) => "taken from the cells",
            Self::Prism(_) => "like 2BI or 2BI 1BU",
            Self::ChartAllowance => "D, like 0.08",
            Self::Note => "the others stay",
        }
    }
}
