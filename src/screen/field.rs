//! The details of an exam that can be typed: what they are called, how they are written, what they are now.

use super::app::App;
use super::words;
use crate::exam::cautions::last;
use crate::exam::prescription::{prism_parts, too_plus_of_near_chart};
use crate::exam::{Complaint, Through};
use crate::optics::notation::{LensToken, Style, write_lens};
use crate::optics::{Acuity, Eye, Millimetres, PrismPart, SpheroCylinder};

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

/// The chart distance in metres that holds: the exam's, or the settings' where it has none.
pub fn chart_metres(app: &App) -> f64 {
    app.state().person.chart_metres.unwrap_or(app.settings.chart_m)
}

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
    pub fn called(self) -> String {
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
            _ => None,
        }
    }

    /// How it is written, for the typed line.
    pub fn how(self) -> &'static str {
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

    /// Whether it can be taken back, so that the record has none again.
    pub fn can_be_taken_back(self) -> bool {
        matches!(self, Self::Accepted(_) | Self::Prism(_) | Self::Addition | Self::ChartAllowance)
    }

    /// What it is now; `None` when it is not known.
    pub fn value(self, app: &App) -> Option<String> {
        let state = app.state();
        let person = &state.person;
        let fitted = &state.fitted;
        let millimetres = |distance: Millimetres| format!("{} mm", distance.0);
        let metres = |distance: f64| format!("{distance} m");
        let power = |power: SpheroCylinder| words::power(power.power(), app.ui.form);
        let acuity = |acuity: Acuity| acuity.write(app.settings.acuity, Style::Ascii);
        match self {
            Self::Label => person.label.clone(),
            Self::Age => person.age_years.map(|years| format!("{years} years")),
            Self::Complaint => person.complaint.map(|complaint| {
                match complaint {
                    Complaint::FarBlur => "far away only",
                    Complaint::BlurEverywhere => "at all distances",
                    Complaint::NearOnly => "near only",
                    Complaint::Nothing => "nowhere",
                }
                .to_owned()
            }),
            Self::DominantEye => person.dominant_eye.map(|eye| eye.to_string()),
            Self::EyePd(eye) => fitted.eye_pd[eye].map(millimetres),
            Self::FramePd(eye) => fitted.frame_pd[eye].map(millimetres),
            Self::PlannedVertex => person.planned_vertex.map(millimetres),
            Self::Chart => person.chart_metres.map(metres),
            Self::Near => person.near_metres.map(metres),
            Self::Working => person.working_metres.map(metres),
            Self::OldGlasses(eye) => person.old_glasses[eye].map(power),
            Self::OldAddition => person.old_addition.map(words::dioptres),
            Self::Acuity(Through::Frame, eye) => {
                let reading = state.readings.iter().rev().find(|reading| reading.eye == eye)?;
                let before = eye.and_then(|eye| reading.before[eye]);
                let with = before.map(|before| format!(" with {}", words::power(before, app.ui.form)));
                Some(acuity(reading.acuity) + &with.unwrap_or_default())
            }
            Self::Acuity(through, eye) => last(state, eye?, through).map(acuity),
            Self::Accepted(eye) => state.results.refraction[eye].map(|found| words::power(found, app.ui.form)),
            Self::Prism(eye) => {
                let prism = state.results.prism[eye]?;
                let part = |part: &PrismPart| {
                    write_lens(&LensToken::Prism { amount: part.amount, base: part.base }, Style::Ascii)
                };
                Some(prism_parts(prism, eye).iter().map(part).collect::<Vec<_>>().join(" "))
            }
            Self::Addition => state.results.addition.map(words::dioptres),
            Self::ChartAllowance => state.results.chart_allowance.map(|dioptres| format!("{dioptres:.2} D")),
            Self::Note => match state.notes.as_slice() {
                [] => None,
                [note] => Some(note.clone()),
                notes => notes.last().map(|note| format!("{} notes, the last: {note}", notes.len())),
            },
        }
    }

    /// What holds where nothing was typed, and why.
    pub fn otherwise(self, app: &App) -> Option<String> {
        let frame_vertex = app.state().fitted.frame.vertex.0;
        match self {
            Self::PlannedVertex => Some(match app.settings.planned_vertex {
                Some(vertex) => format!("{} mm, as the settings say", vertex.0),
                None => format!("{frame_vertex} mm, as the frame"),
            }),
            Self::Chart => Some(format!("{} m, as the settings say", app.settings.chart_m)),
            Self::ChartAllowance => {
                let metres = chart_metres(app);
                Some(format!("none; {:.2} D would be for {metres} m", too_plus_of_near_chart(metres)))
            }
            Self::FramePd(eye) => app.state().fitted.eye_pd[eye].map(|_| "the person's".to_owned()),
            _ => None,
        }
    }
}
