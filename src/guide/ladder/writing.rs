//! Section 9, writing it down: the acuity with what was found is read where it was not, and what was found is accepted for the
//! record; the prescription itself is [`Prescription`](crate::exam::Prescription), made from what was accepted.

use crate::exam::prescription::{SAME_POWER_D, too_plus_of_near_chart};
use crate::exam::sentence::sentence;
use crate::exam::{Accepted, Answer, Given, Part, Shown};
use crate::guide::findings::Findings;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::optics::{Eye, Eyes, Power};

/// The most presentations: the chart, each eye, both, and done.
const MOST_PRESENTATIONS: usize = 5;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    NearChart { metres: f64 },
    Line(Option<Eye>),
    Write,
}

/// Writing the prescription.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Writing {
    /// What is still to be asked, the next one last.
    left: Vec<Stage>,
}

impl Writing {
    pub fn begin(given: &Given, findings: &Findings) -> Self {
        let mut left = vec![Stage::Write, Stage::Line(None)];
        let read = |eye: Eye| {
            let with = findings.acuity_with[eye];
            with.is_some_and(|with| with.miss(given.start[eye]) <= SAME_POWER_D)
        };
        let unread = Eye::BOTH.into_iter().rev().filter(|&eye| !read(eye));
        left.extend(unread.map(|eye| Stage::Line(Some(eye))));
        let near = given.chart_metres.filter(|&metres| too_plus_of_near_chart(metres) > 1e-9);
        if let Some(metres) = near.filter(|_| findings.chart_taken_off == 0.0) {
            left.push(Stage::NearChart { metres });
        }
        Self { left }
    }

    /// What stands before an eye is accepted; what was found when lenses for it are missing.
    fn accept(shown: &Shown, effects: &mut Effects<'_>) {
        for eye in Eye::BOTH {
            let (found, stands) = (effects.base[eye], shown.to[eye]);
            let accepted: Power = if found.miss(stands) <= SAME_POWER_D { stands } else { found };
            effects.findings.subjective[eye] = Some(accepted);
            effects.accept(Accepted::Refraction(eye, Some(accepted)));
        }
        let near = effects.findings.addition.filter(|&addition| addition > 0.0);
        effects.accept(Accepted::Addition(near));
        if let Some(left) = effects.findings.addition_of_left.filter(|_| near.is_some()) {
            effects.accept(Accepted::AdditionOf(Eye::Left, Some(left)));
        }
        let chart = Some(effects.findings.chart_taken_off).filter(|&taken_off| taken_off > 0.0);
        effects.accept(Accepted::ChartAllowance(chart));
        effects.findings.written = true;
    }
}

impl Procedure for Writing {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        Some(match *self.left.last()? {
            Stage::NearChart { metres } => Step::both(*base, Question::YesOrNo)
                .instruction(sentence![
                    "The chart stood at ",
                    Part::Figure(metres),
                    " m: take ",
                    Part::Dioptres(too_plus_of_near_chart(metres)),
                    " of plus off both eyes?"
                ])
                .why("a chart nearer than 6 m leaves the sphere found too plus by 1/d - 1/6"),
            Stage::Line(eye) => {
                let mut step = Step::both(*base, Question::LineRead)
                    .say("Which is the lowest line you can read?")
                    .instruction(match eye {
                        None => "Read the chart with both eyes open.".into(),
                        Some(eye) => sentence!["Read the chart with the ", eye, " eye."],
                    })
                    .why("the acuity with what is written belongs on the record");
                step.eye = eye;
                step
            }
            Stage::Write => Step::both(*base, Question::Ready)
                .say("These are the lenses that I write down for you.")
                .instruction("Read the prescription back, then write it down.")
                .why("the nearest quarter steps, for the vertex distance at which the glasses will sit"),
        })
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let Some(stage) = self.left.pop() else { return };
        match (stage, answer.acuity()) {
            (Stage::NearChart { metres }, _) => {
                if answer == Answer::Yes {
                    effects.findings.chart_taken_off = too_plus_of_near_chart(metres);
                }
            }
            (Stage::Line(Some(eye)), Some(acuity)) => effects.read_with(eye, shown.to[eye], acuity, true),
            (Stage::Line(None), Some(acuity)) => effects.note_acuity(None, crate::exam::Through::Frame, acuity),
            (Stage::Line(_), None) => {}
            (Stage::Write, _) => Self::accept(shown, effects),
        }
    }

    fn skip(&mut self, _turn: &mut Effects<'_>) {
        self.left.pop();
    }

    fn looks_at_the_room(&self) -> bool {
        true
    }

    fn takes_what_was_found(&self) -> bool {
        true
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
