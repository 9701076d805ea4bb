//! What a procedure is: what it wants presented next, and what an answer does.

use super::findings::{Findings, Judged, LineAt};
use super::presentation::{Bracket, Show};
use super::question::Question;
use super::remark::Remark;
use crate::exam::{
    Accepted, AcuityNote, Answer, Chosen, Event, Given, Judgement, Sentence, Shown, State, Through, Tried,
};
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Power};

/// What a procedure that can be about one eye or both is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Target {
    Eye(Eye),
    Both,
}

impl From<Option<Eye>> for Target {
    fn from(eye: Option<Eye>) -> Self {
        eye.map_or(Self::Both, Self::Eye)
    }
}

/// What a procedure wants presented.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Step {
    pub eye: Option<Eye>,
    pub show: Show,
    pub from: Eyes<Option<Power>>,
    pub to: Eyes<Option<Power>>,
    pub question: Question,
    pub say: Sentence,
    pub instruction: Sentence,
    pub why: Sentence,
    pub bracket: Option<Bracket>,
    /// The cylinder in the frame is what is asked about: it has to be met.
    pub about_the_cylinder: bool,
    /// What stands in the cells is not changed for it: where no loose lens makes the difference it is not shown.
    pub held_only: bool,
    /// A sphere of this mark that stands in a cell of its own over what is worn, and is part of `from` and `to`: the working lens
    /// or the addition. Other lenses change without it.
    pub over: Eyes<Option<Dioptres>>,
    /// A cross cylinder in the hand before this eye stays there: what usually comes next asks with it.
    pub keeps_cross_cylinder: Option<Eye>,
}

impl Step {
    /// A question about one eye with what was found standing before it.
    pub fn at(eye: Eye, base: &Eyes<Power>, question: Question) -> Self {
        let cells = Eyes::only(eye, Some(base[eye]));
        Self { eye: Some(eye), from: cells, to: cells, ..Self::plain(question) }
    }

    /// A question about both eyes with these powers before them.
    pub fn both(cells: Eyes<Power>, question: Question) -> Self {
        let cells = cells.map(Some);
        Self { from: cells, to: cells, ..Self::plain(question) }
    }

    /// A question for which it does not matter what stands before the eyes.
    pub fn plain(question: Question) -> Self {
        Self {
            eye: None,
            show: Show::AsItIs,
            from: Eyes::both(None),
            to: Eyes::both(None),
            question,
            say: Sentence::NONE,
            instruction: Sentence::NONE,
            why: Sentence::NONE,
            bracket: None,
            about_the_cylinder: false,
            held_only: false,
            over: Eyes::both(None),
            keeps_cross_cylinder: None,
        }
    }

    /// Shows `to` before an eye instead of what was found.
    pub fn showing(mut self, show: Show, eye: Eye, to: Power) -> Self {
        self.show = show;
        self.to[eye] = Some(to);
        self
    }

    pub fn with_show(mut self, show: Show) -> Self {
        self.show = show;
        self
    }

    pub fn say(mut self, say: impl Into<Sentence>) -> Self {
        self.say = say.into();
        self
    }

    pub fn instruction(mut self, instruction: impl Into<Sentence>) -> Self {
        self.instruction = instruction.into();
        self
    }

    pub fn why(mut self, why: impl Into<Sentence>) -> Self {
        self.why = why.into();
        self
    }

    pub fn bracket(mut self, bracket: Bracket) -> Self {
        self.bracket = Some(bracket);
        self
    }
}

/// What an answer may change.
pub(super) struct Effects<'a> {
    /// What was found for each eye so far; the frame is built to it next.
    pub base: &'a mut Eyes<Power>,
    /// What was found.
    pub findings: &'a mut Findings,
    /// What is said beside the next question.
    pub remarks: &'a mut Vec<Remark>,
    /// What the exam keeps besides the answer.
    pub records: &'a mut Vec<Event>,
    /// The line that was read, where a comparison was answered by reading.
    pub read: Option<Acuity>,
}

impl Effects<'_> {
    /// Keeps a comparison: for the bracket, for the trail, and to notice when it contradicts an earlier one.
    pub fn judge(&mut self, eye: Eye, shown: &Shown, judgement: Judgement, kept: bool) {
        let judged = Judged { from: shown.from[eye], to: shown.to[eye], judgement };
        let remark = self.findings.judge(eye, judged);
        self.remarks.extend(remark);
        self.tried(eye, judged.to, self.read, Some(judgement), kept);
        if let Some(acuity) = self.read {
            self.findings.lines[eye].push(LineAt { power: judged.to, acuity });
            self.note_acuity(Some(eye), Through::Frame, acuity);
        }
    }

    /// Keeps an acuity that was read with a power.
    pub fn read_with(&mut self, eye: Eye, power: Power, acuity: Acuity, kept: bool) {
        self.tried(eye, power, Some(acuity), None, kept);
        self.findings.lines[eye].push(LineAt { power, acuity });
        if kept {
            self.findings.acuity[eye] = Some(acuity);
            self.findings.acuity_with[eye] = Some(power);
            self.note_acuity(Some(eye), Through::Frame, acuity);
        }
    }

    pub fn tried(&mut self, eye: Eye, power: Power, acuity: Option<Acuity>, judgement: Option<Judgement>, kept: bool) {
        self.records.push(Event::Tried(Tried { eye, power, acuity, judgement, kept }));
    }

    /// Keeps a result for the record.
    pub fn accept(&mut self, accepted: Accepted) {
        self.records.push(Event::Accepted(accepted));
    }

    pub fn note_acuity(&mut self, eye: Option<Eye>, through: Through, acuity: Acuity) {
        self.records.push(Event::Acuity(AcuityNote { eye, through, acuity }));
    }
}

/// A procedure: what to present next, and what an answer to it does.
pub(super) trait Procedure {
    /// What to present, given what was found for each eye so far; `None` when the procedure has ended.
    fn step(&self, base: &Eyes<Power>) -> Option<Step>;

    /// Chooses what to present next, where that depends on which lenses are free and is kept with the exam; `None` where nothing
    /// is to be chosen now.
    fn choose(&self, _base: &Eyes<Power>, _state: &State) -> Option<Chosen> {
        None
    }

    /// Takes in what was chosen.
    fn chosen(&mut self, _chosen: &Chosen, _effects: &mut Effects<'_>) {}

    /// Takes an answer that the question accepts, and what really stood before the eyes.
    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>);

    /// Passes over the step: nothing is learnt from it.
    fn skip(&mut self, effects: &mut Effects<'_>);

    /// Takes in what the examiner changed in the cells by hand since the step was set out.
    fn taken_over(&mut self, shift: &Eyes<Power>, base: &mut Eyes<Power>) {
        for eye in Eye::BOTH {
            base[eye] += shift[eye];
        }
    }

    /// Takes in what is known of person and room now, where that is not what it was given.
    fn corrected(&mut self, _given: &Given, _base: &mut Eyes<Power>) {}

    /// Whether what stands at its end is what the person found best: the distance power of its eye.
    fn is_subjective(&self) -> bool;

    /// Whether the search for the power of its eye begins again with it: what was judged before says nothing any more.
    fn begins_again(&self) -> bool {
        false
    }

    /// Whether it begins by taking what was found for both eyes, however that was found, as their distance power.
    fn takes_what_was_found(&self) -> bool {
        false
    }

    /// Whether the set-up of frame and room is looked at while it runs.
    fn looks_at_the_room(&self) -> bool {
        false
    }

    /// What is said beside every step while the procedure is where it is.
    fn standing_remark(&self) -> Option<Remark> {
        None
    }

    /// What is said when there is nothing to present from the start.
    fn why_nothing(&self) -> Option<Remark> {
        None
    }

    /// The most presentations it takes, whatever the answers.
    fn most_presentations(&self) -> usize;
}
