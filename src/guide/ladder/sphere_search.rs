//! A ladder that asks for the line read before it goes fine: a step that cannot be noticed is not shown.

use super::stepping::{Ladder, MOST_COMPARISONS};
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Shown};
use crate::guide::procedure::{Effects, Step};
use crate::guide::question::Question;
use crate::optics::{Acuity, Eye, Eyes, Power};

/// The most presentations: the ladder and one line read.
pub(in crate::guide) const MOST_PRESENTATIONS: usize = MOST_COMPARISONS + 1;

/// From this rung on the acuity decides whether the step can be noticed.
const FINE_D: f64 = 0.50;

/// The search of the best or the final sphere before one eye.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct SphereSearch {
    pub eye: Eye,
    ladder: Ladder,
    line_known: bool,
}

impl SphereSearch {
    /// A search along a ladder; the acuity with the present power if it is known.
    pub fn new(eye: Eye, mut ladder: Ladder, acuity: Option<Acuity>) -> Self {
        if let Some(acuity) = acuity {
            ladder.has_read(acuity);
        }
        Self { eye, ladder, line_known: acuity.is_some() }
    }

    pub fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        let here = base[self.eye];
        let (rung, _) = self.ladder.next(here.m)?;
        if !self.line_known && rung <= FINE_D {
            return Some(
                Step::at(self.eye, base, Question::LineRead)
                    .say("Which is the lowest line you can read?")
                    .instruction(sentence!["Read the chart with the ", self.eye, " eye."])
                    .why("a step smaller than the person can notice is not shown"),
            );
        }
        self.ladder.step(here)
    }

    pub fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        if let Answer::Read(acuity) = answer {
            self.line_known = true;
            self.ladder.has_read(acuity);
            effects.read_with(self.eye, shown.to[self.eye], acuity, true);
        } else {
            effects.base[self.eye] = self.ladder.answer(answer, effects.base[self.eye], shown, effects);
        }
    }

    pub fn skip(&mut self, effects: &mut Effects<'_>) {
        let here = effects.base[self.eye];
        match self.ladder.next(here.m) {
            Some((rung, _)) if !self.line_known && rung <= FINE_D => self.line_known = true,
            _ => self.ladder.skip(here),
        }
    }
}
