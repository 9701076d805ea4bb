//! What the events of an exam add up to, with undo and redo over whole steps.

use thiserror::Error;

use super::answer::GuideEvent;
use super::event::{Accepted, AcuityNote, Complaint, Detail, EarlierRetinoscopy, Event, Opening, Through};
use super::trail::Tried;
use crate::frame::{FittedFrame, MoveError};
use crate::optics::{Acuity, Eye, Millimetres, Power, Prism, SpheroCylinder};

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
    /// Near distance in metres.
    pub near_metres: Option<f64>,
    /// Working distance of retinoscopy in metres.
    pub working_metres: Option<f64>,
    /// Old glasses, right first.
    pub old_glasses: [Option<SpheroCylinder>; 2],
    /// Old addition.
    pub old_addition: Option<f64>,
    /// The preferred eye.
    pub dominant_eye: Option<Eye>,
    /// How the examiner's earlier retinoscopy differs from the power then found; once known it stays for the exam.
    pub earlier_retinoscopy: Option<EarlierRetinoscopy>,
}

/// What the examiner has accepted for the record; see [`Accepted`].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Results {
    /// The power found for each eye, right first.
    pub refraction: [Option<Power>; 2],
    /// What retinoscopy gave for each eye, right first.
    pub retinoscopy: [Option<Power>; 2],
    /// Dioptres to take off for a chart nearer than 6 m.
    pub chart_allowance: Option<f64>,
    /// The addition of both eyes in dioptres.
    pub addition: Option<f64>,
    /// The prism wanted before each eye, right first.
    pub prism: [Option<Prism>; 2],
}

/// An acuity with the power that stood before the eyes when it was read, so that it is never credited to another power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Which eye; `None` for both together.
    pub eye: Option<Eye>,
    /// The power before each eye that read, right first; `None` for an eye that did not read.
    pub before: [Option<Power>; 2],
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
    pub wanted: [Option<SpheroCylinder>; 2],
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
    /// The exam is closed.
    #[error("this exam is closed: it can be amended, not changed")]
    Closed,
    /// The exam is open, so there is nothing to amend.
    #[error("this exam is still open: write a note, an amendment is for a closed one")]
    StillOpen,
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
            wanted: [None; 2],
            acuities: Vec::new(),
            trail: Vec::new(),
            readings: Vec::new(),
            results: Results::default(),
            guide: Vec::new(),
            notes: Vec::new(),
            amendments: Vec::new(),
            finished: false,
        }
    }

    /// Applies one event; undo and redo are the exam's business, see [`Exam::apply`].
    ///
    /// # Errors
    /// When a move cannot be made, or the exam is closed (for an amendment: is not).
    pub(crate) fn apply(&mut self, event: &Event) -> Result<(), ExamError> {
        match (self.finished, matches!(event, Event::Amended(_))) {
            (true, false) => return Err(ExamError::Closed),
            (false, true) => return Err(ExamError::StillOpen),
            _ => {}
        }
        match event {
            Event::Detail(detail) => self.apply_detail(detail),
            Event::Moved(step) => self.fitted.apply(step)?,
            Event::Wanted(eye, power) => self.wanted[eye.index()] = *power,
            Event::Acuity(note) => self.apply_acuity(note),
            Event::Tried(tried) => self.apply_tried(tried),
            Event::Accepted(accepted) => self.apply_accepted(accepted),
            Event::Guide(event) => self.guide.push(event.clone()),
            Event::Note(text) => self.notes.push(text.clone()),
            Event::Finished => self.finished = true,
            Event::Amended(text) => self.amendments.push(text.clone()),
            Event::Undone | Event::Redone => return Err(ExamError::NotAlone),
        }
        Ok(())
    }

    fn apply_acuity(&mut self, note: &AcuityNote) {
        if note.through == Through::Frame {
            let before = Eye::BOTH.map(|eye| {
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
            let before = Eye::BOTH.map(|eye| (eye == tried.eye).then_some(tried.power));
            self.readings.push(Reading { eye: Some(tried.eye), before, acuity });
        }
        self.trail.push(*tried);
    }

    fn apply_accepted(&mut self, accepted: &Accepted) {
        let results = &mut self.results;
        match *accepted {
            Accepted::Refraction(eye, power) => results.refraction[eye.index()] = power,
            Accepted::Retinoscopy(eye, power) => results.retinoscopy[eye.index()] = power,
            Accepted::ChartAllowance(dioptres) => results.chart_allowance = dioptres,
            Accepted::Addition(dioptres) => results.addition = dioptres,
            Accepted::Prism(eye, prism) => results.prism[eye.index()] = prism,
        }
    }

    fn apply_detail(&mut self, detail: &Detail) {
        let person = &mut self.person;
        match detail {
            Detail::Label(label) => person.label = Some(label.clone()),
            Detail::AgeYears(years) => person.age_years = Some(*years),
            Detail::Complaint(complaint) => person.complaint = Some(*complaint),
            Detail::EyePd(eye, pd) => self.fitted.eye_pd[eye.index()] = Some(*pd),
            Detail::FramePd(eye, pd) => self.fitted.frame_pd[eye.index()] = Some(*pd),
            Detail::PlannedVertex(distance) => person.planned_vertex = Some(*distance),
            Detail::ChartMetres(metres) => person.chart_metres = Some(*metres),
            Detail::NearMetres(metres) => person.near_metres = Some(*metres),
            Detail::WorkingMetres(metres) => person.working_metres = Some(*metres),
            Detail::OldGlasses(eye, power) => person.old_glasses[eye.index()] = Some(*power),
            Detail::OldAddition(addition) => person.old_addition = Some(*addition),
            Detail::DominantEye(eye) => person.dominant_eye = Some(*eye),
            Detail::EarlierRetinoscopy(earlier) => person.earlier_retinoscopy = Some(*earlier),
        }
    }
}

/// An exam: how it began, every step since, and the state they add up to.
///
/// A step is what one confirmed key did: one or more events that are kept, undone and redone together. `Undone` and
/// `Redone` stand alone in their step.
#[derive(Debug, Clone, PartialEq)]
pub struct Exam {
    opening: Opening,
    steps: Vec<Vec<Event>>,
    standing: usize,
    state: State,
}

impl Exam {
    /// Begins an exam.
    pub fn open(opening: Opening) -> Self {
        let state = State::opened(&opening);
        Self { opening, steps: Vec::new(), standing: 0, state }
    }

    /// How the exam began.
    pub fn opening(&self) -> &Opening {
        &self.opening
    }

    /// The state now.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The steps that stand, oldest first.
    pub fn standing_steps(&self) -> &[Vec<Event>] {
        &self.steps[..self.standing]
    }

    /// How many steps were taken back and can be brought again.
    pub fn redoable(&self) -> usize {
        self.steps.len() - self.standing
    }

    /// Whether a step can be applied now.
    ///
    /// # Errors
    /// As [`Exam::apply`].
    pub fn check(&self, step: &[Event]) -> Result<(), ExamError> {
        self.after(step).map(|_| ())
    }

    /// Applies one step. An empty step is none.
    ///
    /// # Errors
    /// When an event of it is refused; the exam is as before then.
    pub fn apply(&mut self, step: &[Event]) -> Result<(), ExamError> {
        let state = self.after(step)?;
        self.accept(step, state);
        Ok(())
    }

    /// The exam with one more step, for reading long exams back: without the copy that [`Exam::apply`] keeps against a
    /// refusal, since a refusal ends the reading.
    ///
    /// # Errors
    /// As [`Exam::apply`].
    pub fn replayed(mut self, step: &[Event]) -> Result<Self, ExamError> {
        if let [] | [Event::Undone | Event::Redone] = step {
            self.apply(step)?;
        } else {
            step.iter().try_for_each(|event| self.state.apply(event))?;
            self.keep(step);
        }
        Ok(self)
    }

    /// Takes a step with the state that [`Exam::after`] gave for it, once it is safely kept.
    pub(crate) fn accept(&mut self, step: &[Event], after: State) {
        self.state = after;
        match step {
            [] => {}
            [Event::Undone] => self.standing -= 1,
            [Event::Redone] => self.standing += 1,
            _ => self.keep(step),
        }
    }

    fn keep(&mut self, step: &[Event]) {
        self.steps.truncate(self.standing);
        self.steps.push(step.to_vec());
        self.standing += 1;
    }

    /// The state that a step leads to.
    ///
    /// # Errors
    /// As [`Exam::apply`].
    pub(crate) fn after(&self, step: &[Event]) -> Result<State, ExamError> {
        match step {
            [Event::Undone | Event::Redone] if self.state.finished => Err(ExamError::Closed),
            [Event::Undone] => {
                // Replaying the steps that stand is cheap enough to need no snapshots, and it cannot disagree with them.
                let standing = self.standing.checked_sub(1).ok_or(ExamError::NothingToUndo)?;
                with_steps(State::opened(&self.opening), &self.steps[..standing])
            }
            [Event::Redone] => {
                let again = self.steps.get(self.standing).ok_or(ExamError::NothingToRedo)?;
                with_steps(self.state.clone(), std::slice::from_ref(again))
            }
            _ => with_steps(self.state.clone(), &[step]),
        }
    }
}

fn with_steps<S: AsRef<[Event]>>(mut state: State, steps: &[S]) -> Result<State, ExamError> {
    steps.iter().flat_map(AsRef::as_ref).try_for_each(|event| state.apply(event))?;
    Ok(state)
}
