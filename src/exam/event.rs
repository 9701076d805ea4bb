//! What can happen in an exam. The logbook keeps these; nothing else changes an exam.
//!
//! Everything in an event is kept for ever under its name in snake case, and `tests/rooms/kept/` pins each name. A variant that
//! is renamed keeps its old name as a `#[serde(alias = "..")]` beside it, and the old row stays pinned in
//! `tests/rooms/kept/form1.jsonl`: kept rows are never rewritten.

use serde::{Deserialize, Serialize};

use super::answer::GuideEvent;
use super::came_back::found::{CameBack, CameBackTakenBack};
use super::chosen::Strategy;
use super::deviation::{DeviationAt, SeenBy};
use super::drops::DropsPut;
use super::outcome::Outcome;
use super::person::{Complaint, EarlierExams, EarlierRetinoscopy, NearTask, PresentGlasses, RedFlag};
use super::practised::{AskedByHand, PracticeEvent, Sitter};
use super::screening::Screened;
use super::trail::Tried;
use crate::frame::{FittedFrame, Move};
use crate::optics::{Acuity, Eye, Millimetres, Power, Prism, PrismDioptres, SpheroCylinder, WornLens};

/// How an exam begins: the frame and the box as they stood then, so that it reads the same when the files change later.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Opening {
    /// The empty frame beside the box.
    pub fitted: FittedFrame,
    /// Who sits there, in an exam of a practice eye.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sitter: Option<Sitter>,
}

impl Opening {
    /// How an exam of a person begins.
    pub fn of(fitted: FittedFrame) -> Self {
        Self { fitted, sitter: None }
    }
}

/// A detail of the person or the room, set once or corrected later.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Detail {
    /// A label or initials; no identity is needed.
    Label(String),
    /// Age in whole years.
    AgeYears(u8),
    /// What the person complains of.
    Complaint(Complaint),
    /// Pupillary distance of one eye, from the middle of the nose.
    EyePd(Eye, Millimetres),
    /// Pupillary distance of one eye to which the frame is set.
    FramePd(Eye, Millimetres),
    /// Vertex distance for which glasses are planned.
    PlannedVertex(Millimetres),
    /// Chart distance in metres.
    ChartMetres(f64),
    /// The distance in metres for which the chart's figures are printed.
    ChartMadeForMetres(f64),
    /// Near distance in metres.
    NearMetres(f64),
    /// Working distance of retinoscopy in metres.
    WorkingMetres(f64),
    /// The old glasses of one eye.
    OldGlasses(Eye, SpheroCylinder),
    /// The old addition of both eyes.
    OldAddition(f64),
    /// The eye that the person prefers.
    DominantEye(Eye),
    /// How this examiner's earlier retinoscopy differs steadily from the power then found.
    EarlierRetinoscopy(EarlierRetinoscopy),
    /// In which way eyes are refracted from here on.
    Strategy(Strategy),
    /// The signs that need somebody who can treat the eye, as the person named them; none when asked and nothing was named.
    RedFlags(Vec<RedFlag>),
    /// Whether drops rest the accommodation (cycloplegia) from here on.
    Drops(bool),
    /// Drops were put in.
    DropsPut(DropsPut),
    /// The glasses that the person has now.
    PresentGlasses(PresentGlasses),
    /// What the person does near.
    NearTask(NearTask),
    /// How far the old glasses of one eye may be off in each meridian, in dioptres, where they were measured by hand.
    OldGlassesWithin(Eye, f64),
    /// What this examiner's earlier exams say.
    EarlierExams(EarlierExams),
    /// What stays on under the frame before one eye; `None` when nothing does.
    StaysOn(Eye, Option<WornLens>),
    /// Vertex distance of the frame as it was measured at this person.
    FrameVertex(Millimetres),
    /// Pantoscopic tilt of the lenses before the eyes, in degrees.
    TiltDegrees(f64),
    /// Face form of the lenses before the eyes, in degrees.
    FaceFormDegrees(f64),
    /// How a deviation of the eyes was seen.
    DeviationSeenBy(SeenBy),
    /// The prism before one eye with which a deviation at a distance was neutralised; `None` when nothing was measured.
    Neutralised(DeviationAt, Eye, Option<Prism>),
    /// The reserve of the vergence that makes up for the deviation at a distance, to the blur; `None` when it was not measured.
    Reserve(DeviationAt, Option<PrismDioptres>),
}

impl Detail {
    /// Whether it is of the room and not of the person: it says nothing of an exam that something was done in it.
    pub fn is_of_the_room(&self) -> bool {
        match self {
            // the way of refracting is chosen before anything is done, like the room
            Self::ChartMetres(_)
            | Self::ChartMadeForMetres(_)
            | Self::NearMetres(_)
            | Self::WorkingMetres(_)
            | Self::Strategy(_) => true,
            Self::Label(_)
            | Self::AgeYears(_)
            | Self::Complaint(_)
            | Self::EyePd(..)
            | Self::FramePd(..)
            | Self::PlannedVertex(_)
            | Self::OldGlasses(..)
            | Self::OldAddition(_)
            | Self::DominantEye(_)
            | Self::EarlierRetinoscopy(_)
            | Self::RedFlags(_)
            | Self::Drops(_)
            | Self::DropsPut(_)
            | Self::PresentGlasses(_)
            | Self::NearTask(_)
            | Self::OldGlassesWithin(..)
            | Self::StaysOn(..)
            | Self::DeviationSeenBy(_)
            | Self::Neutralised(..)
            | Self::Reserve(..)
            | Self::FrameVertex(_)
            | Self::TiltDegrees(_)
            | Self::FaceFormDegrees(_)
            | Self::EarlierExams(_) => false,
        }
    }
}

impl Detail {
    /// Whether it can hold for everybody of a day: the room, the vertex distance of the glasses that are made, and how the
    /// frame sits.
    pub fn holds_for_a_day(&self) -> bool {
        self.is_of_the_room() || self.is_how_glasses_sit()
    }

    fn is_how_glasses_sit(&self) -> bool {
        match self {
            Self::PlannedVertex(_) | Self::FrameVertex(_) | Self::TiltDegrees(_) | Self::FaceFormDegrees(_) => true,
            Self::Label(_)
            | Self::AgeYears(_)
            | Self::Complaint(_)
            | Self::EyePd(..)
            | Self::FramePd(..)
            | Self::ChartMetres(_)
            | Self::ChartMadeForMetres(_)
            | Self::NearMetres(_)
            | Self::WorkingMetres(_)
            | Self::OldGlasses(..)
            | Self::OldAddition(_)
            | Self::DominantEye(_)
            | Self::EarlierRetinoscopy(_)
            | Self::Strategy(_)
            | Self::RedFlags(_)
            | Self::Drops(_)
            | Self::DropsPut(_)
            | Self::PresentGlasses(_)
            | Self::NearTask(_)
            | Self::OldGlassesWithin(..)
            | Self::EarlierExams(_)
            | Self::StaysOn(..)
            | Self::DeviationSeenBy(_)
            | Self::Neutralised(..)
            | Self::Reserve(..) => false,
        }
    }
}

impl Event {
    /// The detail that was entered, where it is one.
    fn detail(&self) -> Option<&Detail> {
        if let Self::Detail(detail) = self { Some(detail) } else { None }
    }

    /// Whether it only says how the room is.
    pub fn is_of_the_room(&self) -> bool {
        self.detail().is_some_and(Detail::is_of_the_room)
    }
}

/// With what before the eye an acuity was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Through {
    /// Nothing.
    Unaided,
    /// A pinhole alone.
    Pinhole,
    /// The person's old glasses.
    OldGlasses,
    /// The lenses that stand in the cells.
    Frame,
}

/// An acuity that was read.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AcuityNote {
    /// Which eye; `None` for both together.
    pub eye: Option<Eye>,
    /// With what.
    pub through: Through,
    /// What was read.
    pub acuity: Acuity,
}

/// What is written for an eye that has no power of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unrefracted {
    /// That it is not refracted.
    NotRefracted,
    /// A balance lens: one that suits the glasses, whatever its power.
    BalanceLens,
}

/// A result that the examiner accepts for the record. A later one of the same kind takes its place; `None` takes it back.
///
/// Powers are back vertex powers at cell 1 of the frame, not rounded to quarters.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Accepted {
    /// The power found for one eye.
    Refraction(Eye, Option<Power>),
    /// What retinoscopy gave for one eye, the working lens taken off.
    Retinoscopy(Eye, Option<Power>),
    /// Dioptres to take off the sphere of both eyes because the chart stood nearer than 6 m: 1/d − 1/6.
    ChartAllowance(Option<f64>),
    /// The addition of both eyes in dioptres.
    Addition(Option<f64>),
    /// The prism wanted in the glasses before one eye.
    Prism(Eye, Option<Prism>),
    /// An eye that reads no letter whatever is shown has no power of its own: what is written for it. A power accepted later
    /// takes its place.
    NotRefracted(Eye, Option<Unrefracted>),
    /// The power found for one eye under drops. It stands beside the dry one, never in its place.
    Wet(Eye, Option<Power>),
    /// The addition of one eye in dioptres, where it is not that of both.
    AdditionOf(Eye, Option<f64>),
}

/// Something that happened in an exam.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Event {
    /// A detail was entered.
    Detail(Detail),
    /// The hand moved a lens.
    Moved(Move),
    /// A power is wanted before an eye, or none any more.
    Wanted(Eye, Option<SpheroCylinder>),
    /// An acuity was read.
    Acuity(AcuityNote),
    /// Something was tried and judged.
    Tried(Tried),
    /// The guide was started, answered or left.
    Guide(GuideEvent),
    /// The examiner accepted a result for the record.
    Accepted(Accepted),
    /// The examiner wrote something down.
    Note(String),
    /// What was seen in a screening pass.
    Screened(Screened),
    /// What the exam comes to, as the examiner chose it; a later one takes its place.
    Outcome(Outcome),
    /// The exam is closed; from here on it is only amended.
    Finished,
    /// Something was added to a closed exam.
    Amended(String),
    /// The glasses that were made came back, which is added to a closed exam too.
    CameBack(Box<CameBack>),
    /// What was noted of glasses that came back is taken back.
    CameBackTakenBack(CameBackTakenBack),
    /// Something that happens only in an exam of a practice eye.
    Practice(PracticeEvent),
    /// The last step that stands was taken back.
    Undone,
    /// The last step taken back stands again.
    Redone,
}

impl Event {
    /// The version of the procedures that leads the exam from here on, where that changes.
    pub fn procedures_version(&self) -> Option<u32> {
        match self {
            Self::Guide(event) => event.procedures_version(),
            Self::Detail(_)
            | Self::Moved(_)
            | Self::Wanted(..)
            | Self::Acuity(_)
            | Self::Tried(_)
            | Self::Accepted(_)
            | Self::Note(_)
            | Self::Screened(_)
            | Self::Outcome(_)
            | Self::Finished
            | Self::Amended(_)
            | Self::CameBack(_)
            | Self::CameBackTakenBack(_)
            | Self::Practice(_)
            | Self::Undone
            | Self::Redone => None,
        }
    }

    /// The detail that can hold for everybody of a day, where it is one.
    pub fn holds_for_a_day(&self) -> Option<&Detail> {
        self.detail().filter(|detail| detail.holds_for_a_day())
    }

    /// Whether the exam may come to something else by it.
    pub fn may_change_outcome(&self) -> bool {
        match self {
            Self::Outcome(_) | Self::Undone | Self::Redone => true,
            Self::Detail(_)
            | Self::Moved(_)
            | Self::Wanted(..)
            | Self::Acuity(_)
            | Self::Tried(_)
            | Self::Accepted(_)
            | Self::Guide(_)
            | Self::Note(_)
            | Self::Screened(_)
            | Self::Finished
            | Self::CameBack(_)
            | Self::CameBackTakenBack(_)
            | Self::Practice(_)
            | Self::Amended(_) => false,
        }
    }

    /// Whether it adds something to a closed exam.
    pub fn is_amendment(&self) -> bool {
        matches!(self, Self::Amended(_) | Self::CameBack(_) | Self::CameBackTakenBack(_))
    }

    /// Whether the hand moved a lens.
    pub fn is_moved(&self) -> bool {
        self.moved().is_some()
    }

    /// What the hand did, where it moved a lens.
    pub fn moved(&self) -> Option<&Move> {
        if let Self::Moved(moved) = self { Some(moved) } else { None }
    }

    /// What the examiner, or the guide, wrote down, where it is that.
    pub fn note(&self) -> Option<&str> {
        if let Self::Note(text) = self { Some(text) } else { None }
    }

    /// Whether it accepts a power for this eye.
    pub fn accepts_power_of(&self, eye: Eye) -> bool {
        matches!(self, Self::Accepted(Accepted::Refraction(of, Some(_))) if *of == eye)
    }

    /// What a practice eye was asked by hand, where it was.
    pub fn asked_by_hand(&self) -> Option<&AskedByHand> {
        if let Self::Practice(PracticeEvent::Asked(asked)) = self { Some(asked) } else { None }
    }

    /// Whether something was tried.
    pub fn is_tried(&self) -> bool {
        matches!(self, Self::Tried(_))
    }

    /// What happened in the guide, where it is of the guide.
    pub fn of_the_guide(&self) -> Option<&GuideEvent> {
        if let Self::Guide(event) = self { Some(event) } else { None }
    }
}

/// What a step does to the steps of its exam.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepKind {
    /// The last step that stands is taken back.
    Undoes,
    /// The last step taken back stands again.
    Redoes,
    /// It is added to those that stand.
    Adds,
}

impl StepKind {
    /// Whether it takes a step back.
    pub fn undoes(self) -> bool {
        match self {
            Self::Undoes => true,
            Self::Redoes | Self::Adds => false,
        }
    }

    /// What a step of these events does; undo and redo stand alone in their step.
    pub fn of(step: &[Event]) -> Self {
        match step {
            [Event::Undone] => Self::Undoes,
            [Event::Redone] => Self::Redoes,
            _ => Self::Adds,
        }
    }
}
