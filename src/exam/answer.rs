//! What can be answered to the guide, and what the logbook keeps of it.

use serde::{Deserialize, Serialize};

use super::chosen::Chosen;
use super::person::{Complaint, EarlierExams, EarlierRetinoscopy, NearTask, PresentGlasses, RedFlag};
use super::procedures::ProcedureName;
use super::trail::Judgement;
use crate::kit::LooseSpheres;
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Millimetres, Power, SpheroCylinder};

/// An answer to what the guide presents.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// The second is clearer than the first; with it is clearer.
    Clearer,
    /// No difference.
    Same,
    /// Worse.
    Worse,
    /// Yes.
    Yes,
    /// No.
    No,
    /// The first of two positions or ways, or the right eye.
    First,
    /// The second of two positions or ways, or the left eye.
    Second,
    /// This was read.
    Read(Acuity),
    /// The clearest line of the fan, by its lower clock hour (half hours allowed), in halves of an hour: 2 to 13.
    HalfHours(u8),
    /// Two neighbouring lines of the fan are equally clear.
    TwoLines,
    /// The lines across are the clearer ones now.
    Across,
    /// A direction in whole degrees on the dial.
    Degrees(u16),
    /// A distance in centimetres.
    Centimetres(f64),
    /// A distance in metres.
    Metres(f64),
    /// A pupillary distance in millimetres.
    Millimetres(f64),
    /// An age in years.
    Years(u8),
    /// What the person complains of.
    Says(Complaint),
    /// The reflex moves with the sweep.
    With {
        /// The reflex is dull and slow: far from reversal.
        dull: bool,
    },
    /// The reflex moves against the sweep.
    Against {
        /// The reflex is dull and slow: far from reversal.
        dull: bool,
    },
    /// The pupil fills at once: reversal.
    Neither,
    /// The reflex breaks away from the streak: the principal meridians lie elsewhere.
    Breaks,
    /// This was done.
    Done,
    /// Print of this size is read: N, the points of its type.
    Print(f64),
    /// Go on with this procedure.
    Go {
        /// What is to begin next.
        procedure: ProcedureName,
        /// For which eye; `None` for both.
        eye: Option<Eye>,
    },
    /// This sign is named.
    Flag(RedFlag),
    /// The glasses that the person has now.
    Glasses(PresentGlasses),
    /// What the person does near, at its usual distance.
    Task(NearTask),
    /// A power, as it is written on a prescription.
    Power(SpheroCylinder),
    /// An amount of dioptres.
    Dioptres(f64),
    /// What is done with the exam once the prescription is written.
    End(Ending),
}

/// What is done with an exam once its prescription is written. It is the session's to do, and is never kept as an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ending {
    /// The exam is closed.
    Close,
    /// The card is written.
    Card,
    /// The next person's exam begins.
    NextPerson,
}

impl Ending {
    /// All of them, in the order in which they are offered.
    pub const ALL: [Self; 3] = [Self::Close, Self::Card, Self::NextPerson];

    /// What it is called.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::Close => "close this exam",
            Self::Card => "write the card",
            Self::NextPerson => "next person",
        }
    }
}

impl Answer {
    /// How what was shown compares with what was before: clearer or worse when that is said, else no different.
    pub fn judgement(self) -> Judgement {
        match self {
            Self::Clearer | Self::Yes => Judgement::Better,
            Self::Worse => Judgement::Worse,
            Self::Same
            | Self::No
            | Self::First
            | Self::Second
            | Self::Read(_)
            | Self::HalfHours(_)
            | Self::TwoLines
            | Self::Across
            | Self::Degrees(_)
            | Self::Centimetres(_)
            | Self::Metres(_)
            | Self::Millimetres(_)
            | Self::Years(_)
            | Self::Says(_)
            | Self::With { .. }
            | Self::Against { .. }
            | Self::Neither
            | Self::Breaks
            | Self::Done
            | Self::Go { .. }
            | Self::Print(_)
            | Self::Flag(_)
            | Self::Glasses(_)
            | Self::Task(_)
            | Self::Power(_)
            | Self::Dioptres(_)
            | Self::End(_) => Judgement::Same,
        }
    }

    /// Whether the first of two is preferred; `None` when neither is.
    pub fn prefers_first(self) -> Option<bool> {
        match self {
            Self::First => Some(true),
            Self::Second => Some(false),
            Self::Clearer
            | Self::Same
            | Self::Worse
            | Self::Yes
            | Self::No
            | Self::Read(_)
            | Self::HalfHours(_)
            | Self::TwoLines
            | Self::Across
            | Self::Degrees(_)
            | Self::Centimetres(_)
            | Self::Metres(_)
            | Self::Millimetres(_)
            | Self::Years(_)
            | Self::Says(_)
            | Self::With { .. }
            | Self::Against { .. }
            | Self::Neither
            | Self::Breaks
            | Self::Done
            | Self::Go { .. }
            | Self::Print(_)
            | Self::Flag(_)
            | Self::Glasses(_)
            | Self::Task(_)
            | Self::Power(_)
            | Self::Dioptres(_)
            | Self::End(_) => None,
        }
    }

    /// What a comparison of two looks says: whether the second is better, whether it is worse, and whether only another letter was
    /// asked for; `None` for what compares nothing.
    pub fn compares(self) -> Option<(bool, bool, bool)> {
        match self {
            Self::Clearer => Some((true, false, false)),
            Self::Same => Some((false, false, false)),
            Self::Worse => Some((false, true, false)),
            Self::Yes => Some((true, false, true)),
            Self::No => Some((false, false, true)),
            _ => None,
        }
    }

    /// What was read.
    pub fn acuity(self) -> Option<Acuity> {
        match self {
            Self::Read(acuity) => Some(acuity),
            _ => None,
        }
    }

    /// The clearest line of the fan, by its lower clock hour in halves of an hour.
    pub fn half_hours(self) -> Option<u8> {
        match self {
            Self::HalfHours(half_hours) => Some(half_hours),
            _ => None,
        }
    }

    /// A direction in whole degrees on the dial.
    pub fn degrees(self) -> Option<u16> {
        match self {
            Self::Degrees(degrees) => Some(degrees),
            _ => None,
        }
    }

    /// A distance in centimetres.
    pub fn centimetres(self) -> Option<f64> {
        match self {
            Self::Centimetres(centimetres) => Some(centimetres),
            _ => None,
        }
    }

    /// The size of print that is read: N, the points of its type.
    pub fn print_points(self) -> Option<f64> {
        match self {
            Self::Print(points) => Some(points),
            _ => None,
        }
    }

    /// A distance in metres.
    pub fn metres(self) -> Option<f64> {
        match self {
            Self::Metres(metres) => Some(metres),
            _ => None,
        }
    }

    /// A pupillary distance.
    pub fn millimetres(self) -> Option<Millimetres> {
        match self {
            Self::Millimetres(millimetres) => Some(Millimetres(millimetres)),
            _ => None,
        }
    }

    /// An age in years.
    pub fn years(self) -> Option<u8> {
        match self {
            Self::Years(years) => Some(years),
            _ => None,
        }
    }

    /// What the person complains of.
    pub fn complaint(self) -> Option<Complaint> {
        match self {
            Self::Says(complaint) => Some(complaint),
            _ => None,
        }
    }

    /// How the reflex moves with the sweep of the streak, where that was answered.
    pub fn movement(self) -> Option<Movement> {
        match self {
            Self::With { dull } => Some(Movement::With { dull }),
            Self::Against { dull } => Some(Movement::Against { dull }),
            Self::Neither => Some(Movement::Neither),
            _ => None,
        }
    }

    /// The sign that is named.
    pub fn flag(self) -> Option<RedFlag> {
        match self {
            Self::Flag(flag) => Some(flag),
            _ => None,
        }
    }

    /// The glasses that the person has now.
    pub fn glasses(self) -> Option<PresentGlasses> {
        match self {
            Self::Glasses(glasses) => Some(glasses),
            _ => None,
        }
    }

    /// What the person does near.
    pub fn task(self) -> Option<NearTask> {
        match self {
            Self::Task(task) => Some(task),
            _ => None,
        }
    }

    /// A power, as it is written on a prescription.
    pub fn power(self) -> Option<SpheroCylinder> {
        match self {
            Self::Power(power) => Some(power),
            _ => None,
        }
    }

    /// An amount of dioptres.
    pub fn dioptres(self) -> Option<f64> {
        match self {
            Self::Dioptres(dioptres) => Some(dioptres),
            _ => None,
        }
    }

    /// What is done with the exam once it is written.
    pub fn ending(self) -> Option<Ending> {
        match self {
            Self::End(ending) => Some(ending),
            _ => None,
        }
    }

    /// Whether it names a procedure to go on with.
    pub fn is_to_go_on(self) -> bool {
        matches!(self, Self::Go { .. })
    }
}

/// How the reflex moves with the sweep of the streak.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Movement {
    /// The same way.
    With {
        /// Dull and slow: far from reversal.
        dull: bool,
    },
    /// The other way.
    Against {
        /// Dull and slow: far from reversal.
        dull: bool,
    },
    /// Not at all: reversal.
    Neither,
}

/// Where a lens in the hand makes another power than its mark says by this much, what it made is wanted and not its mark: half
/// of the smallest step (ours, no source).
pub const UNLIKE_ITS_MARK_D: f64 = 0.12;

/// What stood before the eyes when something was asked, right eye first; back vertex powers at cell 1.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Shown {
    /// What the person compared with.
    pub from: Eyes<Power>,
    /// What was shown.
    pub to: Eyes<Power>,
    /// What stood in the cells, without what the hand held.
    pub cells: Eyes<Power>,
    /// What is marked on the lens in the hand that was compared: it stands nowhere once it is accepted, but its mark is wanted.
    #[serde(default, skip_serializing_if = "no_eye_has_one")]
    pub mark_in_hand: Eyes<Option<Power>>,
}

fn no_eye_has_one<T>(of_eyes: &Eyes<Option<T>>) -> bool {
    of_eyes.as_ref().into_iter().all(Option::is_none)
}

impl Shown {
    /// What is wanted before an eye once what was shown is accepted: the mark of the lens in the hand on what stood in the
    /// cells, since nearer to the eye it makes another power than in the hand; what stood there where the two differ by
    /// [`UNLIKE_ITS_MARK_D`], and where nothing was held.
    pub fn wanted(&self, eye: Eye) -> Power {
        let at_its_mark = self.mark_in_hand[eye].map(|mark| self.from[eye] + mark);
        let is_alike = |at_its_mark: &Power| at_its_mark.miss(self.to[eye]) < UNLIKE_ITS_MARK_D;
        at_its_mark.filter(is_alike).unwrap_or(self.to[eye])
    }
}

/// What a procedure starts from, kept with its beginning so that later corrections do not change how answers read.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Given {
    /// The power found so far for each eye, right first.
    pub start: Eyes<Power>,
    /// Age in whole years; without it nothing that depends on age is assumed.
    pub age_years: Option<u8>,
    /// What the person complains of.
    pub complaint: Option<Complaint>,
    /// Unaided acuity of each eye.
    pub unaided: Eyes<Option<Acuity>>,
    /// Old glasses of each eye.
    pub old_glasses: Eyes<Option<SpheroCylinder>>,
    /// Pupillary distance of each eye.
    pub eye_pd: Eyes<Option<Millimetres>>,
    /// Chart distance in metres.
    pub chart_metres: Option<f64>,
    /// Near distance in metres.
    pub near_metres: Option<f64>,
    /// Working distance of retinoscopy in metres.
    pub working_metres: Option<f64>,
    /// The preferred eye.
    pub dominant_eye: Option<Eye>,
    /// The free cross cylinders, weakest first.
    pub cross_cylinders: Vec<Dioptres>,
    /// How the examiner's earlier retinoscopy differs from the power then found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub earlier_retinoscopy: Option<EarlierRetinoscopy>,
    /// What was accepted for the record so far, right eye first.
    #[serde(default, skip_serializing_if = "no_eye_has_one")]
    pub accepted: Eyes<Option<Power>>,
    /// Acuity of each eye through a pinhole.
    #[serde(default, skip_serializing_if = "no_eye_has_one")]
    pub pinhole: Eyes<Option<Acuity>>,
    /// Acuity of each eye with the old glasses.
    #[serde(default, skip_serializing_if = "no_eye_has_one")]
    pub with_old_glasses: Eyes<Option<Acuity>>,
    /// The distance in metres for which the chart's figures are printed, where that is said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chart_made_for_metres: Option<f64>,
    /// The signs that were named; `None` while nobody asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub red_flags: Option<Vec<RedFlag>>,
    /// That drops rest the accommodation; left out where there are none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drops: Option<bool>,
    /// The glasses that the person has now.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub present_glasses: Option<PresentGlasses>,
    /// What the person does near.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub near_task: Option<NearTask>,
    /// What the examiner's earlier exams say: bias and spread of retinoscopy, and how often an answer changed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub earlier_exams: Option<EarlierExams>,
    /// The spheres that are free, weakest minus first, for what is done with loose lenses of them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub loose_spheres: Vec<LooseSpheres>,
    /// Vertex distance of the frame, where it was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured_vertex: Option<Millimetres>,
}

/// Under drops an eye accommodates as one of this age, which does not: far beyond the last age at which the guide reckons with
/// accommodation (ours, no source).
const YEARS_UNDER_DROPS: u8 = 75;

impl Given {
    /// Whether drops rest the accommodation.
    pub fn under_drops(&self) -> bool {
        self.drops == Some(true)
    }

    /// The age in whole years by whose accommodation the eye is judged: under drops it does not accommodate, however young.
    pub fn accommodates_at_years(&self) -> Option<u8> {
        if self.under_drops() { Some(YEARS_UNDER_DROPS) } else { self.age_years }
    }
}

/// What happened in the guide.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GuideEvent {
    /// A procedure began.
    Began {
        /// What the guide leads from here on.
        procedure: ProcedureName,
        /// For which eye; `None` for both.
        eye: Option<Eye>,
        /// What it starts from.
        given: Box<Given>,
    },
    /// The examiner changed by hand what had been set out; the guide goes on from what stands in the cells now.
    TakenOver(Eyes<Power>),
    /// What is asked about was set out before the eyes with the lenses that are free.
    SetOut(Shown),
    /// The person or the room is known otherwise than when the procedure began: what runs goes on with what is known now.
    Corrected {
        /// What is known now.
        given: Box<Given>,
    },
    /// What was presented was answered.
    Answered {
        /// What the person or the examiner said to it.
        answer: Answer,
        /// What really stood before the eyes.
        shown: Shown,
    },
    /// The step was passed over.
    Skipped {
        /// Because no free lens makes what it needs, not because the examiner wished so.
        no_lens: bool,
    },
    /// The last answer is to be asked for again.
    Repeated,
    /// The procedure was left.
    Left,
    /// From here on the exam is led by another version of the procedures, which begins afresh on what was accepted and what
    /// stands in the frame: everything before is another version's and says nothing to it.
    ProceduresChanged {
        /// The version from here on.
        version: u32,
    },
    /// A refraction by likelihood chose what to show next.
    Chose(Chosen),
}

impl GuideEvent {
    /// The version of the procedures that leads the exam from here on, where that changes.
    pub fn procedures_version(&self) -> Option<u32> {
        match self {
            Self::ProceduresChanged { version } => Some(*version),
            Self::Began { .. }
            | Self::TakenOver(_)
            | Self::SetOut(_)
            | Self::Corrected { .. }
            | Self::Answered { .. }
            | Self::Skipped { .. }
            | Self::Repeated
            | Self::Left
            | Self::Chose(_) => None,
        }
    }

    /// The procedure that it begins, and its eye.
    pub fn begins(&self) -> Option<(ProcedureName, Option<Eye>)> {
        if let Self::Began { procedure, eye, .. } = self { Some((*procedure, *eye)) } else { None }
    }

    /// What was chosen in it by a refraction by likelihood.
    pub fn chose(&self) -> Option<&Chosen> {
        if let Self::Chose(chosen) = self { Some(chosen) } else { None }
    }

    /// Whether the guide leads the exam after it; `None` when it does as it did before.
    pub fn leads(&self) -> Option<bool> {
        match self {
            Self::Left => Some(false),
            Self::SetOut(_) | Self::Corrected { .. } | Self::ProceduresChanged { .. } | Self::Chose(_) => None,
            Self::Began { .. } | Self::TakenOver(_) | Self::Answered { .. } | Self::Skipped { .. } | Self::Repeated => {
                Some(true)
            }
        }
    }
}

impl GuideEvent {
    /// What stood before the eyes when something was answered.
    pub fn answered_with(&self) -> Option<&Shown> {
        if let Self::Answered { shown, .. } = self { Some(shown) } else { None }
    }

    /// What was answered.
    pub fn answered(&self) -> Option<Answer> {
        if let Self::Answered { answer, .. } = self { Some(*answer) } else { None }
    }

    /// Whether what was presented was answered or passed over.
    pub fn settles_what_was_presented(&self) -> bool {
        matches!(self, Self::Answered { .. } | Self::Skipped { .. })
    }

    /// Whether what is asked about was set out.
    pub fn is_set_out(&self) -> bool {
        matches!(self, Self::SetOut(_))
    }
}
