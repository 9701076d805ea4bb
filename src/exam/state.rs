//! What the events of an exam add up to, with undo and redo over whole steps.

use thiserror::Error;

use super::answer::GuideEvent;
use super::event::{AcuityNote, Complaint, Detail, Event, Opening};
use super::trail::Tried;
use crate::frame::{Fitted, MoveError};
use crate::optics::{Eye, Millimetres, SpheroCylinder};

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
}

/// The state of an exam at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Frame, box and every lens in its place.
    pub fitted: Fitted,
    /// Person and room.
    pub person: Person,
    /// The wanted power of each eye, right first.
    pub wanted: [Option<SpheroCylinder>; 2],
    /// Acuities in the order they were read.
    pub acuities: Vec<AcuityNote>,
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
    fn apply(&mut self, event: &Event) -> Result<(), ExamError> {
        match (self.finished, matches!(event, Event::Amended(_))) {
            (true, false) => return Err(ExamError::Closed),
            (false, true) => return Err(ExamError::StillOpen),
            _ => {}
        }
        match event {
            Event::Detail(detail) => self.apply_detail(detail),
            Event::Moved(step) => self.fitted.apply(step)?,
            Event::Wanted(eye, power) => self.wanted[eye.index()] = *power,
            Event::Acuity(note) => self.acuities.push(*note),
            Event::Tried(tried) => self.trail.push(*tried),
            Event::Guide(event) => self.guide.push(*event),
            Event::Note(text) => self.notes.push(text.clone()),
            Event::Finished => self.finished = true,
            Event::Amended(text) => self.amendments.push(text.clone()),
            Event::Undone | Event::Redone => return Err(ExamError::NotAlone),
        }
        Ok(())
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
        self.state = self.after(step)?;
        match step {
            [] => {}
            [Event::Undone] => self.standing -= 1,
            [Event::Redone] => self.standing += 1,
            _ => {
                self.steps.truncate(self.standing);
                self.steps.push(step.to_vec());
                self.standing += 1;
            }
        }
        Ok(())
    }

    /// The state that a step leads to.
    fn after(&self, step: &[Event]) -> Result<State, ExamError> {
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
