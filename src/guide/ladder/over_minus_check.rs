//! Section 3, has too much minus been given? +1.00 over the result should take the acuity back to about 6/12, two or three
//! lines (common practice, no source; 6/12 to 6/18 from 6/5 by *Optometry in Practice* 2004;5(4)).

use crate::exam::sentence::sentence;
use crate::exam::{Answer, Given, Judgement, Part, Shown};
use crate::guide::findings::{Findings, SAME_PLACE_D};
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Power};

/// What is held over the result, in dioptres.
pub const FOG_D: f64 = 1.00;

/// What is added at once, in dioptres.
const STEP_D: f64 = 0.25;

/// Better than half-way between 6/9 and 6/12 (logMAR 0.18 and 0.30) is better than 6/12.
const BETTER_THAN_LOG_MAR: f64 = 0.24;

/// Plus is added in quarters up to 2.00 D.
const MOST_ADDED: u8 = 8;

/// The most presentations: the line, the fog after each added quarter and once before, the line again.
const MOST_PRESENTATIONS: usize = 1 + 1 + MOST_ADDED as usize + 1;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    Line,
    Fogged,
    LineAgain,
    Ended,
}

/// The check of one eye.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct OverMinusCheck {
    eye: Eye,
    stage: Stage,
    added: u8,
}

impl OverMinusCheck {
    pub fn begin(eye: Eye, _given: &Given, _findings: &Findings) -> Self {
        Self { eye, stage: Stage::Line, added: 0 }
    }

    fn passed(&mut self) {
        self.stage = if self.added > 0 { Stage::LineAgain } else { Stage::Ended };
    }

    /// More plus was refused here, yet the fog says that there is room for it.
    fn notice_contradiction(&self, base: Power, effects: &mut Effects<'_>) {
        let more = base + Power::sphere(Dioptres(STEP_D));
        let refused = effects.findings.judged[self.eye]
            .iter()
            .any(|j| j.judgement == Judgement::Worse && j.to.m > j.from.m && j.to.miss(more) < SAME_PLACE_D);
        if refused {
            effects.remarks.push(Remark::Contradiction {
                eye: Some(self.eye),
                before: sentence![Part::Sphere(STEP_D), " was worse"],
                now: sentence!["a line better than ", Acuity::of_6_m(12.0), " is read through ", Part::Sphere(FOG_D)],
            });
        }
    }
}

impl Procedure for OverMinusCheck {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        let eye = self.eye;
        let asked = Step::at(eye, base, Question::LineRead).say("Which is the lowest line you can read?");
        match self.stage {
            Stage::Line | Stage::LineAgain => Some(
                asked
                    .instruction(sentence!["Read the chart with the ", eye, " eye."])
                    .why("the best line with this lens goes on the record"),
            ),
            Stage::Fogged => {
                let fogged = base[eye] + Power::sphere(Dioptres(FOG_D));
                Some(
                    asked
                        .showing(Show::Compare, eye, fogged)
                        .instruction(sentence![
                            "Hold ",
                            Part::Sphere(FOG_D),
                            " before the ",
                            eye,
                            " eye. Which line can still be read?"
                        ])
                        .why(sentence![
                            Part::Sphere(FOG_D),
                            " over the right lens leaves about ",
                            Acuity::of_6_m(12.0),
                            "; a better line means too much minus"
                        ]),
                )
            }
            Stage::Ended => None,
        }
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let Answer::Read(acuity) = answer else { return };
        match self.stage {
            Stage::Line => {
                effects.read_with(self.eye, shown.to[self.eye], acuity, true);
                self.stage = Stage::Fogged;
            }
            Stage::LineAgain => {
                effects.read_with(self.eye, shown.to[self.eye], acuity, true);
                self.stage = Stage::Ended;
            }
            Stage::Fogged => {
                effects.read_with(self.eye, shown.to[self.eye], acuity, false);
                if !shows_too_much_minus(acuity) {
                    self.passed();
                    return;
                }
                self.notice_contradiction(shown.from[self.eye], effects);
                effects.remarks.push(Remark::TooMuchMinus(self.eye));
                effects.base[self.eye] = shown.from[self.eye] + Power::sphere(Dioptres(STEP_D));
                self.added += 1;
                if self.added == MOST_ADDED {
                    self.passed();
                }
            }
            Stage::Ended => {}
        }
    }

    fn skip(&mut self, _turn: &mut Effects<'_>) {
        match self.stage {
            Stage::Line => self.stage = Stage::Fogged,
            Stage::Fogged => self.passed(),
            Stage::LineAgain | Stage::Ended => self.stage = Stage::Ended,
        }
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}

/// Whether a line read through the fog is better than the check allows.
pub fn shows_too_much_minus(through_fog: Acuity) -> bool {
    through_fog.log_mar().is_some_and(|log_mar| log_mar < BETTER_THAN_LOG_MAR)
}
