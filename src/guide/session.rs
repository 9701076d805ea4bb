//! The guide of one exam: a fold over what happened in it, so that undo and a crash simply replay.

use super::findings::Findings;
use super::ladder::order;
use super::presentation::{Presentation, Progress, Show};
use super::procedure::{Effects, Step};
use super::question::Question;
use super::remark::Remark;
use super::running::Running;
use super::words::{signed, written};
use crate::exam::prescription::too_plus_of_near_chart;
use crate::exam::{Answer, Event, Given, GuideEvent, ProcedureName, Shown, State};
use crate::optics::quarter::nearest_quarter;
use crate::optics::{Eye, Eyes, Power};
use crate::stacking::REACHES_WITHIN_D;

/// A difference below this is rounding, not a lens.
const MOVED_D: f64 = 1e-6;

/// A step that acts within this part of its mark is not another step.
const SAME_STEP_PART: f64 = 0.1;

/// Off centre by less than this is not worth a word.
const OFF_CENTRE_FROM_MM: f64 = 0.5;

/// The procedure that runs.
#[derive(Debug, Clone, PartialEq)]
struct Run {
    procedure: ProcedureName,
    eye: Option<Eye>,
    running: Running,
    age_known: bool,
    /// Presentations that were answered or passed over.
    presented: usize,
}

/// The guide of one exam.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Guide {
    base: Eyes<Power>,
    set_out: Option<Shown>,
    run: Option<Run>,
    findings: Findings,
    remarks: Vec<Remark>,
    before_last: Option<Box<Guide>>,
    last_answer: Option<Answer>,
    repeats: Option<Answer>,
}

impl Guide {
    /// The guide as the events of an exam leave it.
    pub fn replay(state: &State) -> Self {
        let mut guide = Self::default();
        for event in &state.guide {
            guide.apply(event);
        }
        guide
    }

    /// The procedure that runs and its eye.
    pub fn running(&self) -> Option<(ProcedureName, Option<Eye>)> {
        self.run.as_ref().map(|run| (run.procedure, run.eye))
    }

    /// What was found so far.
    pub fn findings(&self) -> &Findings {
        &self.findings
    }

    /// The distance power that was found so far for each eye, right first, with what the examiner changed by hand since.
    pub fn found(&self, state: &State) -> Eyes<Power> {
        self.taken_over_at(cells(state)).base
    }

    /// Whether there is an answer that can be asked for again.
    pub fn can_repeat(&self) -> bool {
        self.before_last.is_some()
    }

    /// Whether the examiner changed the cells by hand since the guide set them out.
    pub fn is_taken_over(&self, state: &State) -> bool {
        self.is_taken_over_at(cells(state))
    }

    /// What to present now. Between procedures it asks with which to go on.
    ///
    /// What the examiner changed in the cells by hand since it was set out is taken over: the step starts from there.
    pub fn present(&self, state: &State) -> Presentation {
        let guide = self.taken_over_at(cells(state));
        let step = guide.step(state);
        let mut remarks = self.remarks.clone();
        remarks.extend(guide.standing_remarks(state, &step));
        let shown = self.shown(state, &step);
        if self.set_out.is_some() {
            remarks.extend(realised_remarks(&step, &shown));
        }
        let progress = guide.run.as_ref().map(|run| Progress {
            presentation: run.presented + 1,
            most: run.running.procedure().most_presentations(),
        });
        Presentation {
            procedure: guide.run.as_ref().map(|run| run.procedure),
            eye: step.eye,
            show: step.show,
            from: step.from,
            to: step.to,
            shown,
            choices: step.question.choices(),
            question: step.question,
            say: step.say,
            instruction: step.instruction,
            why: step.why,
            bracket: step.bracket,
            progress,
            remarks,
        }
    }

    /// The step that is to be set out now, from what stands in the cells.
    pub(super) fn step_now(&self, state: &State) -> Step {
        self.taken_over_at(cells(state)).step(state)
    }

    fn step(&self, state: &State) -> Step {
        let step = self.run.as_ref().and_then(|run| run.running.procedure().step(&self.base));
        step.unwrap_or_else(|| {
            let options = order::next(&self.findings, &self.base, state);
            let known = |eye: Eye| {
                (self.findings.subjective[eye].is_some() || self.findings.retinoscopy[eye].is_some())
                    .then_some(self.base[eye])
            };
            let cells = Eyes::from_fn(known);
            Step { from: cells, to: cells, ..Step::plain(Question::Next(options)) }
                .instruction(if order::is_complete(&self.findings, &self.base, state) {
                    "The prescription is written. Anything can still be looked at again."
                } else {
                    "Choose with what to go on; the first is the usual next."
                })
                .why("any procedure can be taken, repeated or left at any time")
        })
    }

    fn standing_remarks(&self, state: &State, step: &Step) -> Vec<Remark> {
        let mut remarks = Vec::new();
        let run = self.run.as_ref();
        remarks.extend(run.and_then(|run| run.running.procedure().standing_remark()));
        if step.question.is_about_letters() && run.is_some_and(|run| !run.age_known) {
            remarks.push(Remark::AgeUnknown);
        }
        if run.is_none_or(|run| run.running.procedure().looks_at_the_room()) {
            for eye in Eye::BOTH {
                let off_mm = state.fitted.decentration(eye).0;
                if off_mm.abs() >= OFF_CENTRE_FROM_MM {
                    let prism = state.fitted.in_front_of(eye).prism;
                    remarks.push(Remark::FramePd { eye, prism, off_mm: off_mm.abs() });
                }
            }
            let near = state.person.chart_metres.map(|metres| (metres, too_plus_of_near_chart(metres)));
            if let Some((metres, too_plus)) = near.filter(|(_, too_plus)| *too_plus > 0.0) {
                remarks.push(Remark::NearChart { metres, too_plus });
            }
        }
        remarks
    }

    /// What really stands before the eyes for a step: as it was set out, with what the hand holds now; as planned when it was
    /// not set out, or when the examiner changed the cells since.
    pub(super) fn shown(&self, state: &State, step: &Step) -> Shown {
        let now = cells(state);
        let mut shown = Shown { from: now, to: now, cells: now };
        for eye in Eye::BOTH {
            let standing = self.set_out.filter(|set_out| set_out.cells[eye].miss(now[eye]) < MOVED_D);
            if let Some(set_out) = standing {
                (shown.from[eye], shown.to[eye]) = (set_out.from[eye], set_out.to[eye]);
            } else if let (Some(from), Some(to)) = (step.from[eye], step.to[eye]) {
                (shown.from[eye], shown.to[eye]) = (from, to);
            }
            let holds_power = state.fitted.held(eye).is_some_and(|held| held.stocked.power().0 != 0.0);
            if step.show == Show::Compare && holds_power {
                shown.from[eye] = now[eye];
                shown.to[eye] = state.fitted.in_front_of(eye).net_with_hand;
            }
        }
        shown
    }

    /// Whether the examiner changed the cells by hand since the step was set out.
    pub(super) fn is_taken_over_at(&self, cells: Eyes<Power>) -> bool {
        self.set_out
            .is_some_and(|set_out| Eye::BOTH.into_iter().any(|eye| set_out.cells[eye].miss(cells[eye]) >= MOVED_D))
    }

    /// The guide with what the examiner changed in the cells since the step was set out.
    fn taken_over_at(&self, cells: Eyes<Power>) -> Self {
        let mut guide = self.clone();
        guide.take_over(cells);
        guide
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
    pub(super) fn apply(&mut self, event: &GuideEvent) -> Vec<Event> {
        match event {
            GuideEvent::Began { procedure, eye, given } => {
                self.begin(*procedure, *eye, given);
                Vec::new()
            }
            GuideEvent::TakenOver(cells) => {
                self.take_over(*cells);
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
        }
    }

    fn begin(&mut self, procedure: ProcedureName, eye: Option<Eye>, given: &Given) {
        self.remarks.clear();
        self.before_last = None;
        self.base = given.start;
        self.set_out = None;
        self.run = None;
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
        }
        if running.procedure().step(&self.base).is_none() {
            self.remarks.extend(running.procedure().why_nothing());
        }
        self.run = Some(Run { procedure, eye, running, age_known: given.age_years.is_some(), presented: 0 });
        self.settle();
    }

    fn answered(&mut self, answer: Answer, shown: &Shown) -> Vec<Event> {
        let before = Self { before_last: None, ..self.clone() };
        self.set_out = None;
        self.remarks.clear();
        let Some(run) = &mut self.run else { return Vec::new() };
        let question = run.running.procedure().step(&self.base).map(|step| step.question);
        // An answer to another question, kept by an earlier version of the program, says nothing now.
        let Some(question) = question.filter(|question| question.accepts(answer)) else { return Vec::new() };
        self.before_last = Some(Box::new(before));
        self.last_answer = Some(answer);
        let resolved = question.resolved(answer);
        if let Some(earlier) = self.repeats.take()
            && question.resolved(earlier) != resolved
        {
            let label = |answer| {
                let choices = question.choices();
                choices.into_iter().find(|choice| choice.answer == answer).map_or_else(String::new, |c| c.label)
            };
            let eye = run.eye.unwrap_or(Eye::Right);
            let (before, now) = (label(question.resolved(earlier)), label(resolved));
            self.remarks.push(Remark::Contradiction { eye, before, now });
        }
        let mut records = Vec::new();
        let read = match answer {
            Answer::Read(acuity) if question != Question::LineRead => Some(acuity),
            _ => None,
        };
        let mut effects = Effects {
            base: &mut self.base,
            findings: &mut self.findings,
            remarks: &mut self.remarks,
            records: &mut records,
            read,
        };
        run.running.procedure_mut().answer(resolved, shown, &mut effects);
        run.presented += 1;
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
        }
    }
}

/// What stands in the cells of both eyes.
pub(super) fn cells(state: &State) -> Eyes<Power> {
    Eyes::from_fn(|eye| state.fitted.in_front_of(eye).net)
}

fn what_is_missing(step: &Step) -> String {
    match step.show {
        Show::CrossCylinder { power, .. } => format!("the ±{:.2} cross cylinder or the cylinder under it", power.0),
        Show::Pinhole { .. } => "a pinhole".to_owned(),
        Show::Slit { .. } => "the slit or the sphere behind it".to_owned(),
        Show::Compare => {
            let held = |eye: Eye| {
                let (from, to) = (step.from[eye]?, step.to[eye]?);
                let change = signed((to - from).m);
                let cells = nearest_quarter(from, 1).power();
                Some(if change == "plano" {
                    written(cells)
                } else {
                    format!("{} and {change} over it", written(cells))
                })
            };
            Eye::BOTH.into_iter().filter_map(held).collect::<Vec<_>>().join(", ")
        }
        _ => {
            let powers: Vec<String> = step.to.into_iter().flatten().map(written).collect();
            powers.join(" and ")
        }
    }
}

/// What differs between what was wished and what the free lenses made.
fn realised_remarks(step: &Step, shown: &Shown) -> Vec<Remark> {
    let mut remarks = Vec::new();
    for eye in Eye::BOTH {
        let (Some(from), Some(to)) = (step.from[eye], step.to[eye]) else { continue };
        let (usual, real) = (to - from, shown.to[eye] - shown.from[eye]);
        if step.show == Show::Compare {
            if from.miss(shown.from[eye]) > REACHES_WITHIN_D {
                remarks.push(Remark::Nearest { eye, wanted: from, stands: shown.from[eye] });
            }
            // held in front of strong lenses a step acts a little weaker or stronger: that is no other step
            if usual.miss(real) > REACHES_WITHIN_D.max(SAME_STEP_PART * usual.blur_strength()) {
                remarks.push(Remark::OtherStep { eye, usual: usual.m, shown: real.m });
            }
            if real.blur_strength() > MOVED_D && shown.cells[eye].miss(shown.to[eye]) < MOVED_D {
                remarks.push(Remark::InTheCells { eye });
            }
        } else if to.miss(shown.to[eye]) > REACHES_WITHIN_D {
            remarks.push(Remark::Nearest { eye, wanted: to, stands: shown.to[eye] });
        }
    }
    remarks
}
