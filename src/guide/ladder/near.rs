//! Section 7, the addition: what the near distance needs less half of what the eye can still do, tried ±0.25.

use crate::exam::sentence::sentence;
use crate::exam::{Answer, Given, Part, Shown};
use crate::guide::findings::Findings;
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Dioptres, Eyes, Power};

/// The near distance when none was said, in metres.
pub const USUAL_NEAR_M: f64 = 0.40;

/// The step in dioptres.
const STEP_D: f64 = 0.25;

/// The most quarters that the tried addition moves either way.
const MOST_QUARTERS: u8 = 8;

/// The most presentations: the quarters up or down, the refusals, and the two ends of the range.
const MOST_PRESENTATIONS: usize = MOST_QUARTERS as usize + 2 + 2;

/// Donders' amplitudes of accommodation: age in years, dioptres (as teaching flash cards give them).
const DONDERS: [(f64, f64); 6] = [(20.0, 10.0), (30.0, 7.0), (40.0, 4.5), (50.0, 2.5), (60.0, 1.0), (70.0, 0.25)];

/// The share of the amplitude that is used in lasting near work: 305 presbyopes used 50.7 % (*Ophthalmic Physiol Opt*
/// 1989;9:126-132).
const SHARE_OF_AMPLITUDE: f64 = 0.5;

/// The mean amplitude of accommodation in dioptres: Donders' table, straight lines between its ages, flat beyond its ends.
pub fn mean_amplitude_d(age_years: u8) -> f64 {
    let age = f64::from(age_years);
    let above = DONDERS.iter().position(|&(at, _)| age < at);
    match above {
        Some(0) => DONDERS[0].1,
        Some(next) => {
            let ((from, more), (to, less)) = (DONDERS[next - 1], DONDERS[next]);
            more + (less - more) * (age - from) / (to - from)
        }
        None => DONDERS[DONDERS.len() - 1].1,
    }
}

/// The tentative addition: 1/distance less half the amplitude, to the nearest quarter, between nothing and 1/distance.
///
/// Two thirds of Hofstetter's mean amplitude below 52 years, another rule in use, comes out about a dioptre below the
/// additions that are given at 45 to 55 years (Millodot, *Dictionary of Optometry*, 7th ed.); this rule stays within a
/// quarter of them.
pub fn tentative_addition_d(age_years: u8, near_metres: f64) -> f64 {
    let needed = 1.0 / near_metres;
    let addition = (needed - SHARE_OF_AMPLITUDE * mean_amplitude_d(age_years)).clamp(0.0, needed);
    ((addition / STEP_D).round() * STEP_D).min(most_addition_d(near_metres))
}

/// Never more than 1/distance, in whole quarters.
fn most_addition_d(near_metres: f64) -> f64 {
    (1.0 / near_metres / STEP_D + 1e-9).floor() * STEP_D
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    More,
    Less,
    Nearest,
    Farthest,
    Ended,
}

/// The search for the addition of both eyes.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Near {
    stage: Stage,
    addition: f64,
    most: f64,
    quarters: u8,
    metres: f64,
    age_known: bool,
}

impl Near {
    pub fn begin(given: &Given, _findings: &Findings) -> Self {
        let near_metres = given.near_metres.unwrap_or(USUAL_NEAR_M);
        let most = most_addition_d(near_metres);
        // Without an age half of what the distance needs is as good a start as any.
        let half = (most / 2.0 / STEP_D).round() * STEP_D;
        let addition = given.age_years.map_or(half, |age| tentative_addition_d(age, near_metres));
        let age_known = given.age_years.is_some();
        Self { stage: Stage::More, addition, most, quarters: 0, metres: near_metres, age_known }.settled()
    }

    /// Passes stages in which nothing can be shown: more than the most, less than nothing.
    fn settled(mut self) -> Self {
        if self.stage == Stage::More && self.addition + STEP_D > self.most + 1e-9 {
            self.stage = Stage::Less;
        }
        if self.stage == Stage::Less && self.addition - STEP_D < -1e-9 {
            self.stage = Stage::Nearest;
        }
        self
    }

    fn with(base: &Eyes<Power>, addition: f64) -> Eyes<Power> {
        base.map(|power| power + Power::sphere(Dioptres(addition)))
    }

    fn try_change(&self, base: &Eyes<Power>, change: f64) -> Step {
        let mut step = Step::both(Self::with(base, self.addition), Question::ClearerWith { before: None })
            .with_show(Show::Compare)
            .say("Is this small print clearer with this, the same, or worse?")
            .instruction(sentence![
                "Print at ",
                Part::Figure((self.metres * 100.0).round()),
                " cm, addition ",
                Part::Sphere(self.addition),
                " in the frame: hold ",
                Part::Sphere(change),
                " before both eyes."
            ]);
        step.to = Self::with(base, self.addition + change).map(Some);
        step
    }

    fn range(&self, base: &Eyes<Power>, question: Question) -> Step {
        Step::both(Self::with(base, self.addition), question).with_show(Show::BuildIn)
    }
}

impl Procedure for Near {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        Some(match self.stage {
            Stage::More => self
                .try_change(base, STEP_D)
                .why("the addition starts from the age and the distance; more is kept only if it is clearer"),
            Stage::Less => {
                self.try_change(base, -STEP_D).why("less is kept only if it is clearer: some reserve should stay")
            }
            Stage::Nearest => self
                .range(base, Question::NearestClear)
                .say("Bring the print closer until it blurs.")
                .instruction("At how many centimetres does it blur?")
                .why("the clear range should lie around the distance at which the person works"),
            Stage::Farthest => self
                .range(base, Question::FarthestClear)
                .say("Move the print away until it blurs.")
                .instruction("At how many centimetres does it blur?")
                .why("too much addition brings the far end too near"),
            Stage::Ended => return None,
        })
    }

    fn answer(&mut self, answer: Answer, _shown: &Shown, effects: &mut Effects<'_>) {
        let clearer = answer == Answer::Clearer;
        match (self.stage, answer.centimetres()) {
            (Stage::More, _) if clearer => self.addition += STEP_D,
            (Stage::Less, _) if clearer => self.addition -= STEP_D,
            (Stage::More, _) if self.quarters == 0 => self.stage = Stage::Less,
            (Stage::More | Stage::Less, _) => self.stage = Stage::Nearest,
            (Stage::Nearest, Some(cm)) => {
                effects.findings.near_range.nearest_cm = Some(cm);
                self.stage = Stage::Farthest;
            }
            (Stage::Farthest, Some(cm)) => {
                effects.findings.near_range.farthest_cm = Some(cm);
                if effects.findings.near_range.nearest_cm.is_some_and(|nearest| nearest > cm) {
                    effects
                        .remarks
                        .push(Remark::Plain("The near end of the clear range lies beyond its far end: ask again."));
                }
                self.stage = Stage::Ended;
            }
            (Stage::Nearest | Stage::Farthest, None) | (Stage::Ended, _) => {}
        }
        if clearer {
            self.quarters += 1;
            if self.quarters == MOST_QUARTERS {
                self.stage = Stage::Nearest;
            }
        }
        *self = self.clone().settled();
        effects.findings.addition = Some(self.addition);
        if !self.age_known {
            effects.remarks.push(Remark::Plain(
                "The age is not known: the addition started from half of what the distance needs.",
            ));
        }
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        effects.findings.addition = Some(self.addition);
        self.stage = match self.stage {
            Stage::More if self.quarters == 0 => Stage::Less,
            Stage::More | Stage::Less => Stage::Nearest,
            Stage::Nearest => Stage::Farthest,
            Stage::Farthest | Stage::Ended => Stage::Ended,
        };
        *self = self.clone().settled();
    }

    fn taken_over(&mut self, shift: &Eyes<Power>, _base: &mut Eyes<Power>) {
        // A lens changed by hand at near changes the addition, not what was found for far away.
        let change = f64::midpoint(shift.right.m, shift.left.m);
        self.addition = (((self.addition + change) / STEP_D).round() * STEP_D).clamp(0.0, self.most);
        *self = self.clone().settled();
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
