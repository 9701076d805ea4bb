//! The plain data of one exam's record: all that any export needs, and nothing that is not known.

use jiff::ZonedDateTime;
use serde::{Serialize, Serializer};
use uuid::Uuid;

use super::exam_name::exam_name;
use super::glasses::{CameBackRecord, OrderRecord};
use crate::exam::cautions::{self, Caution};
use crate::exam::certainty::{Certainty, Line, Sure};
use crate::exam::expected;
use crate::exam::prescription::{self, Against, CylinderForm, EyeOutcome, Repeat};
use crate::exam::{
    AcuityNote, Deviation, DeviationAt, DropsPut, NearTask, Outcome, Prescription, PresentGlasses, RedFlag, SeenBy,
    State, Strategy, Through,
};
use crate::optics::{Acuity, AcuityNotation, Eye, Eyes, Power, PrismPart, SpheroCylinder, WornKind, WornLens};

/// The name of our own JSON form.
pub const FORMAT: &str = "dioptray exam record";
/// Its version; it grows when a field changes its meaning or goes away.
pub const VERSION: u32 = 1;

/// What a record needs beside the state of the exam; times and names come in as values.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordHead {
    /// The exam's identity, the same in every copy of the logbook; `None` while it has none.
    pub id: Option<Uuid>,
    /// The exam's number in the logbook that it was made in.
    pub exam: u64,
    /// The seat of that logbook, where it is another one than this.
    pub seat: Option<String>,
    /// When it began, in the time zone to print.
    pub opened: ZonedDateTime,
    /// When it was closed, if it was.
    pub closed: Option<ZonedDateTime>,
    /// Who examined, if the settings say.
    pub examiner: Option<String>,
    /// How cylinders are written.
    pub form: CylinderForm,
    /// How acuities are written.
    pub acuity: AcuityNotation,
    /// Step of written axes in degrees: 1, or 5 when asked.
    pub axis_step_deg: u8,
    /// How much of what was added after closing could not be read.
    pub additions_unread: usize,
}

/// A power in full precision: written out in minus-cylinder form, and as a vector. All in dioptres and degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Figures {
    /// Sphere of the minus-cylinder form.
    pub sphere: f64,
    /// Cylinder, zero or below.
    pub cylinder: f64,
    /// Axis; 180 when there is no cylinder.
    pub axis: f64,
    /// Spherical equivalent.
    pub m: f64,
    /// Part of the cylinder along 180/90.
    pub j0: f64,
    /// Part of the cylinder along 45/135.
    pub j45: f64,
}

impl From<Power> for Figures {
    fn from(power: Power) -> Self {
        let SpheroCylinder { sphere, cylinder, axis } = power.minus_form();
        Self { sphere, cylinder, axis, m: power.m, j0: power.j0, j45: power.j45 }
    }
}

/// A deviation of the eyes at one distance, as it was neutralised.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DeviationRecord {
    /// At which distance.
    pub at: DeviationAt,
    /// How it was seen, where that is said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seen_by: Option<SeenBy>,
    /// The prism before the right eye, horizontal part first; none where nothing stood there.
    pub right: Vec<PrismPart>,
    /// The prism before the left eye.
    pub left: Vec<PrismPart>,
    /// The reserve of the vergence that makes up for it in prism dioptres, to the blur.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reserve: Option<f64>,
}

impl DeviationRecord {
    /// The deviations that were neutralised.
    fn of(state: &State) -> Vec<Self> {
        let person = &state.person;
        let measured = |at: DeviationAt| {
            let Deviation { before, reserve } = person.deviation(at);
            let parts = |eye: Eye| before[eye].map(|prism| prescription::prism_parts(prism, eye)).unwrap_or_default();
            before.as_ref().into_iter().any(Option::is_some).then(|| Self {
                at,
                seen_by: person.deviation_seen_by,
                right: parts(Eye::Right),
                left: parts(Eye::Left),
                reserve: reserve.map(|reserve| reserve.0),
            })
        };
        DeviationAt::ALL.into_iter().filter_map(measured).collect()
    }
}

/// What stayed on under the frame while an eye was refracted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StaysOn {
    /// What it is.
    pub kind: WornKind,
    /// Its power, in the record's cylinder form.
    pub power: SpheroCylinder,
    /// Its distance from the cornea in millimetres.
    pub vertex_mm: f64,
}

impl StaysOn {
    fn of(worn: &WornLens, form: CylinderForm) -> Self {
        Self { kind: worn.kind, power: form.write(worn.power), vertex_mm: worn.vertex.0 }
    }
}

/// A comparison as it is recorded.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Compared {
    /// With what.
    pub against: Against,
    /// Prescription less the other in spherical equivalent, dioptres.
    pub delta_m: f64,
    /// The same in J0.
    pub delta_j0: f64,
    /// The same in J45.
    pub delta_j45: f64,
    /// The blur strength of the whole difference, dioptres.
    pub blur_strength: f64,
    /// How it stands to repeatability.
    pub repeat: Repeat,
}

/// The record of one eye. What is not known is `None` and is left out of the exports.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EyeRecord {
    /// Which eye, so that a part of a record never loses it.
    pub eye: Eye,
    /// What is written down, on the quarter grid, in the record's cylinder form.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub written: Option<SpheroCylinder>,
    /// The addition of this eye in dioptres, on the quarter grid.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub addition: Option<f64>,
    /// The power found at the frame's vertex distance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub found: Option<Figures>,
    /// The power for far away at the planned vertex distance, before it went to quarters.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub planned: Option<Figures>,
    /// What stayed on under the frame: the powers above are over it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stays_on: Option<StaysOn>,
    /// The power for far away and what stayed on together, as one lens at the frame's vertex distance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub total: Option<Figures>,
    /// The prism wanted, horizontal part first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub prism: Vec<PrismPart>,
    /// Pupillary distance from the middle of the nose in millimetres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pd_mm: Option<f64>,
    /// Acuity without any lens.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_acuity")]
    pub unaided: Option<Acuity>,
    /// Acuity through a pinhole alone.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_acuity")]
    pub pinhole: Option<Acuity>,
    /// Whether the same line is read through +2.00: more than 2.00 D of plus may hide then.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reads_same_through_plus_two: Option<bool>,
    /// Acuity with the old glasses.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_acuity")]
    pub with_old_glasses: Option<Acuity>,
    /// Acuity with the power found.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_acuity")]
    pub with_prescription: Option<Acuity>,
    /// The old glasses, in the record's cylinder form.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_glasses: Option<SpheroCylinder>,
    /// Retinoscopy at the frame's vertex distance, the working lens taken off.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub retinoscopy: Option<Figures>,
    /// In which way the guide refracted it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub refracted: Option<Strategy>,
    /// How the prescription compares with what was known before.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub compared: Vec<Compared>,
    /// What stands in the row of this eye: a power, that it is not refracted, or a balance lens.
    pub outcome: EyeOutcome,
    /// The power found under drops, at the frame's vertex distance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wet: Option<Figures>,
    /// How sure the result is, and which lines belong to it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub certainty: Option<Known>,
}

/// What is known of the result of one eye.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Known {
    /// In words.
    pub sure: Sure,
    /// Within this 95 % of repeats would lie, in dioptres of spherical equivalent.
    pub within_d: f64,
    /// Questions that were asked again.
    pub asked_again: usize,
    /// Those that got another answer.
    pub answered_otherwise: usize,
    /// A blur that the person would just notice, in dioptres.
    pub noticed_blur_d: f64,
    /// A blur that would trouble, in dioptres.
    pub troubling_blur_d: f64,
    /// The line expected unaided with this power at this age.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_acuity")]
    pub expected_unaided: Option<Acuity>,
    /// The line expected through a pinhole alone.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_acuity")]
    pub expected_pinhole: Option<Acuity>,
    /// The line expected through +1.00 over it.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_acuity")]
    pub expected_through_plus_one: Option<Acuity>,
    /// The line read through +1.00 over it.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_acuity")]
    pub through_plus_one: Option<Acuity>,
}

impl From<Certainty> for Known {
    fn from(certainty: Certainty) -> Self {
        let expected = |line: Option<Line>| line.map(|line| line.expected);
        Self {
            sure: certainty.sure(),
            within_d: certainty.within_d,
            asked_again: certainty.repeats.asked_again,
            answered_otherwise: certainty.repeats.differed,
            noticed_blur_d: certainty.noticed_d,
            troubling_blur_d: certainty.troubles_d,
            expected_unaided: expected(certainty.unaided),
            expected_pinhole: expected(certainty.pinhole),
            expected_through_plus_one: expected(certainty.fogged),
            through_plus_one: certainty.fogged.and_then(|line| line.read),
        }
    }
}

/// The record of one exam.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[expect(clippy::struct_excessive_bools, reason = "each is a fact of its own in the JSON")]
pub struct Record {
    /// Always [`FORMAT`], so that a reader knows what it has.
    pub format: &'static str,
    /// Always [`VERSION`]: what a reader may rely on.
    pub version: u32,
    /// The exam's identity, the same in every copy of the logbook.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_in_words")]
    pub id: Option<Uuid>,
    /// The exam's number in the logbook that it was made in.
    pub exam: u64,
    /// The seat of that logbook, where it is another one than this.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seat: Option<String>,
    /// When it began, as RFC 3339 with the offset from UTC.
    #[serde(serialize_with = "with_offset")]
    pub opened: ZonedDateTime,
    /// When it was closed; without it the record is a draft.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_with_offset")]
    pub closed: Option<ZonedDateTime>,
    /// Whether the exam is not closed yet.
    pub draft: bool,
    /// Whether a practice eye was examined and no person: every form says it across the page, or is not written.
    #[serde(skip_serializing_if = "is_false")]
    pub practice: bool,
    /// Label or initials.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Age in whole years.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub age_years: Option<u8>,
    /// Who examined.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub examiner: Option<String>,
    /// The box that was used.
    #[serde(rename = "box")]
    pub box_name: String,
    /// The frame that was used.
    #[serde(rename = "frame")]
    pub frame_name: String,
    /// Vertex distance of the frame in millimetres.
    pub frame_vertex_mm: f64,
    /// The same where it was measured at this person; left out where it is only what the frame declares.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_vertex_mm: Option<f64>,
    /// Pantoscopic tilt of the lenses in degrees, where it is declared: no power of this record is changed by it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tilt_deg: Option<f64>,
    /// Face form of the lenses in degrees, likewise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub face_form_deg: Option<f64>,
    /// Vertex distance for which the prescription is written in millimetres.
    pub planned_vertex_mm: f64,
    /// Whether a meridian is so strong that the vertex distance must go with the prescription.
    pub vertex_matters: bool,
    /// How cylinders are written.
    pub form: CylinderForm,
    /// How acuities are written for people; the figures of this record are minutes of arc.
    pub acuity_notation: AcuityNotation,
    /// Chart distance in metres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chart_metres: Option<f64>,
    /// The distance in metres for which the chart's figures are printed, where that is known to be another: every `mar` is the
    /// true one, and `on_chart` beside it says what the chart did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chart_made_for_metres: Option<f64>,
    /// Dioptres taken off both spheres because the chart stood nearer than 6 m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chart_allowance: Option<f64>,
    /// Near distance in metres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub near_metres: Option<f64>,
    /// The right eye.
    pub right: EyeRecord,
    /// The left eye.
    pub left: EyeRecord,
    /// The addition of both eyes in dioptres, on the quarter grid; none where they differ.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub addition: Option<f64>,
    /// The addition of the old glasses in dioptres.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_addition: Option<f64>,
    /// Acuity of both eyes together with the powers found.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_acuity")]
    pub both_with_prescription: Option<Acuity>,
    /// Acuity of both eyes together with the old glasses.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "some_acuity")]
    pub both_with_old_glasses: Option<Acuity>,
    /// The deviations of the eyes that were neutralised.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub deviations: Vec<DeviationRecord>,
    /// The signs that were named; left out where nobody asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub red_flags: Option<Vec<RedFlag>>,
    /// Whether drops rested the accommodation.
    pub drops: bool,
    /// The drops that were put in.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub drops_put: Vec<DropsPut>,
    /// Whether both eyes together read the near card in a screening pass.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub near_card_read: Option<bool>,
    /// What the exam comes to, as the examiner chose it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outcome: Option<Outcome>,
    /// The same in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outcome_in_words: Option<String>,
    /// The glasses that the person had.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub present_glasses: Option<PresentGlasses>,
    /// What the person does near.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub near_task: Option<NearTask>,
    /// The eye that the person prefers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub preferred_eye: Option<Eye>,
    /// Where the lines that are expected come from, where any are.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expected_by: Option<&'static str>,
    /// What is ordered, once the exam is closed and where glasses are made or nobody chose anything else.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub order: Option<OrderRecord>,
    /// The glasses that came back.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub came_back: Vec<CameBackRecord>,
    /// What the examiner wrote.
    pub notes: Vec<String>,
    /// What was added after closing.
    pub amendments: Vec<String>,
    /// What the findings call for.
    pub cautions: Vec<Caution>,
    /// The same in words.
    pub cautions_in_words: Vec<String>,
    /// The general cautions.
    pub notice: [&'static str; 4],
}

impl Record {
    /// By what people speak of the exam here: its number, with the seat where that is another one, `lane3-14`.
    pub fn exam_name(&self) -> String {
        exam_name(self.exam, self.seat.as_deref())
    }

    /// The record of an exam as it stands.
    pub fn of(state: &State, head: RecordHead) -> Self {
        let prescription = Prescription::of(state, head.axis_step_deg);
        let closed = head.closed.filter(|_| state.finished);
        let ends_before_it_began = closed.as_ref().is_some_and(|closed| *closed < head.opened);
        let of_times = ends_before_it_began.then_some(Caution::EndsBeforeItBegan);
        let count = head.additions_unread;
        let of_additions = (count > 0).then_some(Caution::AdditionsUnread { count });
        let cautions: Vec<Caution> =
            of_times.into_iter().chain(of_additions).chain(cautions::called_for(state, &prescription)).collect();
        let person = &state.person;
        let any = Eye::BOTH.into_iter().any(|eye| prescription.eye(eye).is_some());
        let is_of_both = |note: &&AcuityNote| note.eye.is_none() && note.through == Through::OldGlasses;
        Self {
            format: FORMAT,
            version: VERSION,
            id: head.id,
            exam: head.exam,
            seat: head.seat.clone(),
            opened: head.opened,
            closed,
            draft: !state.finished,
            practice: state.practised.is_some(),
            label: person.label.clone(),
            age_years: person.age_years,
            examiner: head.examiner,
            box_name: state.fitted.stock.box_name.clone(),
            frame_name: state.fitted.frame.name.clone(),
            frame_vertex_mm: prescription.found_vertex.0,
            measured_vertex_mm: person.measured_vertex.map(|distance| distance.0),
            tilt_deg: person.tilt_deg,
            face_form_deg: person.face_form_deg,
            planned_vertex_mm: prescription.planned_vertex.0,
            vertex_matters: prescription.vertex_matters(),
            form: head.form,
            acuity_notation: head.acuity,
            chart_metres: person.chart_metres,
            chart_made_for_metres: person.chart_made_for_metres,
            chart_allowance: state.results.chart_allowance,
            near_metres: person.near_metres,
            right: eye_record(state, &prescription, Eye::Right, head.form),
            left: eye_record(state, &prescription, Eye::Left, head.form),
            addition: prescription.addition().map(|addition| addition.0),
            old_addition: person.old_addition,
            both_with_prescription: prescription.acuity_of_both,
            both_with_old_glasses: state.acuities.iter().rev().find(|n| is_of_both(n)).map(|note| note.acuity),
            deviations: DeviationRecord::of(state),
            red_flags: person.red_flags.clone(),
            drops: person.drops,
            drops_put: person.drops_put.clone(),
            near_card_read: state.screening.near,
            outcome: state.outcome.clone(),
            outcome_in_words: state.outcome.as_ref().map(ToString::to_string),
            present_glasses: person.present_glasses,
            near_task: person.near_task,
            preferred_eye: person.dominant_eye,
            expected_by: any.then_some(expected::SOURCE),
            order: OrderRecord::of_exam(state, &prescription, head.form),
            came_back: CameBackRecord::of_exam(state, &prescription, head.form, head.seat.as_deref()),
            notes: state.notes.clone(),
            amendments: state.amendments.clone(),
            cautions_in_words: cautions.iter().map(ToString::to_string).collect(),
            cautions,
            notice: cautions::GENERAL.map(|caution| caution.full),
        }
    }

    /// The record of one eye.
    pub fn eye(&self, eye: Eye) -> &EyeRecord {
        match eye {
            Eye::Right => &self.right,
            Eye::Left => &self.left,
        }
    }

    /// Both eyes.
    pub fn eyes(&self) -> Eyes<&EyeRecord> {
        Eyes::new(&self.right, &self.left)
    }
}

fn eye_record(state: &State, prescription: &Prescription, eye: Eye, form: CylinderForm) -> EyeRecord {
    let of_eye = prescription.eye(eye);
    let compared = prescription::comparisons(state, prescription, eye).into_iter().map(|comparison| Compared {
        against: comparison.against,
        delta_m: comparison.difference.m,
        delta_j0: comparison.difference.j0,
        delta_j45: comparison.difference.j45,
        blur_strength: comparison.difference.blur_strength(),
        repeat: comparison.repeat,
    });
    EyeRecord {
        eye,
        written: of_eye.map(|p| form.write(p.written)),
        addition: prescription.additions[eye].map(|addition| addition.0),
        found: of_eye.map(|p| p.found.into()),
        planned: of_eye.map(|p| p.planned.into()),
        stays_on: state.person.stays_on[eye].as_ref().map(|worn| StaysOn::of(worn, form)),
        total: of_eye.and_then(|p| p.total).map(Into::into),
        prism: state.results.prism[eye].map(|prism| prescription::prism_parts(prism, eye)).unwrap_or_default(),
        pd_mm: state.fitted.eye_pd[eye].map(|pd| pd.0),
        unaided: state.last_read(eye, Through::Unaided),
        pinhole: state.last_read(eye, Through::Pinhole),
        reads_same_through_plus_two: state.screening.plus_two[eye],
        with_old_glasses: state.last_read(eye, Through::OldGlasses),
        with_prescription: of_eye.and_then(|p| p.acuity),
        old_glasses: state.person.old_glasses[eye].map(|typed| form.write(typed)),
        retinoscopy: state.results.retinoscopy[eye].map(Into::into),
        refracted: state.refracted(eye),
        compared: compared.collect(),
        outcome: EyeOutcome::of(state, prescription, eye),
        wet: state.results.wet[eye].map(Into::into),
        certainty: of_eye.map(|of_eye| Certainty::of(state, eye, of_eye).into()),
    }
}

/// A time as every program reads it, RFC 3339: the name of the time zone is left out.
pub fn rfc_3339(at: &ZonedDateTime) -> String {
    at.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// Writes a time as [`rfc_3339`].
fn with_offset<S: Serializer>(at: &ZonedDateTime, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&rfc_3339(at))
}

#[expect(clippy::ref_option, reason = "serde hands over the field by reference")]
fn some_in_words<S: Serializer>(id: &Option<Uuid>, serializer: S) -> Result<S::Ok, S::Error> {
    id.map(|id| id.to_string()).serialize(serializer)
}

#[expect(clippy::ref_option, reason = "serde hands over the field by reference")]
fn some_with_offset<S: Serializer>(at: &Option<ZonedDateTime>, serializer: S) -> Result<S::Ok, S::Error> {
    at.as_ref().map(rfc_3339).serialize(serializer)
}

/// An acuity in the words of the record, which others read: they stay when the logbook's own change.
#[derive(Serialize)]
#[serde(rename_all = "snake_case")]
enum AcuityRecord {
    Line {
        /// The true one.
        mar: f64,
        letters: i8,
        #[serde(skip_serializing_if = "Option::is_none")]
        on_chart: Option<OnChart>,
    },
    #[serde(rename = "noletter")]
    NoLetter,
    CountingFingers,
    HandMovements,
    LightPerception,
    NoLightPerception,
}

/// What a chart said that stood elsewhere than its figures say.
#[derive(Serialize)]
struct OnChart {
    mar: f64,
    made_for_m: f64,
    stood_at_m: f64,
}

impl From<Acuity> for AcuityRecord {
    fn from(acuity: Acuity) -> Self {
        match acuity {
            Acuity::Line { mar, letters } => Self::Line { mar, letters, on_chart: None },
            Acuity::ChartLine { mar, letters, made_for_m, stood_at_m } => Self::Line {
                mar: mar * made_for_m / stood_at_m,
                letters,
                on_chart: Some(OnChart { mar, made_for_m, stood_at_m }),
            },
            Acuity::NoLetter => Self::NoLetter,
            Acuity::CountingFingers => Self::CountingFingers,
            Acuity::HandMovements => Self::HandMovements,
            Acuity::LightPerception => Self::LightPerception,
            Acuity::NoLightPerception => Self::NoLightPerception,
        }
    }
}

#[expect(clippy::ref_option, reason = "serde hands over the field by reference")]
fn some_acuity<S: Serializer>(acuity: &Option<Acuity>, serializer: S) -> Result<S::Ok, S::Error> {
    acuity.map(AcuityRecord::from).serialize(serializer)
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands a reference")]
fn is_false(flag: &bool) -> bool {
    !flag
}
