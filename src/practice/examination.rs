//! One exam of one person with practice eyes, led through the guide's own doors from the beginning to what is written.

use super::answers::Standing;
use super::effort::{Effort, moves_of};
use super::examinee::Examinee;
use super::people::{Person, Room};
use super::slips::{Slip, Slipping};
use crate::exam::plausibility;
use crate::exam::{Answer, Believed, Detail, Event, Exam, ExamError, Opening, Prescription, ProcedureName, Strategy};
use crate::frame::{FittedFrame, Move};
use crate::guide::{self, Guide, GuideError, Presentation, Question};
use crate::optics::{Eye, Eyes, Millimetres, Power, SpheroCylinder};
use thiserror::Error;

/// An exam that takes more answers than this does not end: several times what the longest takes.
const MOST_ANSWERS: usize = 2_000;

/// How the exams of an evaluation are led.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Way {
    /// Both eyes, with balance and near; else the right eye alone.
    pub both: bool,
    /// Retinoscopy comes first, from this distance in metres.
    pub retinoscopy_m: Option<f64>,
    /// In which way eyes are refracted.
    pub strategy: Strategy,
}

/// An exam that cannot be led.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum LeadError {
    /// The guide refuses an answer.
    #[error(transparent)]
    Guide(#[from] GuideError),
    /// The exam refuses a detail.
    #[error(transparent)]
    Exam(#[from] ExamError),
}

/// One question of an exam with what was answered.
#[derive(Debug)]
pub struct Asked<'a> {
    /// What was presented.
    pub presentation: &'a Presentation,
    /// What really stood before the eyes.
    pub standing: &'a Standing,
    /// What was answered; `None` where it was passed over.
    pub answer: Option<Answer>,
}

/// What an exam came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Examined {
    /// The exam, with every step in it.
    pub exam: Exam,
    /// Whether it came to a written prescription.
    pub finished: bool,
    /// Looks and moves.
    pub effort: Effort,
    /// Lenses put or held during retinoscopy.
    pub retinoscopy_lenses: usize,
    /// By how much the balance moved the equivalent of each eye, in dioptres, where there was one.
    pub balance_moved_d: Option<Eyes<f64>>,
    /// What a strategy that says how sure it is believed of each eye at its end.
    pub believed: Eyes<Option<Believed>>,
    /// The slip that was made, if any.
    pub slip: Option<MadeSlip>,
}

/// A slip that was made in an exam.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MadeSlip {
    /// Which.
    pub slip: Slip,
    /// By how much it changed the equivalent before the eye, in dioptres without a sign.
    pub changes_m_d: f64,
}

impl Examined {
    /// Whether what is known at the end does not fit what is written for an eye.
    pub fn is_doubted(&self, eye: Eye) -> bool {
        plausibility::is_doubted(self.exam.state(), eye)
    }

    /// What was written for an eye, on the quarter grid; `None` when nothing was.
    pub fn written(&self, eye: Eye) -> Option<SpheroCylinder> {
        let prescription = Prescription::of(self.exam.state(), 1);
        prescription.eye(eye).filter(|_| self.finished).map(|of_eye| of_eye.written)
    }
}

/// Leads an exam of a person in this frame and with this box to the end; `watch` sees each question with its answer.
///
/// # Errors
/// When a door of the guide refuses what it asked for: a fault of the guide or of the practice eye.
pub fn examine(
    fitted: &FittedFrame,
    examinee: Examinee,
    way: Way,
    slipping: Option<Slipping>,
    watch: &mut dyn FnMut(&Asked<'_>),
) -> Result<Examined, LeadError> {
    let mut lead = Lead::new(fitted.clone(), examinee, way, slipping)?;
    while lead.goes_on(watch)? {}
    Ok(lead.examined())
}

/// What is known of a person and the room before anything is asked: to what the frame is set, and how far print is held where
/// that is not usual. The guide asks how far the chart is.
pub fn known_at_the_door(person: &Person) -> Vec<Detail> {
    let set = person.frame_pd_mm.iter().filter_map(|(eye, pd)| Some(Detail::FramePd(eye, Millimetres((*pd)?))));
    let near = Some(person.room.near_m).filter(|metres| *metres != Room::USUAL.near_m);
    set.chain(near.map(Detail::NearMetres)).collect()
}

/// An exam on its way.
struct Lead {
    exam: Exam,
    guide: Guide,
    examinee: Examinee,
    way: Way,
    slipping: Option<Slipping>,
    answers: usize,
    presentations: usize,
    retinoscopy_lenses: usize,
    before_balance: Option<Eyes<Power>>,
    balance_moved_d: Option<Eyes<f64>>,
}

impl Lead {
    fn new(fitted: FittedFrame, examinee: Examinee, way: Way, slipping: Option<Slipping>) -> Result<Self, LeadError> {
        let mut exam = Exam::open(Opening::of(fitted));
        let person = examinee.person();
        let mut details: Vec<Event> = known_at_the_door(person).into_iter().map(Event::Detail).collect();
        if way.retinoscopy_m.is_some() {
            details.push(Event::Detail(Detail::WorkingMetres(person.room.working_m)));
        }
        if way.strategy != Strategy::default() {
            details.push(Event::Detail(Detail::Strategy(way.strategy)));
        }
        if !details.is_empty() {
            exam.apply(&details)?;
        }
        Ok(Self {
            guide: Guide::of(&exam),
            exam,
            examinee,
            way,
            slipping,
            answers: 0,
            presentations: 0,
            retinoscopy_lenses: 0,
            before_balance: None,
            balance_moved_d: None,
        })
    }

    /// Whether what is asked now counts: about the eye that is examined.
    fn counts(&self, presentation: &Presentation) -> bool {
        presentation.question.is_about_what_is_seen() && (self.way.both || presentation.eye != Some(Eye::Left))
    }

    /// Answers one question; `false` when there is nothing more to ask.
    fn goes_on(&mut self, watch: &mut dyn FnMut(&Asked<'_>)) -> Result<bool, LeadError> {
        if self.answers == MOST_ANSWERS || self.guide.findings().written {
            return Ok(false);
        }
        self.answers += 1;
        let presentation = self.guide.presentation().clone();
        let standing = Standing::of(&presentation, &self.exam);
        let standing = match &mut self.slipping {
            Some(slipping) => slipping.really(standing, &presentation, &self.exam),
            None => standing,
        };
        let (running, steps) = (self.guide.running(), self.exam.standing_steps().len());
        let answer = if let Question::Next(choices) = &presentation.question {
            let Some((procedure, eye)) = self.next(choices) else { return Ok(false) };
            Some(Answer::Go { procedure, eye })
        } else {
            let answer = self.examinee.answer(&presentation, &standing);
            let heard = self.slipping.as_ref().zip(answer);
            heard.map_or(answer, |(slipping, answer)| Some(slipping.heard(answer)))
        };
        watch(&Asked { presentation: &presentation, standing: &standing, answer });
        self.presentations += usize::from(self.counts(&presentation));
        let step = match answer {
            Some(answer) => guide::answer(&self.guide, &self.exam, answer)?,
            None => guide::skip(&self.guide, &self.exam)?,
        };
        self.exam.accept(step);
        let found = self.guide.found();
        self.guide.follow(&self.exam);
        if running.is_some_and(|(procedure, _)| procedure == ProcedureName::Retinoscopy) {
            let moves = self.exam.standing_steps()[steps..].iter().flatten();
            self.retinoscopy_lenses += moves.filter(|event| is_another_lens(event)).count();
        }
        self.notice_balance(running.map(|(procedure, _)| procedure), found);
        Ok(true)
    }

    /// With what the examiner goes on.
    fn next(&self, choices: &[(ProcedureName, Option<Eye>)]) -> Option<(ProcedureName, Option<Eye>)> {
        let findings = self.guide.findings();
        let &(procedure, eye) = choices.first()?;
        let (begun, both) = (!findings.done.is_empty(), self.way.both);
        let looked = findings.done.iter().any(|(done, _)| *done == ProcedureName::Retinoscopy);
        if begun && !looked && self.way.retinoscopy_m.is_some() {
            return Some((ProcedureName::Retinoscopy, (!both).then_some(Eye::Right)));
        }
        // the right eye alone is written when nothing more is usual for it
        let goes_on = both || !begun || eye == Some(Eye::Right);
        Some(if goes_on { (procedure, eye) } else { (ProcedureName::Writing, None) })
    }

    /// Keeps by how much the balance moved what was found before it.
    fn notice_balance(&mut self, ran: Option<ProcedureName>, found: Eyes<Power>) {
        let balances = |procedure: Option<ProcedureName>| procedure == Some(ProcedureName::Balance);
        let runs = self.guide.running().map(|(procedure, _)| procedure);
        if !balances(ran) && balances(runs) {
            self.before_balance = Some(found);
        }
        if balances(ran) && !balances(runs) {
            let now = self.guide.found();
            self.balance_moved_d = self.before_balance.map(|before| Eyes::from_fn(|eye| now[eye].m - before[eye].m));
        }
    }

    fn examined(self) -> Examined {
        let finished = self.guide.findings().written;
        let slip = self
            .slipping
            .as_ref()
            .and_then(|slipping| Some(MadeSlip { slip: slipping.slip(), changes_m_d: slipping.changes_m_d()? }));
        Examined {
            finished,
            effort: Effort { presentations: self.presentations, moves: moves_of(&self.exam) },
            retinoscopy_lenses: self.retinoscopy_lenses,
            balance_moved_d: self.balance_moved_d,
            believed: self.guide.findings().believed,
            slip,
            exam: self.exam,
        }
    }
}

/// Whether a lens comes before an eye.
fn is_another_lens(event: &Event) -> bool {
    event.moved().is_some_and(|step| match step {
        Move::Put { .. } | Move::Hold { .. } => true,
        Move::Take { .. } | Move::Turn { .. } | Move::Lay { .. } => false,
    })
}
