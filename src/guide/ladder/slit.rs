//! Section 4, the third way: a stenopaeic slit along the clearest meridian and across; the two best spheres are the principal
//! powers (common practice, no source). To find the clearest meridian the eye is fogged: at the best vision sphere the principal
//! meridians are equally blurred, and a slit between them would be the clearest.

use super::stepping::{Ladder, MOST_COMPARISONS};
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Given, Part, ProcedureName, Shown};
use crate::guide::findings::Findings;
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Axis, Dioptres, Eye, Eyes, Power};

/// The step with which the sphere behind the slit is searched.
const FIRST_STEP_D: f64 = 1.00;

/// Principal powers farther apart than the strongest trial cylinders are not a finding.
const MOST_CYLINDER_D: f64 = 6.00;

/// The fog for finding the meridian, in dioptres: enough for cylinders up to twice as strong.
const FOG_D: f64 = 2.00;

/// The most presentations: the direction, and a search along and across.
const MOST_PRESENTATIONS: usize = 1 + 2 * MOST_COMPARISONS;

#[derive(Debug, Clone, PartialEq)]
enum Stage {
    Turn,
    Along { meridian: Axis, ladder: Ladder, sphere: Power },
    Across { meridian: Axis, along_d: f64, ladder: Ladder, sphere: Power },
    Ended,
}

/// Astigmatism of one eye by the slit.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Slit {
    eye: Eye,
    age_years: Option<u8>,
    stage: Stage,
}

/// The power whose principal meridians were found one by one: `along_d` acts along `meridian`, `across_d` at right angles.
pub fn from_principal_powers(meridian: Axis, along_d: f64, across_d: f64) -> Power {
    let along = Power::cylinder(Dioptres(across_d - along_d), f64::from(meridian.degrees()));
    Power::sphere(Dioptres(along_d)) + along
}

impl Slit {
    pub fn begin(eye: Eye, given: &Given, _findings: &Findings) -> Self {
        Self { eye, age_years: given.accommodates_at_years(), stage: Stage::Turn }
    }

    fn ladder(&self) -> Ladder {
        Ladder::new(self.eye, FIRST_STEP_D, None, self.age_years).apart()
    }

    fn behind(&self, meridian: Axis, ladder: &Ladder, sphere: Power) -> Option<Step> {
        let step = ladder.step(sphere)?;
        let to = step.to[self.eye].unwrap_or_default();
        let instruction = sentence!["Slit along ", meridian, "; change the frame to ", to, " and back."];
        Some(
            step.with_show(Show::Slit { eye: self.eye, meridian: Some(meridian) })
                .instruction(instruction)
                .why("behind the slit only the power along it counts: each principal power is a best sphere"),
        )
    }

    /// Goes on when a search has nothing left to try.
    fn settle(&mut self, effects: &mut Effects<'_>) {
        match &self.stage {
            Stage::Along { meridian, ladder, sphere } if ladder.next(sphere.m).is_none() => {
                let (meridian, sphere) = (*meridian, *sphere);
                let ladder = self.ladder();
                self.stage = Stage::Across { meridian, along_d: sphere.m, ladder, sphere };
            }
            Stage::Across { meridian, along_d, ladder, sphere } if ladder.next(sphere.m).is_none() => {
                if (along_d - sphere.m).abs() <= MOST_CYLINDER_D {
                    effects.base[self.eye] = from_principal_powers(*meridian, *along_d, sphere.m);
                } else {
                    effects.remarks.push(Remark::Ended(ProcedureName::Slit));
                }
                self.stage = Stage::Ended;
            }
            _ => {}
        }
    }
}

impl Procedure for Slit {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        match &self.stage {
            Stage::Turn => Some(
                Step::at(self.eye, base, Question::SlitMeridian)
                    .showing(
                        Show::Slit { eye: self.eye, meridian: None },
                        self.eye,
                        base[self.eye] + Power::sphere(Dioptres(FOG_D)),
                    )
                    .say("Tell me when the letters are clearest while this slit turns.")
                    .instruction(sentence![
                        "Fog with ",
                        Part::Sphere(FOG_D),
                        " in the frame, hold the slit in front and turn it slowly. Where is it clearest?"
                    ])
                    .why("a fogged astigmatic eye sees best with the slit along its least short-sighted meridian"),
            ),
            Stage::Along { meridian, ladder, sphere } => self.behind(*meridian, ladder, *sphere),
            Stage::Across { meridian, ladder, sphere, .. } => self.behind(meridian.perpendicular(), ladder, *sphere),
            Stage::Ended => None,
        }
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        match &mut self.stage {
            Stage::Turn => {
                if let Answer::Degrees(degrees) = answer {
                    let meridian = Axis::folded(i32::from(degrees));
                    let sphere = Power::sphere(Dioptres(shown.from[self.eye].m));
                    self.stage = Stage::Along { meridian, ladder: self.ladder(), sphere };
                } else {
                    effects.remarks.push(Remark::NoAstigmatism(self.eye));
                    self.stage = Stage::Ended;
                }
            }
            Stage::Along { ladder, sphere, .. } | Stage::Across { ladder, sphere, .. } => {
                *sphere = ladder.answer(answer, *sphere, shown, effects);
            }
            Stage::Ended => {}
        }
        self.settle(effects);
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        match &mut self.stage {
            Stage::Turn | Stage::Ended => self.stage = Stage::Ended,
            Stage::Along { ladder, sphere, .. } | Stage::Across { ladder, sphere, .. } => ladder.skip(*sphere),
        }
        self.settle(effects);
    }

    fn corrected(&mut self, given: &Given, _base: &mut Eyes<Power>) {
        self.age_years = given.accommodates_at_years();
        if let Stage::Along { ladder, .. } | Stage::Across { ladder, .. } = &mut self.stage {
            ladder.corrected(self.age_years);
        }
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
