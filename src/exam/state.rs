//! What the events of an exam add up to.

use thiserror::Error;

use super::answer::GuideEvent;
use super::came_back::found::Returned;
use super::chosen::Strategy;
use super::event::{Accepted, AcuityNote, Detail, Event, Opening, Through, Unrefracted};
use super::outcome::Outcome;
use super::person::Person;
use super::practised::Practised;
use super::screening::Screening;
use super::trail::Tried;
use crate::frame::{FittedFrame, MoveError};
use crate::optics::{Acuity, Eye, Eyes, Power, Prism, SpheroCylinder};

/// What the examiner has accepted for the record; see [`Accepted`].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Results {
    /// The power found for each eye, right first.
    pub refraction: Eyes<Option<Power>>,
    /// What retinoscopy gave for each eye, right first.
    pub retinoscopy: Eyes<Option<Power>>,
    /// Dioptres to take off for a chart nearer than 6 m.
    pub chart_allowance: Option<f64>,
    /// The addition of both eyes in dioptres.
    pub addition: Option<f64>,
    /// The addition of one eye in dioptres, where it is not that of both, right first.
    pub addition_of: Eyes<Option<f64>>,
    /// The prism wanted before each eye, right first.
    pub prism: Eyes<Option<Prism>>,
    /// What is written for an eye that reads no letter whatever is shown, right first; no power is accepted for it then.
    pub unrefracted: Eyes<Option<Unrefracted>>,
    /// The power found for each eye under drops, right first.
    pub wet: Eyes<Option<Power>>,
}

/// An acuity with the power that stood before the eyes when it was read, so that it is never credited to another power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Which eye; `None` for both together.
    pub eye: Option<Eye>,
    /// The power before each eye that read, right first; `None` for an eye that did not read.
    pub before: Eyes<Option<Power>>,
    /// What was read.
    pub acuity: Acuity,
}

/// The state of an exam at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Frame, box and every lens in its place.
    pub fitted: FittedFrame,
    /// Person and room.
    pub person: Person,
    /// The wanted power of each eye, right first.
    pub wanted: Eyes<Option<SpheroCylinder>>,
    /// Acuities in the order they were read.
    pub acuities: Vec<AcuityNote>,
    /// Every acuity read through the frame, in order, with the power that was there.
    pub readings: Vec<Reading>,
    /// What the examiner accepted for the record.
    pub results: Results,
    /// Everything tried, in order.
    pub trail: Vec<Tried>,
    /// What happened in the guide, in order.
    pub guide: Vec<GuideEvent>,
    /// What the examiner wrote.
    pub notes: Vec<String>,
    /// What was added after closing.
    pub amendments: Vec<String>,
    /// Glasses that came back, in order, those among them that were taken back.
    pub came_back: Vec<Returned>,
    /// What is known from a screening pass beside the acuities.
    pub screening: Screening,
    /// What it comes to, once the examiner chose.
    pub outcome: Option<Outcome>,
    /// What only an exam of a practice eye has; `None` in the exam of a person.
    pub practised: Option<Practised>,
    /// Whether the exam is closed.
    pub finished: bool,
}

/// An event that the state refuses.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ExamError {
    /// The move cannot be made.
    #[error(transparent)]
    Move(#[from] MoveError),
    /// There is nothing to take back.
    #[error("nothing to undo: this is how the exam began")]
    NothingToUndo,
    /// There is nothing to bring back.
    #[error("nothing to redo: nothing was taken back since the last step")]
    NothingToRedo,
    /// The last step that stands is where another version of the guide's procedures took over.
    #[error(
        "what was done before was led by another version of the procedures: it stands, but cannot be taken back step by step"
    )]
    OtherProcedures,
    /// The exam is closed.
    #[error("this exam is closed: it can be amended, not changed")]
    Closed,
    /// The exam is open, so there is nothing to amend.
    #[error("this exam is still open: write a note, an amendment is for a closed one")]
    StillOpen,
    /// There are no glasses that came back to be taken back.
    #[error("no glasses that came back stand in this exam under that number: there is nothing to take back")]
    NoneCameBack,
    /// A person sits there, and no practice eye.
    #[error("this is the exam of a person: a practice eye has an exam of its own")]
    NoPractice,
    /// Undo or redo came together with other events.
    #[error("undo and redo stand alone: they cannot be part of another step")]
    NotAlone,
}

impl State {
    /// The state in which an exam begins.
    pub fn opened(opening: &Opening) -> Self {
        Self {
            fitted: opening.fitted.clone(),
            person: Person::default(),
            wanted: Eyes::both(None),
            acuities: Vec::new(),
            trail: Vec::new(),
            readings: Vec::new(),
            results: Results::default(),
            guide: Vec::new(),
            notes: Vec::new(),
            amendments: Vec::new(),
            came_back: Vec::new(),
            screening: Screening::default(),
            outcome: None,
            practised: opening.sitter.clone().map(Practised::begun),
            finished: false,
        }
    }

    /// In which way an eye was refracted last: that of the last procedure for it that belongs to one alone.
    pub fn refracted(&self, eye: Eye) -> Option<Strategy> {
        let mut begun = self.guide.iter().rev().filter_map(GuideEvent::begins).filter(|(_, of)| *of == Some(eye));
        begun.find_map(|(procedure, _)| procedure.strategy())
    }

    /// The last acuity that one eye read through something other than the frame.
    pub fn last_read(&self, eye: Eye, through: Through) -> Option<Acuity> {
        let notes = self.acuities.iter().rev();
        notes.filter(|note| note.through == through).find(|note| note.eye == Some(eye)).map(|note| note.acuity)
    }

    /// Applies one event; undo and redo are the exam's business, see [`Exam`](super::Exam).
    ///
    /// # Errors
    /// When a move cannot be made, or the exam is closed (for an amendment: is not).
    pub(crate) fn apply(&mut self, event: &Event) -> Result<(), ExamError> {
        match (self.finished, event.is_amendment()) {
            (true, false) => return Err(ExamError::Closed),
            (false, true) => return Err(ExamError::StillOpen),
            _ => {}
        }
        match event {
            Event::Detail(detail) => self.apply_detail(detail),
            Event::Moved(step) => self.fitted.apply(step)?,
            Event::Wanted(eye, power) => self.wanted[*eye] = *power,
            Event::Acuity(note) => self.apply_acuity(note),
            Event::Tried(tried) => self.apply_tried(tried),
            Event::Accepted(accepted) => self.apply_accepted(accepted),
            Event::Guide(event) => self.guide.push(event.clone()),
            Event::Note(text) => self.notes.push(text.clone()),
            Event::Screened(screened) => self.screening.note(*screened),
            Event::Outcome(outcome) => self.outcome = Some(outcome.clone()),
            Event::Finished => self.finished = true,
            Event::Amended(text) => self.amendments.push(text.clone()),
            Event::CameBack(came_back) => {
                self.came_back.push(Returned { came_back: (**came_back).clone(), taken_back: None });
            }
            Event::CameBackTakenBack(taken_back) => {
                let of = taken_back.number.checked_sub(1).and_then(|place| self.came_back.get_mut(place));
                let of = of.filter(|returned| returned.taken_back.is_none()).ok_or(ExamError::NoneCameBack)?;
                of.taken_back = Some(taken_back.clone());
            }
            Event::Practice(event) => {
                let through = Eyes::from_fn(|eye| self.fitted.in_front_of(eye).net_with_hand);
                self.practised.as_mut().ok_or(ExamError::NoPractice)?.note(event, through);
            }
            Event::Undone | Event::Redone => return Err(ExamError::NotAlone),
        }
        Ok(())
    }

    fn apply_acuity(&mut self, note: &AcuityNote) {
        if note.through == Through::Frame {
            let before = Eyes::from_fn(|eye| {
                let reads = note.eye.is_none_or(|only| only == eye);
                let before = self.fitted.in_front_of(eye);
                (reads && !before.occluded).then_some(before.net_with_hand)
            });
            self.readings.push(Reading { eye: note.eye, before, acuity: note.acuity });
        }
        self.acuities.push(*note);
    }

    fn apply_tried(&mut self, tried: &Tried) {
        if let Some(acuity) = tried.acuity {
            let before = Eyes::from_fn(|eye| (eye == tried.eye).then_some(tried.power));
            self.readings.push(Reading { eye: Some(tried.eye), before, acuity });
        }
        self.trail.push(*tried);
    }

    fn apply_accepted(&mut self, accepted: &Accepted) {
        let results = &mut self.results;
        match *accepted {
            Accepted::Refraction(eye, power) => {
                results.refraction[eye] = power;
                if power.is_some() {
                    results.unrefracted[eye] = None;
                }
            }
            Accepted::Retinoscopy(eye, power) => results.retinoscopy[eye] = power,
            Accepted::ChartAllowance(dioptres) => results.chart_allowance = dioptres,
            Accepted::Addition(dioptres) => {
                results.addition = dioptres;
                results.addition_of = Eyes::both(None);
            }
            Accepted::AdditionOf(eye, dioptres) => results.addition_of[eye] = dioptres,
            Accepted::Prism(eye, prism) => results.prism[eye] = prism,
            Accepted::NotRefracted(eye, written) => {
                results.unrefracted[eye] = written;
                if written.is_some() {
                    results.refraction[eye] = None;
                }
            }
            Accepted::Wet(eye, power) => results.wet[eye] = power,
        }
    }

    fn apply_detail(&mut self, detail: &Detail) {
        let person = &mut self.person;
        match detail {
            Detail::Label(label) => person.label = Some(label.clone()),
            Detail::AgeYears(years) => person.age_years = Some(*years),
            Detail::Complaint(complaint) => person.complaint = Some(*complaint),
            Detail::EyePd(eye, pd) => self.fitted.eye_pd[*eye] = Some(*pd),
            Detail::FramePd(eye, pd) => self.fitted.frame_pd[*eye] = Some(*pd),
            Detail::PlannedVertex(distance) => person.planned_vertex = Some(*distance),
            Detail::ChartMetres(metres) => person.chart_metres = Some(*metres),
            Detail::ChartMadeForMetres(metres) => person.chart_made_for_metres = Some(*metres),
            Detail::NearMetres(metres) => person.near_metres = Some(*metres),
            Detail::WorkingMetres(metres) => person.working_metres = Some(*metres),
            Detail::OldGlasses(eye, power) => {
                person.old_glasses[*eye] = Some(*power);
                // what was said of another measurement does not hold of this one
                person.old_glasses_within[*eye] = None;
            }
            Detail::EarlierExams(earlier) => person.earlier_exams = Some(*earlier),
            Detail::OldGlassesWithin(eye, within) => person.old_glasses_within[*eye] = Some(*within),
            Detail::OldAddition(addition) => person.old_addition = Some(*addition),
            Detail::DominantEye(eye) => person.dominant_eye = Some(*eye),
            Detail::EarlierRetinoscopy(earlier) => person.earlier_retinoscopy = Some(*earlier),
            Detail::Strategy(strategy) => person.strategy = Some(*strategy),
            Detail::RedFlags(named) => person.red_flags = Some(named.clone()),
            Detail::Drops(rest) => person.drops = *rest,
            Detail::DropsPut(put) => person.drops_put.push(put.clone()),
            Detail::PresentGlasses(glasses) => person.present_glasses = Some(*glasses),
            Detail::NearTask(task) => person.near_task = Some(*task),
            Detail::StaysOn(eye, worn) => person.stays_on[*eye] = *worn,
            Detail::FrameVertex(distance) => {
                person.measured_vertex = Some(*distance);
                self.fitted.frame.vertex = *distance;
            }
            Detail::TiltDegrees(degrees) => person.tilt_deg = Some(*degrees),
            Detail::FaceFormDegrees(degrees) => person.face_form_deg = Some(*degrees),
            Detail::DeviationSeenBy(by) => person.deviation_seen_by = Some(*by),
            Detail::Neutralised(at, eye, prism) => person.deviation_mut(*at).before[*eye] = *prism,
            Detail::Reserve(at, reserve) => person.deviation_mut(*at).reserve = *reserve,
        }
    }
}
