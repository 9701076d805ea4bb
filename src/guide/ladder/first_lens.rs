//! Section 1, the first lens: from retinoscopy, from the old glasses, or from the acuity and what the person says.

use super::stepping::LETTERS_BELOW_YEARS;
use super::told::{LINE_LOG_MAR, blur_of_d, finest_noticed_d, gained_log_mar, is_poorer_than_6_12, to_lesser_quarter};
use crate::exam::prescription::SAME_POWER_D;
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Complaint, Given, Judgement, Part, Shown};
use crate::guide::findings::{Findings, FirstStep};
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Power};

/// The most presentations: from what to start, print at the nose, the lens.
const MOST_PRESENTATIONS: usize = 3;

/// Such an eye lacks 3 D and more (common practice, no source): nothing less shows it a letter.
const UNREAD_LENS_D: f64 = 3.00;

/// At 6/12 and better the first line is read through this, in dioptres.
const FOG_D: f64 = 1.00;

/// Less than what a line tells is shown, so that it is not too much.
const SPARED_D: f64 = 0.25;

/// More than this is not held in front but put in.
const HELD_UP_TO_D: f64 = 2.00;

/// The step to go on with after retinoscopy or the old glasses.
const STEP_FROM_FOUND_D: f64 = 0.50;

/// A guess: the first lens and the step to go on with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstGuess {
    /// The lens to show first, in dioptres.
    pub lens_d: f64,
    /// The step to go on with, in dioptres.
    pub step_d: f64,
}

/// How much of the chart is read unaided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unaided {
    TopAtMost,
    Half,
    NearlyAll,
}

fn reads(acuity: Option<Acuity>) -> Unaided {
    match acuity.and_then(Acuity::denominator_6_m) {
        Some(denominator) if denominator < 10.5 => Unaided::NearlyAll,
        Some(denominator) if denominator < 42.0 => Unaided::Half,
        _ => Unaided::TopAtMost,
    }
}

/// The first guess of the table (common practice, no source).
///
/// `print_at_nose`: reads nothing on the chart but holds print at the nose. Somebody who does not complain of far blur alone
/// gets a plus lens first: when it is refused nothing is lost, and it finds the long-sighted.
pub fn first_guess(acuity: Option<Acuity>, complaint: Option<Complaint>, print_at_nose: bool) -> FirstGuess {
    let far_blur = complaint == Some(Complaint::FarBlur);
    let (lens_d, step_d) = match (reads(acuity), far_blur) {
        (Unaided::TopAtMost, true) if print_at_nose => (-8.00, 2.00),
        (Unaided::TopAtMost, true) => (-2.00, 2.00),
        (Unaided::Half, true) => (-1.00, 1.00),
        (Unaided::TopAtMost, false) => (2.00, 2.00),
        (Unaided::Half, false) => (1.00, 1.00),
        (Unaided::NearlyAll, _) => (0.50, 0.50),
    };
    let noticed = acuity.map_or(0.0, finest_noticed_d);
    FirstGuess { lens_d, step_d: noticed.max(step_d) }
}

/// The lens through which the first line is read, in dioptres, where the line without is known: as far as that line tells, the
/// sign by the table; +1.00 at 6/12 and better, where the two lines then tell the rest. What reads no letter has the table's.
pub fn first_lens_by_line(acuity: Acuity, complaint: Option<Complaint>, print_at_nose: bool) -> f64 {
    let guess = first_guess(Some(acuity), complaint, print_at_nose).lens_d;
    let Some(blur) = blur_of_d(acuity) else {
        return if guess.abs() < UNREAD_LENS_D { UNREAD_LENS_D.copysign(guess) } else { guess };
    };
    if !is_poorer_than_6_12(acuity) {
        return FOG_D;
    }
    to_lesser_quarter(blur - SPARED_D).max(FOG_D).copysign(guess)
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    StartFrom,
    PrintAtNose,
    Lens { print_at_nose: bool },
    Ended,
}

/// The choice of the first lens of one eye.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct FirstLens {
    eye: Eye,
    stage: Stage,
    acuity: Option<Acuity>,
    complaint: Option<Complaint>,
    retinoscopy: Option<Power>,
    old_glasses: Option<Power>,
    /// Whether something else was put in by hand or found before: it is not thrown out unless the examiner says so.
    offers_so_far: bool,
    young: bool,
}

/// Whether plus may hide behind accommodation, as far as the age is known.
fn is_young(given: &Given) -> bool {
    given.accommodates_at_years().is_none_or(|age| age < LETTERS_BELOW_YEARS)
}

impl FirstLens {
    pub fn begin(eye: Eye, given: &Given, findings: &Findings) -> Self {
        let mut procedure = Self {
            eye,
            stage: Stage::StartFrom,
            acuity: given.unaided[eye],
            complaint: given.complaint,
            retinoscopy: findings.retinoscopy[eye],
            young: is_young(given),
            old_glasses: given.old_glasses[eye].map(crate::optics::SpheroCylinder::power),
            offers_so_far: false,
        };
        let start = given.start[eye];
        let known = [procedure.retinoscopy, procedure.old_glasses].into_iter().flatten();
        let is_news =
            start.blur_strength() > SAME_POWER_D && known.into_iter().all(|known| known.miss(start) > SAME_POWER_D);
        procedure.offers_so_far = is_news;
        if procedure.retinoscopy.is_none() && procedure.old_glasses.is_none() && !is_news {
            procedure.stage = procedure.by_acuity();
        }
        procedure
    }

    fn by_acuity(&self) -> Stage {
        let no_letter = self.acuity.is_some_and(|acuity| acuity.log_mar().is_none());
        if no_letter && self.complaint == Some(Complaint::FarBlur) {
            Stage::PrintAtNose
        } else {
            Stage::Lens { print_at_nose: false }
        }
    }

    fn guess(&self, print_at_nose: bool) -> FirstGuess {
        first_guess(self.acuity, self.complaint, print_at_nose)
    }

    fn lens_by_line(&self, print_at_nose: bool) -> f64 {
        self.acuity.map_or(0.0, |acuity| first_lens_by_line(acuity, self.complaint, print_at_nose))
    }

    /// Plus is kept that costs no line, minus that gains one.
    fn line_through(&mut self, lens: f64, read: Option<Acuity>, shown: &Shown, effects: &mut Effects<'_>) {
        self.stage = Stage::Ended;
        let (Some(before), Some(read)) = (self.acuity, read) else { return };
        let (eye, plus) = (self.eye, lens > 0.0);
        let gained = gained_log_mar(before, read);
        let kept =
            read.log_mar().is_some() && if plus { gained > -LINE_LOG_MAR + 1e-9 } else { gained > LINE_LOG_MAR - 1e-9 };
        effects.read_with(eye, shown.to[eye], read, kept);
        effects.base[eye] = if kept { shown.wanted(eye) } else { Power::ZERO };
        if kept && plus && self.young {
            effects.remarks.push(Remark::YoungHyperope);
        }
        effects.findings.first[eye] = Some(FirstStep { step_d: finest_noticed_d(read), plus: Some(plus == kept) });
    }

    fn start_from(&mut self, power: Option<Power>, effects: &mut Effects<'_>) {
        if let Some(power) = power {
            effects.base[self.eye] = power;
            effects.findings.first[self.eye] = Some(FirstStep { step_d: STEP_FROM_FOUND_D, plus: None });
        }
        self.stage = Stage::Ended;
    }
}

impl Procedure for FirstLens {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        let eye = self.eye;
        let nothing = Eyes::both(Power::ZERO);
        match self.stage {
            Stage::StartFrom => {
                let question = Question::StartFrom {
                    retinoscopy: self.retinoscopy.is_some(),
                    old_glasses: self.old_glasses.is_some(),
                    so_far: self.offers_so_far.then_some(base[eye]),
                };
                let mut step = Step::plain(question)
                    .instruction(sentence!["Choose from what to start with the ", eye, " eye."])
                    .why("a good start saves most of the search");
                step.eye = Some(eye);
                Some(step)
            }
            Stage::PrintAtNose => Some(
                Step::at(eye, &nothing, Question::YesOrNo)
                    .say("Please read this small print as close as you like.")
                    .instruction("Give near print. Is it held close to the nose?")
                    .why(sentence!["print held at the nose speaks for about ", Part::Sphere(-10.0)]),
            ),
            Stage::Lens { print_at_nose } if self.acuity.is_some() => {
                let lens = self.lens_by_line(print_at_nose);
                let show = if lens.abs() > HELD_UP_TO_D { Show::BuildIn } else { Show::Compare };
                Some(
                    Step::at(eye, &nothing, Question::LineRead)
                        .showing(show, eye, Power::sphere(Dioptres(lens)))
                        .say("Which is the lowest line you can read?")
                        .instruction(if show == Show::BuildIn {
                            sentence![
                                "Put ",
                                Part::Sphere(lens),
                                " in front of the ",
                                eye,
                                " eye. Which line can be read?"
                            ]
                        } else {
                            sentence![
                                "Hold ",
                                Part::Sphere(lens),
                                " in front of the ",
                                eye,
                                " eye. Which line can be read?"
                            ]
                        })
                        .why("the line without and the line with it tell how far it is to the right lens"),
                )
            }
            Stage::Lens { print_at_nose } => {
                let guess = self.guess(print_at_nose);
                Some(
                    Step::at(eye, &nothing, Question::ClearerWith { before: self.acuity })
                        .showing(Show::BuildIn, eye, Power::sphere(Dioptres(guess.lens_d)))
                        .say("Is it clearer with this lens than without, the same, or worse?")
                        .instruction(sentence!["Put ", Part::Sphere(guess.lens_d), " in front of the ", eye, " eye."])
                        .why("the acuity and what the person says decide the first lens"),
                )
            }
            Stage::Ended => None,
        }
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        match self.stage {
            Stage::StartFrom => match answer.prefers_first() {
                Some(true) => self.start_from(self.retinoscopy, effects),
                Some(false) => self.start_from(self.old_glasses, effects),
                None if answer == Answer::Yes => self.start_from(Some(effects.base[self.eye]), effects),
                None => self.stage = self.by_acuity(),
            },
            Stage::PrintAtNose => self.stage = Stage::Lens { print_at_nose: answer == Answer::Yes },
            Stage::Lens { print_at_nose } if answer.acuity().is_some() => {
                let lens = self.lens_by_line(print_at_nose);
                self.line_through(lens, answer.acuity(), shown, effects);
            }
            Stage::Lens { print_at_nose } => {
                let plus = shown.to[self.eye].m > 0.0;
                let judgement = answer.judgement();
                let kept = judgement == Judgement::Better || (plus && judgement == Judgement::Same);
                let from_nothing = Shown { from: Eyes::both(Power::ZERO), ..*shown };
                effects.judge(self.eye, &from_nothing, judgement, kept);
                effects.base[self.eye] = if kept { shown.to[self.eye] } else { Power::ZERO };
                if kept && plus && self.young {
                    effects.remarks.push(Remark::YoungHyperope);
                }
                let step_d = self.guess(print_at_nose).step_d;
                let plus = match judgement {
                    Judgement::Better => Some(plus),
                    Judgement::Same => None,
                    Judgement::Worse => Some(!plus),
                };
                effects.findings.first[self.eye] = Some(FirstStep { step_d, plus });
                self.stage = Stage::Ended;
            }
            Stage::Ended => {}
        }
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        if self.stage == Stage::StartFrom && self.offers_so_far {
            return self.start_from(Some(effects.base[self.eye]), effects);
        }
        self.stage = match self.stage {
            Stage::StartFrom => self.by_acuity(),
            Stage::PrintAtNose => Stage::Lens { print_at_nose: false },
            Stage::Lens { .. } | Stage::Ended => {
                effects.base[self.eye] = Power::ZERO;
                Stage::Ended
            }
        };
    }

    fn corrected(&mut self, given: &Given, _base: &mut Eyes<Power>) {
        self.young = is_young(given);
    }

    fn begins_again(&self) -> bool {
        true
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
