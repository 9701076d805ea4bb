//! What the guide's events add up to: a fold, so that undo and a crash simply replay.

use std::borrow::Cow;

use super::findings::Findings;
use super::given::{given, is_corrected, learn};
use super::procedure::Effects;
use super::question::Question;
use super::remark::Remark;
use super::running::Running;
use super::shortfall::{MOVED_D, what_is_missing};
use crate::exam::prescription::SAME_POWER_D;
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Chosen, Event, Given, GuideEvent, ProcedureName, Sentence, Shown, State};
use crate::optics::{Eye, Eyes, Power};

/// The procedure that runs.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Run {
    pub procedure: ProcedureName,
    pub eye: Option<Eye>,
    pub running: Running,
    /// What it was given, with what was corrected since.
    pub given: Given,
    /// Presentations that were answered or passed over.
    pub presented: usize,
    /// Whether any was answered.
    pub answered: bool,
}

/// That many events are read again without anything on the way.
const NEAR: usize = 16;

/// From which event on today's procedures asked.
fn last_procedures(events: &[GuideEvent]) -> usize {
    events.iter().rposition(|event| event.procedures_version().is_some()).unwrap_or(0)
}

/// What the guide's events add up to.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Fold {
    /// What was found for each eye so far.
    pub base: Eyes<Power>,
    /// Whether the power of each eye was put in before the guide led anything: it is put back between procedures.
    pub put_in: Eyes<bool>,
    /// What stood before the eyes when the present step was set out.
    pub set_out: Option<Shown>,
    pub run: Option<Run>,
    pub findings: Findings,
    /// What is said beside the next question.
    pub remarks: Vec<Remark>,
    before_last: Option<Box<Fold>>,
    last_answer: Option<Answer>,
    repeats: Option<Answer>,
}

impl Fold {
    /// What events add up to. Those from before the procedures last changed are passed over, not read by other procedures
    /// than those that asked.
    pub fn of(events: &[GuideEvent]) -> Self {
        Self::default().with(&events[last_procedures(events)..])
    }

    /// The same, from the nearest of what the first of these events, or more of them, added up to; others on the way are added
    /// to it, so that events taken back one by one are not all read again each time.
    pub fn behind(events: &[GuideEvent], known: &mut Vec<(usize, Self)>) -> Self {
        known.retain(|(first, _)| *first < events.len());
        let (mut at, mut fold) = known.last().cloned().unwrap_or_else(|| (last_procedures(events), Self::default()));
        while events.len() - at > NEAR {
            let half = at + (events.len() - at) / 2;
            fold = fold.with(&events[at..half]);
            at = half;
            known.push((at, fold.clone()));
        }
        fold.with(&events[at..])
    }

    fn with(mut self, events: &[GuideEvent]) -> Self {
        for event in events {
            self.apply(event);
        }
        self
    }

    /// The procedure that runs and its eye.
    pub fn running(&self) -> Option<(ProcedureName, Option<Eye>)> {
        self.run.as_ref().map(|run| (run.procedure, run.eye))
    }

    /// Whether there is an answer that can be asked for again.
    pub fn can_repeat(&self) -> bool {
        self.before_last.is_some()
    }

    /// The distance power that was found so far for each eye, with what the examiner changed by hand since.
    ///
    /// Before the guide has led anything it is what stands in the frame, or what was accepted where nothing stands there.
    pub fn found(&self, state: &State, now: Eyes<Power>) -> Eyes<Power> {
        if self.has_led() {
            return self.taken_over_at(now).base;
        }
        Eyes::from_fn(|eye| {
            let accepted = state.results.refraction[eye];
            let stands = state.fitted.in_cells(eye).any(|lens| lens.stocked.power().0 != 0.0);
            match accepted {
                Some(accepted) if !stands || accepted.miss(now[eye]) <= SAME_POWER_D => accepted,
                _ if now[eye].is_finite() => now[eye],
                _ => Power::ZERO,
            }
        })
    }

    /// Whether the examiner changed the cells by hand since the step was set out.
    pub fn is_taken_over_at(&self, cells: Eyes<Power>) -> bool {
        self.set_out
            .is_some_and(|set_out| Eye::BOTH.into_iter().any(|eye| set_out.cells[eye].miss(cells[eye]) >= MOVED_D))
    }

    /// With what the examiner changed in the cells since the step was set out.
    pub fn taken_over_at(&self, cells: Eyes<Power>) -> Cow<'_, Self> {
        if !self.is_taken_over_at(cells) {
            return Cow::Borrowed(self);
        }
        let mut fold = self.clone();
        fold.take_over(cells);
        Cow::Owned(fold)
    }

    /// What the procedure that runs is to know, where person or room are known otherwise now.
    pub fn corrected_by(&self, state: &State) -> Option<Given> {
        let run = self.run.as_ref().filter(|run| is_corrected(&run.given, state))?;
        Some(given(state, self.base, run.procedure))
    }

    /// With what was corrected of person and room since.
    pub fn corrected_at(&self, state: &State) -> Cow<'_, Self> {
        self.corrected_by(state).map_or(Cow::Borrowed(self), |given| {
            let mut fold = self.clone();
            fold.correct(&given);
            Cow::Owned(fold)
        })
    }

    fn correct(&mut self, given: &Given) {
        let Some(run) = &mut self.run else { return };
        let was_set_out = self.set_out;
        run.running.procedure_mut().corrected(given, &mut self.base);
        run.given = Given { start: run.given.start, ..given.clone() };
        self.settle();
        // the lenses stand as they stood: what is asked of them is set out again
        self.set_out = was_set_out;
    }

    fn take_over(&mut self, cells: Eyes<Power>) {
        if !self.is_taken_over_at(cells) {
            return;
        }
        let Some(set_out) = self.set_out.take() else { return };
        let shift = Eyes::from_fn(|eye| cells[eye] - set_out.cells[eye]);
        match &mut self.run {
            Some(run) => run.running.procedure_mut().taken_over(&shift, &mut self.base),
            None => self.base = Eyes::from_fn(|eye| self.base[eye] + shift[eye]),
        }
    }

    /// Takes in one event; what the exam should keep besides it comes back.
    pub fn apply(&mut self, event: &GuideEvent) -> Vec<Event> {
        match event {
            GuideEvent::Began { procedure, eye, given } => {
                self.begin(*procedure, *eye, given);
                Vec::new()
            }
            GuideEvent::TakenOver(cells) => {
                self.take_over(*cells);
                Vec::new()
            }
            GuideEvent::Corrected { given } => {
                self.correct(given);
                Vec::new()
            }
            GuideEvent::SetOut(shown) => {
                self.set_out = Some(*shown);
                Vec::new()
            }
            GuideEvent::Answered { answer, shown } => self.answered(*answer, shown),
            GuideEvent::Skipped { no_lens } => self.skipped(*no_lens),
            GuideEvent::Repeated => {
                self.repeated();
                Vec::new()
            }
            GuideEvent::Left => {
                self.remarks.clear();
                self.end();
                Vec::new()
            }
            GuideEvent::Chose(chosen) => self.chosen(chosen),
            GuideEvent::ProceduresChanged { .. } => {
                *self = Self { remarks: vec![Remark::ProceduresChanged], ..Self::default() };
                Vec::new()
            }
        }
    }

    /// Whether the guide has led anything yet.
    fn has_led(&self) -> bool {
        self.set_out.is_some() || self.run.is_some() || !self.findings.done.is_empty()
    }

    fn begin(&mut self, procedure: ProcedureName, eye: Option<Eye>, given: &Given) {
        if !self.has_led() {
            self.put_in = given.start.map(|power| power != Power::ZERO);
        }
        self.remarks.clear();
        self.before_last = None;
        self.base = given.start;
        self.set_out = None;
        self.run = None;
        // what is looked at once more is written once more
        self.findings.written = false;
        // one that cannot be about this eye was kept by nobody, and nothing is guessed
        let Some(running) = Running::begin(procedure, eye, given, &self.findings) else { return };
        let begun = running.procedure();
        for eye in Eye::BOTH {
            let found = &mut self.findings.subjective[eye];
            if found.is_some() || begun.takes_what_was_found() {
                *found = Some(given.start[eye]);
            }
        }
        if let Some(eye) = eye.filter(|_| begun.begins_again()) {
            self.findings.judged[eye].clear();
            self.findings.lines[eye].clear();
        }
        if running.procedure().step(&self.base).is_none() {
            self.remarks.push(running.procedure().why_nothing().unwrap_or(Remark::NothingToDo(procedure)));
        }
        self.run = Some(Run { procedure, eye, running, given: given.clone(), presented: 0, answered: false });
        self.settle();
    }

    fn answered(&mut self, answer: Answer, shown: &Shown) -> Vec<Event> {
        let asked =
            self.run.as_ref().and_then(|run| run.running.procedure().step(&self.base)).map(|step| step.question);
        self.set_out = None;
        // An answer to another question, kept by an earlier version of the program, says nothing now.
        let Some(question) = asked.filter(|question| question.accepts(answer)) else {
            self.remarks.clear();
            return Vec::new();
        };
        self.before_last = None;
        self.before_last = Some(Box::new(self.clone()));
        self.remarks.clear();
        let Some(run) = &mut self.run else { return Vec::new() };
        self.last_answer = Some(answer);
        let resolved = question.resolved(answer);
        if let Some(earlier) = self.repeats.take()
            && question.resolved(earlier) != resolved
        {
            let label = |answer: Answer| {
                if let Some(read) = answer.acuity() {
                    return sentence![read];
                }
                let choices = question.choices();
                choices.into_iter().find(|choice| choice.answer == answer).map_or(Sentence::NONE, |c| c.label)
            };
            let eye = run.eye;
            let (before, now) = (label(question.resolved(earlier)), label(resolved));
            self.remarks.push(Remark::Contradiction { eye, before, now });
        }
        let mut records = Vec::new();
        let read = answer.acuity().filter(|_| question != Question::LineRead);
        let mut effects = Effects {
            base: &mut self.base,
            findings: &mut self.findings,
            remarks: &mut self.remarks,
            records: &mut records,
            read,
        };
        run.running.procedure_mut().answer(resolved, shown, &mut effects);
        for record in &records {
            if let Event::Detail(detail) = record {
                learn(&mut run.given, detail);
            }
        }
        run.presented += 1;
        run.answered = true;
        self.settle();
        records
    }

    /// What the procedure that runs chooses to present, where there is something to choose.
    pub fn chooses(&self, state: &State) -> Option<Chosen> {
        self.run.as_ref()?.running.procedure().choose(&self.base, state)
    }

    fn chosen(&mut self, chosen: &Chosen) -> Vec<Event> {
        let Some(run) = &mut self.run else { return Vec::new() };
        let mut records = Vec::new();
        let mut effects = Effects {
            base: &mut self.base,
            findings: &mut self.findings,
            remarks: &mut self.remarks,
            records: &mut records,
            read: None,
        };
        run.running.procedure_mut().chosen(chosen, &mut effects);
        self.settle();
        records
    }

    fn skipped(&mut self, no_lens: bool) -> Vec<Event> {
        self.set_out = None;
        let Some(run) = &mut self.run else { return Vec::new() };
        if no_lens {
            if let Some(step) = run.running.procedure().step(&self.base) {
                self.remarks.push(Remark::NoLens { eye: step.eye, what: what_is_missing(&step) });
            }
        } else {
            self.remarks.clear();
        }
        self.repeats = None;
        let mut records = Vec::new();
        let mut effects = Effects {
            base: &mut self.base,
            findings: &mut self.findings,
            remarks: &mut self.remarks,
            records: &mut records,
            read: None,
        };
        run.running.procedure_mut().skip(&mut effects);
        run.presented += 1;
        self.settle();
        records
    }

    fn repeated(&mut self) {
        let Some(before) = self.before_last.take() else { return };
        let (answer, presented) = (self.last_answer, self.run.as_ref().map(|run| run.presented));
        *self = *before;
        self.set_out = None;
        self.repeats = answer;
        if let (Some(run), Some(presented)) = (&mut self.run, presented) {
            run.presented = presented;
        }
    }

    /// Ends the procedure when it has nothing more to present, or has presented all that it may.
    fn settle(&mut self) {
        let Some(run) = &self.run else { return };
        if run.running.procedure().step(&self.base).is_none() {
            self.end();
        } else if run.presented >= run.running.procedure().most_presentations() {
            self.remarks.push(Remark::Ended(run.procedure));
            self.end();
        }
    }

    fn end(&mut self) {
        let Some(run) = self.run.take() else { return };
        let (procedure, done) = (run.running.procedure(), &mut self.findings.done);
        if let Some(eye) = run.eye.filter(|_| procedure.begins_again()) {
            self.findings.begun[eye] = done.len();
        }
        done.push((run.procedure, run.eye));
        if let Some(eye) = run.eye.filter(|_| procedure.is_subjective()) {
            self.findings.subjective[eye] = Some(self.base[eye]);
            if run.answered {
                self.findings.refracted[eye] = true;
                self.findings.no_letter[eye] = None;
            }
        }
    }
}
