//! The doors of the guide: each takes the guide and its exam and gives one step, checked as it was written.

use thiserror::Error;

use super::given::given;
use super::guidance::{Guide, cells};
use super::realise::realise;
use super::session::Fold;
use crate::exam::{Answer, CheckedStep, Detail, Event, Exam, ExamError, GuideEvent, ProcedureName};
use crate::frame::fitted::InCell;
use crate::frame::{FittedFrame, Move};
use crate::kit::Lens;
use crate::optics::Eye;

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
    /// Light comes to a focus where a power would have to be told.
    #[error(
        "light comes to a focus between the lenses before the {eye} eye, so that there is no power to go on from: take {lens} out of {cell} first"
    )]
    NoPower {
        /// Before which eye.
        eye: Eye,
        /// The lens that brings it there.
        lens: Lens,
        /// The cell it is in.
        cell: u8,
    },
    /// The exam refuses what the guide would do.
    #[error(transparent)]
    Exam(#[from] ExamError),
}

/// Begins a procedure for an eye, or for both when none is named; one that runs is left where it is.
///
/// # Errors
/// When the procedure is about one eye and none is named; when the exam is closed.
pub fn begin(
    guide: &Guide,
    exam: &Exam,
    procedure: ProcedureName,
    eye: Option<Eye>,
) -> Result<CheckedStep, GuideError> {
    begin_knowing(guide, exam, Vec::new(), procedure, eye)
}

/// Begins a procedure with details that become part of the exam in the same step, so that what follows depends on its
/// events alone.
///
/// # Errors
/// As [`begin`].
pub fn begin_knowing(
    guide: &Guide,
    exam: &Exam,
    known: Vec<Detail>,
    procedure: ProcedureName,
    eye: Option<Eye>,
) -> Result<CheckedStep, GuideError> {
    let eye = eye.filter(|&eye| procedure.takes(Some(eye)));
    if !procedure.takes(eye) {
        return Err(GuideError::NeedsAnEye(procedure));
    }
    let mut builder = StepBuilder::at(guide, exam)?;
    for detail in known {
        builder.write(Event::Detail(detail))?;
    }
    let state = builder.step.after();
    let given = Box::new(given(state, builder.fold.found(state, cells(state)), procedure));
    builder.guide(GuideEvent::Began { procedure, eye, given })?;
    builder.set_out()
}

/// Answers what is presented.
///
/// # Errors
/// When the answer does not fit what is asked; when the exam is closed.
pub fn answer(guide: &Guide, exam: &Exam, answer: Answer) -> Result<CheckedStep, GuideError> {
    let guide = &*guide.at(exam);
    if let Answer::Go { procedure, eye } = answer
        && guide.presentation().question.accepts(answer)
    {
        return begin(guide, exam, procedure, eye);
    }
    let mut builder = StepBuilder::at(guide, exam)?;
    let presentation = guide.presentation();
    // what is done with the exam is its session's
    if answer.ending().is_some() || !presentation.question.accepts(answer) {
        return Err(GuideError::NotAnAnswer);
    }
    builder.guide(GuideEvent::Answered { answer, shown: presentation.shown })?;
    builder.set_out()
}

/// Passes over what is presented.
///
/// # Errors
/// When no procedure runs; when the exam is closed.
pub fn skip(guide: &Guide, exam: &Exam) -> Result<CheckedStep, GuideError> {
    let mut builder = StepBuilder::at(guide, exam)?;
    builder.fold.running().ok_or(GuideError::NothingRunning)?;
    builder.guide(GuideEvent::Skipped { no_lens: false })?;
    builder.set_out()
}

/// Asks again for the last answer.
///
/// # Errors
/// When nothing was answered yet; when the exam is closed.
pub fn repeat(guide: &Guide, exam: &Exam) -> Result<CheckedStep, GuideError> {
    let mut builder = StepBuilder::at(guide, exam)?;
    if !builder.fold.can_repeat() {
        return Err(GuideError::NothingToRepeat);
    }
    builder.guide(GuideEvent::Repeated)?;
    builder.set_out()
}

/// Leaves the procedure that runs, with what it found so far.
///
/// # Errors
/// When no procedure runs; when the exam is closed.
pub fn leave(guide: &Guide, exam: &Exam) -> Result<CheckedStep, GuideError> {
    let mut builder = StepBuilder::at(guide, exam)?;
    builder.fold.running().ok_or(GuideError::NothingRunning)?;
    builder.guide(GuideEvent::Left)?;
    builder.set_out()
}

/// Sets out once more what is presented: after lenses were moved by hand, so that the step starts from what they make now.
///
/// # Errors
/// When the exam is closed.
pub fn set_out(guide: &Guide, exam: &Exam) -> Result<CheckedStep, GuideError> {
    StepBuilder::at(guide, exam)?.set_out()
}

/// Which lens keeps an eye from having a power; none where it has one.
fn no_power(fitted: &FittedFrame, eye: Eye) -> Option<GuideError> {
    if fitted.in_front_of(eye).net.is_finite() {
        return None;
    }
    let in_cells: Vec<_> = fitted.in_cells(eye).collect();
    let without = |lens: &&InCell<'_>| {
        let mut left = fitted.clone();
        let piece = lens.stocked.piece.clone();
        left.apply(&Move::Take { piece, eye, cell: lens.cell }).is_ok() && left.in_front_of(eye).net.is_finite()
    };
    let lens = in_cells.iter().rev().find(without).or(in_cells.last())?;
    Some(GuideError::NoPower { eye, lens: lens.stocked.piece.lens.clone(), cell: lens.cell })
}

/// Writes the events of one step, each seen by the state and the guide before the next is thought of.
struct StepBuilder {
    step: CheckedStep,
    fold: Fold,
}

impl StepBuilder {
    fn at(guide: &Guide, exam: &Exam) -> Result<Self, GuideError> {
        if exam.state().finished {
            return Err(ExamError::Closed.into());
        }
        if let Some(refusal) = Eye::BOTH.into_iter().find_map(|eye| no_power(&exam.state().fitted, eye)) {
            return Err(refusal);
        }
        let guide = guide.at(exam);
        let (mut builder, now) = (Self { step: exam.step(), fold: guide.fold().clone() }, guide.now());
        if builder.fold.is_taken_over_at(now) {
            builder.guide(GuideEvent::TakenOver(now))?;
        }
        if let Some(given) = builder.fold.corrected_by(exam.state()) {
            builder.guide(GuideEvent::Corrected { given: Box::new(given) })?;
        }
        Ok(builder)
    }

    fn write(&mut self, event: Event) -> Result<(), GuideError> {
        Ok(self.step.then(event)?)
    }

    fn guide(&mut self, event: GuideEvent) -> Result<(), GuideError> {
        let records = self.fold.apply(&event);
        self.write(Event::Guide(event))?;
        records.into_iter().try_for_each(|record| self.write(record))
    }

    /// Makes the moves for what is presented now; a step that no free lens makes is passed over, and the next tried.
    fn set_out(mut self) -> Result<CheckedStep, GuideError> {
        loop {
            if let Some(chosen) = self.fold.chooses(self.step.after()) {
                self.guide(GuideEvent::Chose(chosen))?;
            }
            let state = self.step.after();
            if let Some(realised) = realise(&self.fold.step(state), state) {
                for step in realised.moves {
                    self.write(Event::Moved(step))?;
                }
                self.guide(GuideEvent::SetOut(realised.shown))?;
                return Ok(self.step);
            }
            if self.fold.running().is_none() {
                return Ok(self.step);
            }
            self.guide(GuideEvent::Skipped { no_lens: true })?;
        }
    }
}
