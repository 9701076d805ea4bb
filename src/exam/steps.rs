//! An exam: its steps, one for each confirmed key, with undo and redo over whole steps.

use std::sync::atomic::{AtomicU64, Ordering};

use super::event::{Event, Opening, StepKind};
use super::state::{ExamError, State};

/// A number that no other state of any exam in this program has: the key of everything computed from one.
fn fresh() -> u64 {
    static LAST: AtomicU64 = AtomicU64::new(0);
    LAST.fetch_add(1, Ordering::Relaxed)
}

/// An exam: how it began, every step since, and the state they add up to.
///
/// A step is what one confirmed key did: one or more events that are kept, undone and redone together. `Undone` and
/// `Redone` stand alone in their step.
#[derive(Debug, Clone)]
pub struct Exam {
    opening: Opening,
    steps: Vec<Vec<Event>>,
    standing: usize,
    state: State,
    revision: u64,
    lineage: u64,
    /// States after the first of the steps that stand, as many as each is named with, the fewest first: from these undo goes
    /// on. They are made when something is undone.
    behind: Vec<(usize, State)>,
    /// The revision before the last step, where that was an undo.
    undone: Option<u64>,
}

/// Two exams are equal when the same happened in them, whatever their revisions.
impl PartialEq for Exam {
    fn eq(&self, other: &Self) -> bool {
        self.standing == other.standing
            && self.opening == other.opening
            && self.steps == other.steps
            && self.state == other.state
    }
}

/// A step that an exam takes, with the state it leads to: made once by [`Exam::check`], kept, then accepted as it is.
#[derive(Debug, Clone)]
pub struct CheckedStep {
    events: Vec<Event>,
    after: State,
    /// Of the exam when the step was checked.
    revision: u64,
    /// Further states behind the one after it, where it undoes.
    behind: Vec<(usize, State)>,
}

impl CheckedStep {
    /// The events of the step, in order.
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// The events of the step.
    pub fn into_events(self) -> Vec<Event> {
        self.events
    }

    /// Puts one more event at the end of the step.
    ///
    /// # Errors
    /// When the event is refused, or is undo or redo, which stand alone; the step is as before then.
    pub fn then(&mut self, event: Event) -> Result<(), ExamError> {
        self.after.apply(&event)?;
        self.events.push(event);
        Ok(())
    }

    /// The state once the step is accepted.
    pub fn after(&self) -> &State {
        &self.after
    }

    /// Makes sure that an exam can take the step as it was checked.
    ///
    /// # Panics
    /// When the exam is not the one that checked it, or took another step since: the state would not be its own.
    pub fn must_be_next_of(&self, exam: &Exam) {
        assert_eq!(self.revision, exam.revision, "a step is taken by the exam that checked it, and next");
    }
}

impl Exam {
    /// Begins an exam.
    pub fn open(opening: Opening) -> Self {
        let (state, revision) = (State::opened(&opening), fresh());
        Self {
            opening,
            steps: Vec::new(),
            standing: 0,
            state,
            revision,
            lineage: revision,
            behind: Vec::new(),
            undone: None,
        }
    }

    /// An exam as it was kept: how it began, and every step since, undo and redo among them.
    ///
    /// Only what stands at the end is applied, so that a long history of undoing costs no more than its length.
    ///
    /// # Errors
    /// When a step that stands is refused, or there was nothing to undo or redo; with the number of that step among all
    /// those given, from 0.
    pub fn replay(opening: Opening, history: impl IntoIterator<Item = Vec<Event>>) -> Result<Self, (usize, ExamError)> {
        let mut exam = Self::open(opening);
        let mut places = Vec::new();
        let mut closed_by = None;
        for (place, step) in history.into_iter().enumerate() {
            match StepKind::of(&step) {
                StepKind::Undoes | StepKind::Redoes if closed_by.is_some() => return Err((place, ExamError::Closed)),
                StepKind::Undoes => exam.standing = exam.without_last().map_err(|error| (place, error))?,
                StepKind::Redoes if exam.standing == exam.steps.len() => return Err((place, ExamError::NothingToRedo)),
                StepKind::Redoes => exam.standing += 1,
                StepKind::Adds if step.is_empty() => {}
                StepKind::Adds => {
                    places.truncate(exam.standing);
                    places.push(place);
                    exam.record(step);
                }
            }
            let last = exam.standing.checked_sub(1).map(|last| &exam.steps[last]);
            closed_by = closed_by.or_else(|| last.filter(|step| step.contains(&Event::Finished)).map(|_| place));
        }
        for (step, place) in exam.steps[..exam.standing].iter().zip(places) {
            for event in step {
                exam.state.apply(event).map_err(|error| (place, error))?;
            }
        }
        Ok(exam)
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

    /// The state after the first of the steps that stand, as many as are named.
    ///
    /// # Errors
    /// When a step is refused; it was not when it was taken.
    pub fn state_after(&self, steps: usize) -> Result<State, ExamError> {
        with_steps(State::opened(&self.opening), &self.steps[..steps.min(self.standing)])
    }

    /// Whether nothing was done yet but to say how the room is.
    pub fn is_untouched(&self) -> bool {
        self.steps.iter().flatten().all(Event::is_of_the_room)
    }

    /// How many steps were taken back and can be brought again.
    pub fn redoable(&self) -> usize {
        self.steps.len() - self.standing
    }

    /// A number that changes with every step and that no other state of any exam has while the program runs: the key of
    /// everything computed from the state.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// A number that changes whenever the steps that stand are other than those before with some added: by undo, by redo,
    /// and from exam to exam.
    pub fn lineage(&self) -> u64 {
        self.lineage
    }

    /// Whether the last step was an undo and the exam was at this revision before it: what stands is then a beginning of what
    /// stood there.
    pub fn was_undone_from(&self, revision: u64) -> bool {
        self.undone == Some(revision)
    }

    /// A step without events as yet; [`CheckedStep::then`] checks one after the other.
    pub fn step(&self) -> CheckedStep {
        self.checked(Vec::new(), self.state.clone())
    }

    /// Checks a step and makes the state that it leads to; changes nothing. An empty step leaves everything as it is.
    ///
    /// # Errors
    /// When an event of it is refused.
    pub fn check(&self, step: Vec<Event>) -> Result<CheckedStep, ExamError> {
        let after = match StepKind::of(&step) {
            StepKind::Undoes | StepKind::Redoes if self.state.finished => return Err(ExamError::Closed),
            StepKind::Undoes => {
                let (after, behind) = self.state_behind(self.without_last()?)?;
                return Ok(CheckedStep { behind, ..self.checked(step, after) });
            }
            StepKind::Redoes => {
                let again = self.steps.get(self.standing).ok_or(ExamError::NothingToRedo)?;
                with_steps(self.state.clone(), std::slice::from_ref(again))?
            }
            StepKind::Adds => with_steps(self.state.clone(), &[step.as_slice()])?,
        };
        Ok(self.checked(step, after))
    }

    fn checked(&self, events: Vec<Event>, after: State) -> CheckedStep {
        CheckedStep { events, after, revision: self.revision, behind: Vec::new() }
    }

    /// The state after the first of the steps that stand, from the nearest one behind it that is known, and others on the way:
    /// half way, half of the rest, and so on. Undoing all of n steps one by one then applies some n log n steps and holds
    /// log n states.
    fn state_behind(&self, steps: usize) -> Result<(State, Vec<(usize, State)>), ExamError> {
        let known = self.behind.iter().rev().find(|(after, _)| *after <= steps);
        let (mut at, mut state) = known.cloned().unwrap_or_else(|| (0, State::opened(&self.opening)));
        let mut behind = Vec::new();
        while steps - at > NEAR {
            let half = at + (steps - at) / 2;
            state = with_steps(state, &self.steps[at..half])?;
            at = half;
            behind.push((at, state.clone()));
        }
        Ok((with_steps(state, &self.steps[at..steps])?, behind))
    }

    /// Takes a step that was checked, once it is safely kept.
    ///
    /// # Panics
    /// As [`CheckedStep::must_be_next_of`].
    pub fn accept(&mut self, step: CheckedStep) {
        step.must_be_next_of(self);
        if step.events.is_empty() {
            return;
        }
        self.state = step.after;
        let before = std::mem::replace(&mut self.revision, fresh());
        self.undone = StepKind::of(&step.events).undoes().then_some(before);
        match StepKind::of(&step.events) {
            StepKind::Undoes => {
                self.standing -= 1;
                let standing = self.standing;
                self.behind.retain(|(after, _)| *after < standing);
                self.behind.extend(step.behind);
            }
            StepKind::Redoes => self.standing += 1,
            StepKind::Adds => return self.record(step.events),
        }
        self.lineage = self.revision;
    }

    /// Checks a step and takes it at once.
    ///
    /// # Errors
    /// When an event of it is refused; the exam is as before then.
    pub fn apply(&mut self, step: &[Event]) -> Result<(), ExamError> {
        self.check(step.to_vec()).map(|step| self.accept(step))
    }

    /// How many steps stand once the last is taken back.
    ///
    /// Where another version of the procedures took over is as far back as undo goes: were that step taken back, today's
    /// procedures would read what others asked.
    fn without_last(&self) -> Result<usize, ExamError> {
        let (last, before) = self.standing_steps().split_last().ok_or(ExamError::NothingToUndo)?;
        if last.iter().any(|event| event.procedures_version().is_some()) {
            return Err(ExamError::OtherProcedures);
        }
        Ok(before.len())
    }

    fn record(&mut self, step: Vec<Event>) {
        self.steps.truncate(self.standing);
        self.behind.retain(|(after, _)| *after <= self.standing);
        self.steps.push(step);
        self.standing += 1;
    }
}

/// That many steps are applied again without a state of their own on the way.
const NEAR: usize = 8;

fn with_steps<S: AsRef<[Event]>>(mut state: State, steps: &[S]) -> Result<State, ExamError> {
    steps.iter().flat_map(AsRef::as_ref).try_for_each(|event| state.apply(event))?;
    Ok(state)
}
