//! The measure of the guide: many people are examined through its doors, and what is written is held against what they need.

mod figures;
mod outcome;

use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

pub use figures::{Balance, BySize, Calibration, Figures, Retest, RetinoscopyFigures, Slips, Spread};
pub use outcome::Outcome;

use super::care::Care;
use super::examination::{Asked, Examined, LeadError, Way, examine};
use super::examinee::Examinee;
use super::law::Law;
use super::people::{Person, Room, Stream, stream};
use super::slips::{Slip, Slipping};
use crate::frame::FittedFrame;
use crate::optics::Eye;

/// An evaluation: who is examined, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct Evaluation {
    /// The frame with the box beside it.
    pub fitted: FittedFrame,
    /// How many eyes; with both eyes, a whole number of people.
    pub eyes: usize,
    /// The seed.
    pub seed: u64,
    /// With how much care they answer.
    pub care: Care,
    /// By which law.
    pub law: Law,
    /// How each exam is led.
    pub way: Way,
    /// Whether every eye is examined twice.
    pub retest: bool,
    /// Into which share of the exams a slip is put, 0 to 1.
    pub slips: f64,
}

/// What an evaluation came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Evaluated {
    /// What is counted.
    pub figures: Figures,
    /// Each eye, in order.
    pub outcomes: Vec<Outcome>,
}

impl Evaluation {
    /// How many people are examined.
    pub fn people(&self) -> usize {
        if self.way.both { self.eyes.div_ceil(2) } else { self.eyes }
    }

    /// Examines them on all threads; `done` is called after each. When `stop` becomes true it ends with those that are done.
    ///
    /// # Errors
    /// As [`examine`].
    pub fn run(&self, stop: &AtomicBool, done: &(dyn Fn() + Sync)) -> Result<Evaluated, LeadError> {
        let outcomes: Vec<Vec<Outcome>> = (0..self.people() as u64)
            .into_par_iter()
            .map(|number| {
                if stop.load(Ordering::Relaxed) {
                    return Ok(Vec::new());
                }
                let outcome = self.outcomes_of(number);
                done();
                outcome
            })
            .collect::<Result<_, _>>()?;
        let outcomes: Vec<Outcome> = outcomes.into_iter().flatten().collect();
        let counted = figures::Counted {
            both: self.way.both,
            slips: self.slips > 0.0,
            retinoscopy: self.way.retinoscopy_m.is_some(),
        };
        Ok(Evaluated { figures: Figures::of(&outcomes, counted), outcomes })
    }

    /// The person of this number, in this evaluation's room.
    pub fn person(&self, number: u64) -> Person {
        let mut person = Person::drawn(self.seed, number, self.care, self.law);
        if let Some(working_m) = self.way.retinoscopy_m {
            person.room = Room { working_m, ..person.room };
        }
        person
    }

    /// The slip that is made in the exam of this number, if any.
    pub fn slip(&self, number: u64) -> Option<Slip> {
        self.slipping(number).map(|slipping| slipping.slip())
    }

    fn slipping(&self, number: u64) -> Option<Slipping> {
        let draws = &mut stream(self.seed, number, Stream::Slip);
        let slips = self.slips > 0.0 && draws.happens(self.slips);
        slips.then(|| Slipping::drawn(draws, self.way.retinoscopy_m.is_some()))
    }

    /// The exam of the person of this number, as it was counted; `watch` sees every question with its answer.
    ///
    /// # Errors
    /// As [`examine`].
    pub fn exam_of(&self, number: u64, watch: &mut dyn FnMut(&Asked<'_>)) -> Result<Examined, LeadError> {
        let examinee = Examinee::new(self.person(number), stream(self.seed, number, Stream::Answers));
        examine(&self.fitted, examinee, self.way, self.slipping(number), watch)
    }

    fn outcomes_of(&self, number: u64) -> Result<Vec<Outcome>, LeadError> {
        let person = self.person(number);
        let first = self.exam_of(number, &mut |_| {})?;
        let again = if self.retest {
            let examinee = Examinee::new(person.clone(), stream(self.seed, number, Stream::Retest));
            Some(examine(&self.fitted, examinee, self.way, None, &mut |_| {})?)
        } else {
            None
        };
        let eyes: &[Eye] = if self.way.both { &Eye::BOTH } else { &[Eye::Right] };
        let of_eye = |&eye| {
            let outcome = Outcome::of(number, &person, eye, &first, again.as_ref(), self.way.both);
            Outcome { doubted: self.slips > 0.0 && first.is_doubted(eye), ..outcome }
        };
        Ok(eyes.iter().map(of_eye).collect())
    }
}
