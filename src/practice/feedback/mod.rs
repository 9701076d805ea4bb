//! What is said of an exam of a practice eye at its end: would somebody have been hurt, how far off, what it cost, the step that
//! cost most, what to practise next. No score.
//!
//! The truth is known here, so that nothing is guessed that a record alone would have to guess.
//!
//! - [`mod@replay`]: the exam step by step; [`harms`], [`unsafe_changes`], [`wrong_way`]: what would have hurt;
//! - [`figures`]: how far off, and what it cost; [`costliest`]: the step that cost most; [`next`]: what to practise;
//! - [`sentences`]: all of it in plain sentences, in order.

pub mod costliest;
pub mod figures;
pub mod harms;
mod judged;
mod lens_slips;
pub mod next;
pub mod replay;
pub mod sentences;
pub mod unsafe_changes;
pub mod wrong_way;

use crate::exam::prescription::EyeOutcome;
use crate::exam::{Exam, ExamError, Prescription};
use crate::optics::Eyes;
use crate::optics::vergence::at_vertex;

use super::draws::Draws;
use super::effort::{Effort, moves_of};
use super::examination::{LeadError, Way, examine};
use super::examinee::Examinee;
use super::off::Off;
use super::people::Person;
use costliest::{Costliest, costliest};
pub use figures::{Cost, OfEye};
use harms::{Harm, harms};
use judged::Judged;
use next::{Advice, advice};
use replay::replay;

/// The stream of chance by which a person answers in the guide's own exam, apart from any other.
const OWN_EXAM_STREAM: u64 = 9_000;

/// Everything that is said.
#[derive(Debug, Clone, PartialEq)]
pub struct Feedback {
    /// The person's age in whole years.
    pub age_years: u8,
    /// What would have hurt the person, in the order in which it is said.
    pub harms: Vec<Harm>,
    /// How far off.
    pub eyes: Eyes<OfEye>,
    /// What it cost.
    pub cost: Cost,
    /// The step that cost most.
    pub costliest: Option<Costliest>,
    /// What to practise next, the first thing first.
    pub next: Vec<Advice>,
}

/// An exam of a practice eye that came to its end.
#[derive(Debug, Clone, Copy)]
pub struct Ended<'a> {
    /// The truth.
    pub person: &'a Person,
    /// The exam.
    pub exam: &'a Exam,
    /// How long it took, in minutes, where that is known.
    pub minutes: Option<f64>,
    /// What the guide's own exam of the same person took, where that was led.
    pub guide: Option<Effort>,
}

impl Feedback {
    /// What is said of an exam.
    ///
    /// # Errors
    /// When a step of it is refused; it was not when it was taken.
    pub fn of(ended: &Ended<'_>) -> Result<Self, ExamError> {
        let Ended { person, exam, minutes, guide } = *ended;
        let (state, steps) = (exam.state(), replay(exam)?);
        let prescription = Prescription::of(state, 1);
        let eyes = Eyes::from_fn(|eye| {
            let truth = person.eyes[eye];
            let needs = at_vertex(truth.needs, prescription.found_vertex, prescription.planned_vertex);
            OfEye {
                needs,
                best_log_mar: truth.best_log_mar,
                outcome: EyeOutcome::of(state, &prescription, eye),
                off: prescription.eye(eye).map(|of_eye| Off { needs, written: of_eye.written }),
            }
        });
        let off = eyes.map(|of_eye| of_eye.off);
        let harms = harms(&Judged { person, state, steps: &steps, off });
        let effort = Effort { presentations: steps.iter().map(|step| step.looks).sum(), moves: moves_of(exam) };
        let cost = Cost { effort, minutes, guide };
        let next = advice(&harms, &eyes, &cost);
        let costliest = costliest(&steps, state, person.needs());
        Ok(Self { age_years: person.age_years, harms, eyes, cost, costliest, next })
    }
}

/// What the guide's own exam of a person takes, with the box and the frame with which another exam began, and with retinoscopy
/// where there was one in it.
///
/// # Errors
/// As [`examine`].
pub fn guides_own(exam: &Exam, person: &Person, seed: u64) -> Result<Effort, LeadError> {
    let state = exam.state();
    let looked = state.results.retinoscopy.iter().any(|(_, found)| found.is_some());
    let way = Way {
        both: true,
        retinoscopy_m: looked.then_some(person.room.working_m),
        strategy: state.person.strategy.unwrap_or_default(),
    };
    let examinee = Examinee::new(person.clone(), Draws::new(seed, OWN_EXAM_STREAM));
    Ok(examine(&exam.opening().fitted, examinee, way, None, &mut |_| {})?.effort)
}
