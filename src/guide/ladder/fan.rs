//! Section 4, astigmatism on the fan and block: fog, find the clearest line, add minus cylinder until all lines are alike.
//!
//! The minus-cylinder axis is at right angles to the clearest line: 30 times its lower clock hour as the person sees it (the
//! clock-dial rule: clinical procedures manual at eyebk.cn, nbeopart2.com). The two fogs are common practice, no source. While
//! cylinder is added the sphere in the frame stays untouched, and the fog that is held grows by half of the cylinder: so the
//! eye stays as fogged as it was, and the line that stands out stays the right one for those who cannot accommodate.

use crate::exam::sentence::sentence;
use crate::exam::{Answer, Given, Part, Shown};
use crate::guide::findings::Findings;
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Axis, Dioptres, Eye, Eyes, Power};

/// The two fogs, in dioptres.
const FOGS_D: [f64; 2] = [0.50, 1.00];
/// The strongest cylinder that is built up.
const MOST_CYLINDER_D: f64 = 6.00;
/// How often the fan is gone round.
const MOST_ROUNDS: u8 = 3;
/// The most presentations: two looks without a clear line; else for each round a look and the question for the first of two
/// lines; twelve half steps and their way back in the first round, the same in quarters at a new axis in the others.
const MOST_PRESENTATIONS: usize = 2 + 2 * MOST_ROUNDS as usize + 14 + 2 * 26;

/// The minus-cylinder axis for the clearest line of the fan, by its lower clock hour in halves: 30 × the hour.
pub fn axis_of_clearest_line(half_hours: u8) -> Axis {
    Axis::folded(15 * i32::from(half_hours))
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    Look,
    FirstOfTwo,
    /// `lesser` is what stood there before the last addition.
    Equal {
        axis: Axis,
        step: f64,
        came_back: bool,
        lesser: Power,
    },
    Ended,
}

/// Astigmatism of one eye on the fan.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Fan {
    eye: Eye,
    stage: Stage,
    first_fog: usize,
    start_cylinder: f64,
    round: u8,
}

impl Fan {
    pub fn begin(eye: Eye, given: &Given, _findings: &Findings) -> Self {
        let start_cylinder = given.start[eye].minus_form().cylinder;
        Self { eye, stage: Stage::Look, first_fog: 0, start_cylinder, round: 0 }
    }

    /// The fog that is held, in dioptres.
    fn fog(&self, base: &Eyes<Power>) -> f64 {
        let first_look = self.round == 0 && !matches!(self.stage, Stage::Equal { .. });
        if first_look {
            return FOGS_D[self.first_fog];
        }
        let added = self.start_cylinder - base[self.eye].minus_form().cylinder;
        FOGS_D[1] + (added.max(0.0) / 2.0 / 0.25).round() * 0.25
    }

    fn fogged(&self, base: &Eyes<Power>, question: Question) -> Step {
        let to = base[self.eye] + Power::sphere(Dioptres(self.fog(base)));
        Step::at(self.eye, base, question).showing(Show::Compare, self.eye, to)
    }

    fn none_clearer(&mut self, effects: &mut Effects<'_>) {
        if self.round > 0 {
            self.stage = Stage::Ended;
        } else if self.first_fog + 1 < FOGS_D.len() {
            self.first_fog += 1;
        } else {
            effects.remarks.push(Remark::NoAstigmatism(self.eye));
            self.stage = Stage::Ended;
        }
    }

    fn line(&mut self, half_hours: u8, base: Power, effects: &mut Effects<'_>) {
        let axis = axis_of_clearest_line(half_hours);
        let step = if self.round == 0 { 0.50 } else { 0.25 };
        effects.base[self.eye] = with_cylinder(base, -step, axis);
        self.stage = Stage::Equal { axis, step, came_back: false, lesser: base };
    }

    fn equal(&mut self, answer: Answer, base: Power, effects: &mut Effects<'_>) {
        let Stage::Equal { axis, step, came_back, lesser } = self.stage else { return };
        let full = base.minus_form().cylinder - step < -MOST_CYLINDER_D - 1e-9;
        let across = answer == Answer::Across;
        if answer == Answer::Yes && !came_back && !full {
            effects.base[self.eye] = with_cylinder(base, -step, axis);
            self.stage = Stage::Equal { axis, step, came_back, lesser: base };
        } else if across && step > 0.25 {
            effects.base[self.eye] = with_cylinder(lesser, -0.25, axis);
            self.stage = Stage::Equal { axis, step: 0.25, came_back: true, lesser };
        } else {
            if across {
                effects.base[self.eye] = lesser;
            }
            self.next_round();
        }
    }

    fn next_round(&mut self) {
        self.round += 1;
        self.stage = if self.round < MOST_ROUNDS { Stage::Look } else { Stage::Ended };
    }
}

/// Adds a cylinder; to one that stands at another axis as a vector, the sum in quarters again so that one lens makes it, the
/// sphere untouched.
fn with_cylinder(base: Power, cylinder: f64, axis: Axis) -> Power {
    let sum = base + Power::cylinder(Dioptres(cylinder), f64::from(axis.degrees()));
    let form = base.minus_form();
    if form.cylinder > -0.05 || Axis::nearest(form.axis) == axis {
        return sum;
    }
    let resultant = sum.minus_form();
    let quarters = (resultant.cylinder / 0.25).round() * 0.25;
    let whole_degrees = f64::from(Axis::nearest(resultant.axis).degrees());
    Power::sphere(Dioptres(form.sphere)) + Power::cylinder(Dioptres(quarters), whole_degrees)
}

impl Procedure for Fan {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        let eye = self.eye;
        match self.stage {
            Stage::Look => Some(
                self.fogged(base, Question::FanLine)
                    .say("Are any lines of this fan clearer or blacker than the others? Which, as on a clock?")
                    .instruction(sentence![
                        "Hold ",
                        Part::Sphere(self.fog(base)),
                        " in front of the ",
                        eye,
                        " eye; show the fan."
                    ])
                    .why(if self.round == 0 {
                        "fogged, an astigmatic eye sees the lines along one direction clearer"
                    } else {
                        "once more round the fan: no line should stand out any more"
                    }),
            ),
            Stage::FirstOfTwo => Some(
                self.fogged(base, Question::FanFirstOfTwo)
                    .say("Which two, side by side?")
                    .instruction("Take the line with the lower hour.")
                    .why("between two equal lines the axis lies half-way"),
            ),
            Stage::Equal { .. } => {
                let mut step = self
                    .fogged(base, Question::FanEqual)
                    .say("Are all lines alike now, or is one direction still clearer?")
                    .instruction(sentence![
                        "Hold ",
                        Part::Sphere(self.fog(base)),
                        " in front of the ",
                        eye,
                        " eye; ",
                        base[eye],
                        " stands in the frame."
                    ])
                    .why(sentence![Part::ByForm {
                        minus: "minus cylinder is added, the sphere untouched, until no line stands out",
                        plus: "plus cylinder is added, the sphere less plus by as much, until no line stands out",
                    }]);
                step.about_the_cylinder = true;
                Some(step)
            }
            Stage::Ended => None,
        }
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        let base = shown.from[self.eye];
        match (self.stage, answer.half_hours()) {
            (Stage::Look, _) if answer == Answer::TwoLines => self.stage = Stage::FirstOfTwo,
            (Stage::Look | Stage::FirstOfTwo, Some(half_hours)) => self.line(half_hours, base, effects),
            (Stage::Look | Stage::FirstOfTwo, None) | (Stage::Ended, _) => self.none_clearer(effects),
            (Stage::Equal { .. }, _) => self.equal(answer, base, effects),
        }
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        match self.stage {
            Stage::Look | Stage::FirstOfTwo => {
                self.stage = Stage::Look;
                self.none_clearer(effects);
            }
            Stage::Equal { lesser, .. } => {
                // what was not judged is not kept; the fan would be answered as before, so it is not gone round again
                effects.base[self.eye] = lesser;
                self.stage = Stage::Ended;
            }
            Stage::Ended => {}
        }
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
