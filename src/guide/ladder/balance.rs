//! Section 6, both eyes equal: fog both, close one eye and then the other, a quarter before the clearer one until they are equal
//! or changed over (common practice; the worked example is scribd 172421685).
//!
//! The fog is a pair of lenses held in front and changed there: the correction itself is never rebuilt for it. A difference is
//! asked twice. An eye gets a quarter at most, since without another line no more is a balance, and only where it costs nothing
//! once the fog is off: what is clearer through fog may as well be the right one of the two. Whatever way the procedure is left
//! before its end, the fog goes and each eye keeps what was found for it alone.

use crate::exam::sentence::sentence;
use crate::exam::{Answer, Given, Judgement, Part, Shown};
use crate::guide::findings::Findings;
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Power};

/// The fog over both eyes in dioptres: the first of which a pair is free, and a quarter more.
const FOGS_D: [f64; 4] = [1.00, 0.75, 1.25, 1.50];
/// The step in dioptres.
const STEP_D: f64 = 0.25;
/// The most presentations: the comparison and once more, the same with a quarter, and the quarter without the fog.
const MOST_PRESENTATIONS: usize = 2 + 1 + 1;
/// Two acuities nearer than this are less than a line apart: a line is 0.1 log MAR, and the last decimals are rounding.
const A_LINE_LOG_MAR: f64 = 0.1 - 1e-6;

/// Whether two acuities are less than a line apart; unknown ones are taken to be, and an eye that reads no letter is not.
pub(in crate::guide) fn within_a_line(acuities: Eyes<Option<Acuity>>) -> bool {
    match (acuities.right, acuities.left) {
        (Some(right), Some(left)) => match (right.log_mar(), left.log_mar()) {
            (Some(right), Some(left)) => (right - left).abs() < A_LINE_LOG_MAR,
            _ => false,
        },
        (Some(one), None) | (None, Some(one)) => one.log_mar().is_some(),
        (None, None) => true,
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    /// Which eye is clearer through the fog; `once` was it when it was asked before.
    Equalise {
        once: Option<Eye>,
    },
    /// The same with a quarter more before the eye that was clearer.
    WithQuarter(Eye),
    /// What the quarter costs the eye alone, without the fog.
    WithoutFog(Eye),
    Ended,
}

/// The balance of both eyes.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Balance {
    stage: Stage,
    favoured: Option<Eye>,
    fog_d: f64,
}

impl Balance {
    pub fn begin(given: &Given, findings: &Findings) -> Self {
        let stage = if within_a_line(findings.acuity) { Stage::Equalise { once: None } } else { Stage::Ended };
        let are_free = |marked: f64, pieces: u8| {
            given.loose_spheres.iter().any(|loose| (loose.marked.0 - marked).abs() < 0.01 && loose.pieces >= pieces)
        };
        let fog_d = FOGS_D.into_iter().find(|&fog| are_free(fog, 2) && are_free(fog + STEP_D, 1));
        Self { stage, favoured: given.dominant_eye, fog_d: fog_d.unwrap_or(FOGS_D[0]) }
    }

    /// What was found, looked at through lenses held before both eyes.
    fn through(base: &Eyes<Power>, held: Eyes<f64>, question: Question) -> Step {
        let mut step = Step::both(*base, question).with_show(Show::Compare);
        step.to = Eyes::from_fn(|eye| Some(base[eye] + Power::sphere(Dioptres(held[eye]))));
        step.held_only = true;
        step
    }

    fn fogged(&self, base: &Eyes<Power>, quarter: Option<Eye>) -> Step {
        let fog = Eyes::from_fn(|eye| if quarter == Some(eye) { self.fog_d + STEP_D } else { self.fog_d });
        Self::through(base, fog, Question::ClearerEye).instruction(sentence![
            "Hold ",
            Part::Sphere(fog.right),
            " in front of the right and ",
            Part::Sphere(fog.left),
            " in front of the left eye. The person closes one eye, then the other."
        ])
    }

    fn end(&mut self, effects: &mut Effects<'_>) {
        effects.findings.subjective = effects.base.map(Some);
        self.stage = Stage::Ended;
    }
}

impl Procedure for Balance {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        match self.stage {
            Stage::Equalise { once } => Some(
                self.fogged(base, None)
                    .say(match once {
                        None => "Close one eye, then the other: with which is the chart clearer, or are they equal?",
                        Some(_) => "Once more, the other eye first: with which is it clearer, or are they equal?",
                    })
                    .why(match once {
                        None => "equally fogged, the clearer eye has less plus than the other",
                        Some(_) => "a difference is asked twice before a lens is changed for it",
                    }),
            ),
            Stage::WithQuarter(eye) => Some(
                self.fogged(base, Some(eye))
                    .say("And now: with which is it clearer, or are they equal?")
                    .why("a quarter more before the clearer eye stays unless the other one is clearer with it"),
            ),
            Stage::WithoutFog(eye) => Some(
                Step::at(eye, base, Question::ClearerWith { before: None })
                    .showing(Show::Compare, eye, base[eye] + Power::sphere(Dioptres(STEP_D)))
                    .say("Is the last line that you read clearer with this, the same, or worse?")
                    .instruction(sentence![
                        "The fog is off: hold ",
                        Part::Sphere(STEP_D),
                        " in front of the ",
                        eye,
                        " eye alone."
                    ])
                    .why("the quarter that made the eyes equal stays only where it costs nothing"),
            ),
            Stage::Ended => None,
        }
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let clearer = answer.prefers_first().map(|right| if right { Eye::Right } else { Eye::Left });
        match self.stage {
            Stage::Equalise { once } => match (once, clearer) {
                (None, Some(eye)) => self.stage = Stage::Equalise { once: Some(eye) },
                (Some(before), Some(eye)) if before == eye => self.stage = Stage::WithQuarter(eye),
                _ => self.end(effects),
            },
            Stage::WithQuarter(eye) => {
                // Changed over: a quarter more favours the other eye, none this one. It is left to the preferred eye; where none
                // is known, to the lesser change.
                let changed_over = clearer == Some(eye.other());
                if changed_over && self.favoured != clearer {
                    self.end(effects);
                } else {
                    self.stage = Stage::WithoutFog(eye);
                }
            }
            Stage::WithoutFog(eye) => {
                let judgement = answer.judgement();
                let kept = judgement != Judgement::Worse;
                effects.judge(eye, shown, judgement, kept);
                if kept {
                    effects.base[eye] += Power::sphere(Dioptres(STEP_D));
                }
                self.end(effects);
            }
            Stage::Ended => {}
        }
    }

    /// Without an answer there is no difference that is known twice.
    fn skip(&mut self, effects: &mut Effects<'_>) {
        self.end(effects);
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
