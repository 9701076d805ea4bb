//! The doors of the guide: each takes the state of the exam and gives the events of one step.

use thiserror::Error;

use super::realise::realise;
use super::session::{Guide, cells};
use crate::exam::{Answer, Event, ExamError, Given, GuideEvent, ProcedureName, State, Through};
use crate::kit::{Lens, Place};
use crate::optics::{Dioptres, Eye, Eyes};

/// Something that the guide cannot do now.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum GuideError {
    /// The answer does not fit what is asked.
    #[error("that does not answer what is asked: choose one of the answers shown")]
    NotAnAnswer,
    /// Nothing is asked.
    #[error("no procedure is running: choose one first")]
    NothingRunning,
    /// Nothing was answered yet.
    #[error("nothing was answered yet in this procedure: there is nothing to repeat")]
    NothingToRepeat,
    /// The procedure is about one eye.
    #[error("{0} is about one eye: say which")]
    NeedsAnEye(ProcedureName),
    /// The exam refuses what the guide would do.
    #[error(transparent)]
    Exam(#[from] ExamError),
}

/// Begins a procedure for an eye, or for both when none is named; one that runs is left where it is.
///
/// # Errors
/// When the procedure is about one eye and none is named; when the exam is closed.
pub fn begin(state: &State, procedure: ProcedureName, eye: Option<Eye>) -> Result<Vec<Event>, GuideError> {
    let eye = eye.filter(|&eye| procedure.takes(Some(eye)));
    if !procedure.takes(eye) {
        return Err(GuideError::NeedsAnEye(procedure));
    }
    let mut writer = StepBuilder::at(state)?;
    let given = Box::new(given(state, &writer.guide));
    writer.guide(GuideEvent::Began { procedure, eye, given })?;
    writer.set_out()
}

/// Answers what is presented.
///
/// # Errors
/// When the answer does not fit what is asked; when the exam is closed.
pub fn answer(state: &State, answer: Answer) -> Result<Vec<Event>, GuideError> {
    let mut writer = StepBuilder::at(state)?;
    let presentation = writer.guide.present(state);
    if !presentation.question.accepts(answer) {
        return Err(GuideError::NotAnAnswer);
    }
    if let Answer::Go { procedure, eye } = answer {
        return begin(state, procedure, eye);
    }
    writer.guide(GuideEvent::Answered { answer, shown: presentation.shown })?;
    writer.set_out()
}

/// Passes over what is presented.
///
/// # Errors
/// When no procedure runs; when the exam is closed.
pub fn skip(state: &State) -> Result<Vec<Event>, GuideError> {
    let mut writer = StepBuilder::at(state)?;
    writer.guide.running().ok_or(GuideError::NothingRunning)?;
    writer.guide(GuideEvent::Skipped { no_lens: false })?;
    writer.set_out()
}

/// Asks again for the last answer.
///
/// # Errors
/// When nothing was answered yet; when the exam is closed.
pub fn repeat(state: &State) -> Result<Vec<Event>, GuideError> {
    let mut writer = StepBuilder::at(state)?;
    if !writer.guide.can_repeat() {
        return Err(GuideError::NothingToRepeat);
    }
    writer.guide(GuideEvent::Repeated)?;
    writer.set_out()
}

/// Leaves the procedure that runs, with what it found so far.
///
/// # Errors
/// When no procedure runs; when the exam is closed.
pub fn leave(state: &State) -> Result<Vec<Event>, GuideError> {
    let mut writer = StepBuilder::at(state)?;
    writer.guide.running().ok_or(GuideError::NothingRunning)?;
    writer.guide(GuideEvent::Left)?;
    writer.set_out()
}

/// Sets out once more what is presented: after lenses were moved by hand, so that the step starts from what they make now.
///
/// # Errors
/// When the exam is closed.
pub fn set_out(state: &State) -> Result<Vec<Event>, GuideError> {
    StepBuilder::at(state)?.set_out()
}

/// What a procedure that begins now starts from.
fn given(state: &State, guide: &Guide) -> Given {
    let unaided = |eye: Eye| {
        let notes = state.acuities.iter().rev();
        let unaided = notes.filter(|note| note.through == Through::Unaided).find(|note| note.eye == Some(eye));
        unaided.map(|note| note.acuity)
    };
    let mut cross_cylinders: Vec<Dioptres> = state
        .fitted
        .stock
        .pieces()
        .iter()
        .filter(|stocked| matches!(stocked.place, Place::Box | Place::Hand { .. }))
        .filter_map(|stocked| match stocked.piece.lens {
            Lens::CrossCylinder(mark) => Some(Dioptres(mark.dioptres())),
            _ => None,
        })
        .collect();
    cross_cylinders.sort_by(|a, b| a.0.total_cmp(&b.0));
    cross_cylinders.dedup();
    let person = &state.person;
    Given {
        start: guide.found(state),
        age_years: person.age_years,
        complaint: person.complaint,
        unaided: Eyes::from_fn(unaided),
        old_glasses: person.old_glasses,
        eye_pd: state.fitted.eye_pd,
        chart_metres: person.chart_metres,
        near_metres: person.near_metres,
        working_metres: person.working_metres,
        dominant_eye: person.dominant_eye,
        cross_cylinders,
        earlier_retinoscopy: person.earlier_retinoscopy,
    }
}

/// Writes the events of one step, each seen by the state and the guide before the next is thought of.
struct StepBuilder {
    state: State,
    guide: Guide,
    events: Vec<Event>,
}

impl StepBuilder {
    fn at(state: &State) -> Result<Self, GuideError> {
        if state.finished {
            return Err(ExamError::Closed.into());
        }
        let mut writer = Self { state: state.clone(), guide: Guide::replay(state), events: Vec::new() };
        let now = cells(state);
        if writer.guide.is_taken_over_at(now) {
            writer.guide(GuideEvent::TakenOver(now))?;
        }
        Ok(writer)
    }

    fn write(&mut self, event: Event) -> Result<(), GuideError> {
        self.state.apply(&event)?;
        self.events.push(event);
        Ok(())
    }

    fn guide(&mut self, event: GuideEvent) -> Result<(), GuideError> {
        let records = self.guide.apply(&event);
        self.write(Event::Guide(event))?;
        records.into_iter().try_for_each(|record| self.write(record))
    }

    /// Makes the moves for what is presented now; a step that no free lens makes is passed over, and the next tried.
    fn set_out(mut self) -> Result<Vec<Event>, GuideError> {
        loop {
            let step = self.guide.step_now(&self.state);
            if let Some(realised) = realise(&step, &self.state) {
                for step in realised.moves {
                    self.write(Event::Moved(step))?;
                }
                self.guide(GuideEvent::SetOut(realised.shown))?;
                return Ok(self.events);
            }
            if self.guide.running().is_none() {
                return Ok(self.events);
            }
            self.guide(GuideEvent::Skipped { no_lens: true })?;
        }
    }
}
