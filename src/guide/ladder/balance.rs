//! Section 6, both eyes equal: fog both, cover in turn, +0.25 before the clearer eye until equal or changed over, then take the
//! fog away together (common practice; the worked example is scribd 172421685).
//!
//! While fog is left over what was found for each eye, a quarter that gains nothing does not end it: the next is shown too,
//! so that one slip does not leave the fog in the prescription.

use crate::exam::sentence::sentence;
use crate::exam::{Answer, Given, Part, ProcedureName, Shown};
use crate::guide::findings::Findings;
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Power};

/// The fog over both eyes, in dioptres.
const FOG_D: f64 = 1.00;
/// The step in dioptres.
const STEP_D: f64 = 0.25;
/// The most quarters that one eye is given.
const MOST_QUARTERS: u8 = 4;
/// The fog and two quarters more are taken away at most.
const LEAST_FOG_D: f64 = -0.50;
/// The most presentations: the comparisons, and the quarters taken away.
const MOST_PRESENTATIONS: usize = MOST_QUARTERS as usize + 1 + 6;
/// Two acuities within a line of each other (0.1 logMAR, with the last letter) can be balanced.
const WITHIN_LOG_MAR: f64 = 0.12;

/// Whether two acuities are within a line of each other; unknown ones are taken to be.
pub(in crate::guide) fn within_a_line(acuities: Eyes<Option<Acuity>>) -> bool {
    match acuities.map(|acuity| acuity.and_then(Acuity::log_mar)) {
        Eyes { right: Some(right), left: Some(left) } => (right - left).abs() <= WITHIN_LOG_MAR,
        _ => true,
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    Equalise {
        last: Option<Eye>,
        quarters: u8,
    },
    /// `fog` is what stands before both; `refused` says that one quarter less gained nothing.
    Clear {
        fog: f64,
        refused: bool,
    },
    Ended,
}

/// The whole fog is still there.
const CLEAR_ALL: Stage = Stage::Clear { fog: FOG_D, refused: false };

/// The fog that is shown next.
fn next_fog(fog: f64, refused: bool) -> f64 {
    if refused { fog - 2.0 * STEP_D } else { fog - STEP_D }
}

/// The balance of both eyes.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Balance {
    stage: Stage,
    favoured: Option<Eye>,
}

impl Balance {
    pub fn begin(given: &Given, findings: &Findings) -> Self {
        let better = match findings.acuity.map(|acuity| acuity.and_then(Acuity::log_mar)) {
            Eyes { right: Some(right), left: Some(left) } if (right - left).abs() > 1e-9 => {
                Some(if right < left { Eye::Right } else { Eye::Left })
            }
            _ => None,
        };
        let stage =
            if within_a_line(findings.acuity) { Stage::Equalise { last: None, quarters: 0 } } else { Stage::Ended };
        Self { stage, favoured: better.or(given.dominant_eye) }
    }

    fn fogged(base: &Eyes<Power>, fog: f64) -> Eyes<Power> {
        base.map(|power| power + Power::sphere(Dioptres(fog)))
    }
}

impl Procedure for Balance {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        match self.stage {
            Stage::Equalise { .. } => Some(
                Step::both(Self::fogged(base, FOG_D), Question::ClearerEye)
                    .with_show(Show::BuildIn)
                    .say("I cover one eye, then the other: with which is the chart clearer, or are they equal?")
                    .instruction(sentence![Part::Sphere(FOG_D), " over both eyes; cover them in turn, back and forth."])
                    .why("equally fogged, the clearer eye has too little plus: it gets a quarter more"),
            ),
            Stage::Clear { fog, refused } => {
                let next = next_fog(fog, refused);
                let mut step = Step::both(Self::fogged(base, fog), Question::MoreLetters { before: None })
                    .with_show(Show::BuildIn)
                    .say("With both eyes open: does this let you read any more letters?")
                    .instruction(sentence!["Both eyes open: take ", Part::Sphere(fog - next), " away before both."])
                    .why("the fog goes by quarters, both eyes together, until no further line is gained");
                step.to = Self::fogged(base, next).map(Some);
                Some(step)
            }
            Stage::Ended => None,
        }
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        match self.stage {
            Stage::Equalise { last, quarters } => {
                let Some(right) = answer.prefers_first() else {
                    self.stage = CLEAR_ALL;
                    return;
                };
                let clearer = if right { Eye::Right } else { Eye::Left };
                let quarter = Power::sphere(Dioptres(STEP_D));
                match last {
                    Some(before) if before != clearer => {
                        // Changed over: one more quarter favoured the other eye, one less this one. Keep the better or the
                        // preferred eye clearer; when neither is known, the lesser change.
                        if self.favoured != Some(clearer) {
                            effects.base[before] += -quarter;
                        }
                        self.stage = CLEAR_ALL;
                    }
                    _ if quarters == MOST_QUARTERS => {
                        effects.remarks.push(Remark::Ended(ProcedureName::Balance));
                        self.stage = CLEAR_ALL;
                    }
                    _ => {
                        effects.base[clearer] += quarter;
                        self.stage = Stage::Equalise { last: Some(clearer), quarters: quarters + 1 };
                    }
                }
            }
            Stage::Clear { fog, refused } => {
                let gained = answer == Answer::Yes;
                for eye in Eye::BOTH {
                    effects.tried(eye, shown.to[eye], None, None, gained);
                }
                let next = next_fog(fog, refused);
                let left = if gained { next } else { fog };
                if gained && left > LEAST_FOG_D + 1e-9 {
                    self.stage = Stage::Clear { fog: left, refused: false };
                } else if !gained && !refused && next > 1e-9 {
                    self.stage = Stage::Clear { fog, refused: true };
                } else {
                    if left > STEP_D + 1e-9 {
                        effects.remarks.push(Remark::FogLeft { dioptres: left });
                    }
                    *effects.base = Self::fogged(effects.base, left);
                    effects.findings.subjective = effects.base.map(Some);
                    self.stage = Stage::Ended;
                }
            }
            Stage::Ended => {}
        }
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        self.stage = match self.stage {
            Stage::Equalise { .. } => CLEAR_ALL,
            Stage::Clear { .. } | Stage::Ended => {
                effects.findings.subjective = effects.base.map(Some);
                Stage::Ended
            }
        };
    }

    fn why_nothing(&self) -> Option<Remark> {
        Some(Remark::NotBalanced)
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
