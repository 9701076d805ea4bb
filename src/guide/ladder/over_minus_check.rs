//! Section 3, has too much minus been given? +1.00 over the result should take two or three lines, 6/5 to about 6/12 (common
//! practice, no source; 6/12 to 6/18 from 6/5 by *Optometry in Practice* 2004;5(4)).
//!
//! Compared with the line without the fog: fewer than two lines lost, and plus is owing; as much as the two lines tell is shown
//! at once. What costs a line is taken back. From 55 years on that is said and no more, but where a line is gained through the fog.

use super::told::{
    LINE_LOG_MAR, gained_log_mar, is_6_18_or_worse, line_at, line_known, lines_between, lines_with, owing_d, to_quarter,
};
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Given, Judgement, Part, Shown};
use crate::guide::findings::{Findings, LineAt, SAME_PLACE_D};
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::quarter::STEP_D;
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Power};

/// What is held over the result, in dioptres.
pub const FOG_D: f64 = 1.00;

/// Less than this is not fog.
const LEAST_FOG_D: f64 = 0.60;

/// So many lines lost are enough.
const LINES_THAT_PASS: f64 = 2.0;

/// From this age on a small pupil is as likely a reason (common practice, no source): the check only reports, unless the fog gains
/// a line, which no pupil does.
pub const ONLY_REPORTS_FROM_YEARS: u8 = 55;

/// What is owing is shown up to this, in dioptres.
const MOST_OWING_D: f64 = 2.00;

/// How often plus is added before it is said that these lines do not settle it.
const MOST_ROUNDS: u8 = 2;

/// The most presentations: the line and the fog, what is owing down to a quarter, the line again, and all once more.
const MOST_PRESENTATIONS: usize = 4 * (MOST_OWING_D / STEP_D) as usize;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    Line,
    Fogged,
    /// This much more plus is shown.
    Owing {
        plus_d: f64,
    },
    LineAgain {
        before: Power,
    },
    Ended,
}

/// The check of one eye.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct OverMinusCheck {
    eye: Eye,
    stage: Stage,
    lines: Vec<LineAt>,
    only_reports: bool,
    /// What was said before anything was asked.
    said: Option<Remark>,
    rounds: u8,
}

/// Whether lines that are not lost may be a small pupil's.
fn only_reports(given: &Given) -> bool {
    given.age_years.is_some_and(|age| age >= ONLY_REPORTS_FROM_YEARS)
}

impl OverMinusCheck {
    pub fn begin(eye: Eye, given: &Given, findings: &Findings) -> Self {
        let mut check = Self {
            eye,
            stage: Stage::Line,
            lines: findings.lines[eye].clone(),
            only_reports: only_reports(given),
            said: None,
            rounds: 0,
        };
        // the examiner who asks for it again is asked again
        if findings.times(crate::exam::ProcedureName::OverMinusCheck, eye) == 0 {
            check.said = check.goes_on(given.start[eye]);
        }
        check
    }

    /// The line read through +1.00 over a power, where that was.
    fn fogged(&self, base: Power) -> Option<Acuity> {
        let fogged = base + Power::sphere(Dioptres(FOG_D));
        self.lines.iter().rev().find(|line| line.power.miss(fogged) < SAME_PLACE_D).map(|line| line.acuity)
    }

    /// More plus was refused here, yet the fog says that there is room for it.
    fn notice_contradiction(&self, effects: &mut Effects<'_>) {
        let more = effects.base[self.eye] + Power::sphere(Dioptres(STEP_D));
        let refused = effects.findings.judged[self.eye]
            .iter()
            .any(|j| j.judgement == Judgement::Worse && j.to.m > j.from.m && j.to.miss(more) < SAME_PLACE_D);
        if refused && matches!(self.stage, Stage::Owing { .. }) {
            effects.remarks.push(Remark::Contradiction {
                eye: Some(self.eye),
                before: sentence![Part::Sphere(STEP_D), " was worse"],
                now: sentence!["fewer than two lines are lost through ", Part::Sphere(FOG_D)],
            });
        }
    }

    /// Lines that were lost through no more than +1.00, where that is enough: more fog would lose no fewer.
    fn lost_through_less(&self, base: Power) -> Option<f64> {
        let unfogged = line_known(&self.lines, base).filter(|line| !is_6_18_or_worse(*line))?.log_mar()?;
        let fogged =
            lines_with(&self.lines, base).filter(|(m, _)| (LEAST_FOG_D..FOG_D + SAME_PLACE_D).contains(&(m - base.m)));
        let lost = fogged.map(|(_, read)| read.map_or(f64::INFINITY, |read| lines_between(unfogged, read)));
        lost.fold(None, |most: Option<f64>, lost| Some(most.map_or(lost, |most| most.max(lost))))
            .filter(|lost| lost.is_finite() && *lost >= LINES_THAT_PASS - 1e-9)
    }

    /// What is asked next about a power, and what the lines that are known say of it.
    fn goes_on(&mut self, base: Power) -> Option<Remark> {
        if let Some(lines) = self.lost_through_less(base) {
            self.stage = Stage::Ended;
            return Some(Remark::FogPassed { eye: self.eye, lines });
        }
        let Some(line) = line_at(&self.lines, base) else {
            self.stage = Stage::Line;
            return None;
        };
        if is_6_18_or_worse(line) {
            self.stage = Stage::Ended;
            return Some(Remark::FogUntrusted(self.eye));
        }
        let Some(fogged) = self.fogged(base) else {
            self.stage = Stage::Fogged;
            return None;
        };
        self.stage = Stage::Ended;
        let (Some(unfogged_log_mar), Some(fogged_log_mar)) = (line.log_mar(), fogged.log_mar()) else {
            // no letter is left through the fog
            return Some(Remark::FogPassed { eye: self.eye, lines: lines_between(line.log_mar()?, 1.0) });
        };
        let lines = lines_between(unfogged_log_mar, fogged_log_mar);
        if lines >= LINES_THAT_PASS - 1e-9 {
            return Some(Remark::FogPassed { eye: self.eye, lines });
        }
        if self.rounds == MOST_ROUNDS {
            return Some(Remark::Unsettled(self.eye));
        }
        // a small pupil loses few lines through fog; it gains none
        if self.only_reports && lines > -1.0 + 1e-9 {
            return Some(Remark::FogReported { eye: self.eye, lines });
        }
        let owing = to_quarter(owing_d(unfogged_log_mar, fogged_log_mar, FOG_D)).clamp(STEP_D, MOST_OWING_D);
        self.stage = Stage::Owing { plus_d: owing };
        Some(Remark::TooMuchMinus(self.eye))
    }
}

impl Procedure for OverMinusCheck {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        let eye = self.eye;
        let asked = Step::at(eye, base, Question::LineRead).say("Which is the lowest line you can read?");
        match self.stage {
            Stage::Line | Stage::LineAgain { .. } => Some(
                asked
                    .instruction(sentence!["Read the chart with the ", eye, " eye."])
                    .why("the best line with this lens goes on the record"),
            ),
            Stage::Fogged => Some(
                asked
                    .showing(Show::Compare, eye, base[eye] + Power::sphere(Dioptres(FOG_D)))
                    .instruction(sentence![
                        "Hold ",
                        Part::Sphere(FOG_D),
                        " in front of the ",
                        eye,
                        " eye. Which line can still be read?"
                    ])
                    .why(sentence![
                        Part::Sphere(FOG_D),
                        " over the right lens costs two or three lines; fewer lost means too much minus"
                    ]),
            ),
            Stage::Owing { plus_d } => Some(
                Step::at(eye, base, Question::ClearerWith { before: line_known(&self.lines, base[eye]) })
                    .showing(Show::Compare, eye, base[eye] + Power::sphere(Dioptres(plus_d)))
                    .say("Are the letters clearer with this, the same, or worse?")
                    .instruction(sentence!["Hold ", Part::Sphere(plus_d), " in front of the ", eye, " eye."])
                    .why("fewer than two lines were lost through the fog: so much plus is owing by the two lines"),
            ),
            Stage::Ended => None,
        }
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let eye = self.eye;
        let (from, to) = (shown.from[eye], shown.to[eye]);
        match (self.stage, answer.acuity()) {
            (Stage::Line, Some(acuity)) => {
                effects.read_with(eye, to, acuity, true);
                self.lines.push(LineAt { power: effects.base[eye], acuity });
                effects.remarks.extend(self.goes_on(effects.base[eye]));
            }
            (Stage::Fogged, Some(acuity)) => {
                effects.read_with(eye, to, acuity, false);
                self.lines.push(LineAt { power: effects.base[eye] + Power::sphere(Dioptres(FOG_D)), acuity });
                effects.remarks.extend(self.goes_on(effects.base[eye]));
                self.notice_contradiction(effects);
            }
            (Stage::Owing { plus_d }, _) => {
                let judgement = answer.judgement();
                let kept = judgement != Judgement::Worse;
                effects.judge(eye, shown, judgement, kept);
                if kept {
                    self.stage = Stage::LineAgain { before: effects.base[eye] };
                    effects.base[eye] = shown.wanted(eye);
                } else if plus_d > STEP_D + 1e-9 {
                    self.stage = Stage::Owing { plus_d: plus_d - STEP_D };
                } else {
                    self.stage = Stage::Ended;
                }
            }
            (Stage::LineAgain { before }, Some(acuity)) => {
                let known = line_known(&self.lines, before);
                let lost = known.is_some_and(|known| gained_log_mar(acuity, known) > LINE_LOG_MAR - 1e-9);
                effects.read_with(eye, to, acuity, !lost);
                if lost {
                    effects.base[eye] = from - Power::sphere(Dioptres(STEP_D));
                    self.stage = Stage::Ended;
                    return;
                }
                self.lines.push(LineAt { power: effects.base[eye], acuity });
                self.rounds += 1;
                effects.remarks.extend(self.goes_on(effects.base[eye]));
            }
            (Stage::Line | Stage::Fogged | Stage::LineAgain { .. }, None) | (Stage::Ended, _) => {}
        }
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        self.stage = match self.stage {
            Stage::Line => Stage::Fogged,
            Stage::Fogged => {
                effects.remarks.push(Remark::FogUnread(self.eye));
                Stage::Ended
            }
            Stage::Owing { .. } | Stage::LineAgain { .. } | Stage::Ended => Stage::Ended,
        };
    }

    fn corrected(&mut self, given: &Given, base: &mut Eyes<Power>) {
        self.only_reports = only_reports(given);
        // what is owing is shown, or is not, by the age that is known now
        if let Stage::Owing { .. } = self.stage {
            self.goes_on(base[self.eye]);
        }
    }

    fn why_nothing(&self) -> Option<Remark> {
        self.said.clone()
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
