//! The person's present glasses by hand neutralisation, for an examiner without an instrument.
//!
//! The glasses are held up and moved sideways before a cross line far away; loose lenses of the box are held against them until
//! the line no longer moves. By Prentice's rule a lens of F dioptres moved by c centimetres has a prism of cF there: a minus
//! lens, its base away from the middle, shifts the line the way it is moved (*with*), and plus neutralises it; a plus lens shifts
//! it the other way (*against*), and minus neutralises it; it is taught so too (from memory, no source at hand). Turned about its middle, a lens with a cylinder makes the lines of a
//! cross scissor; where they lie unbroken are its principal meridians.
//!
//! Each meridian is found by halving the interval in which it lies; the interval is what is kept.

use super::slit::from_principal_powers;
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Detail, Event, Given, Movement, Part, Sentence, Shown};
use crate::guide::findings::Findings;
use crate::guide::procedure::{Effects, Procedure, Step, Target};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::kit::LooseSpheres;
use crate::optics::{Axis, Eye, Eyes, Power};
use crate::stacking::loose_halving::{Halving, Interval, MOST_TRIALS, Seen, Trial};

/// The meridian across is first looked for so far from the first one, in dioptres: the strongest usual cylinders.
const MOST_CYLINDER_D: f64 = 6.0;

/// Where the addition of the reading part is looked for, in dioptres.
const ADDITION_D: [f64; 2] = [0.50, 4.00];

/// Beyond this strength front and back of a lens differ by more than the trials leave, in dioptres: common practice, no source.
const STRONG_D: f64 = 6.0;

/// The most presentations of one eye: the turning, the meridian, two searches, the reading part and its search.
const MOST_OF_ONE_EYE: usize = 1 + 1 + 2 * MOST_TRIALS + 1 + MOST_TRIALS;

#[derive(Debug, Clone, PartialEq)]
enum Stage {
    /// Do the lines scissor when the lens is turned?
    Turn,
    /// Where the lines lie unbroken.
    Meridian,
    /// The power along the first meridian.
    Along(Halving),
    /// The power across it.
    Across {
        along: Interval,
        halving: Halving,
    },
    /// Is there a reading part?
    ReadingPart {
        along: Interval,
    },
    /// The power of the reading part along the first meridian.
    Reading {
        along: Interval,
        halving: Halving,
    },
    Ended,
}

/// Hand neutralisation of one lens of the glasses, or of the right and then the left.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Neutralisation {
    eyes: Vec<Eye>,
    at: usize,
    stage: Stage,
    meridian: Axis,
    has_cylinder: bool,
    /// Whether the reading part was looked at or is known not to be there.
    reading_known: bool,
    loose: Vec<LooseSpheres>,
}

impl Neutralisation {
    pub fn begin(target: Target, given: &Given, _findings: &Findings) -> Self {
        Self {
            eyes: match target {
                Target::Eye(eye) => vec![eye],
                Target::Both => Eye::BOTH.to_vec(),
            },
            at: 0,
            stage: Stage::Turn,
            meridian: Axis::HORIZONTAL,
            has_cylinder: false,
            reading_known: false,
            loose: given.loose_spheres.clone(),
        }
    }

    fn eye(&self) -> Option<Eye> {
        self.eyes.get(self.at).copied()
    }

    /// What is held next, and along which meridian the glasses are moved.
    fn trial(&self) -> Option<(Trial, Axis, &Halving)> {
        let (halving, meridian) = match &self.stage {
            Stage::Along(halving) | Stage::Reading { halving, .. } => (halving, self.meridian),
            Stage::Across { halving, .. } => (halving, self.meridian.perpendicular()),
            Stage::Turn | Stage::Meridian | Stage::ReadingPart { .. } | Stage::Ended => return None,
        };
        Some((halving.next(&self.loose)?, meridian, halving))
    }

    fn next_eye(&mut self) {
        self.at += 1;
        self.meridian = Axis::HORIZONTAL;
        self.has_cylinder = false;
        self.stage = if self.at < self.eyes.len() { Stage::Turn } else { Stage::Ended };
    }

    /// Goes on once a search has nothing more to hold.
    fn settle(&mut self, effects: &mut Effects<'_>) {
        while self.has_searched() {
            match self.stage.clone() {
                Stage::Along(halving) => match halving.found() {
                    Some(along) if self.has_cylinder => {
                        let [least_d, most_d] = [along.least_d - MOST_CYLINDER_D, along.most_d + MOST_CYLINDER_D];
                        self.stage = Stage::Across { along, halving: Halving::between(least_d, most_d) };
                    }
                    Some(along) => self.found(along, along, effects),
                    None => self.not_found(effects),
                },
                Stage::Across { along, halving } => match halving.found() {
                    Some(across) => self.found(along, across, effects),
                    None => self.not_found(effects),
                },
                Stage::Reading { along, halving } => {
                    match halving.found() {
                        Some(reading) => Self::reading_found(along, reading, effects),
                        None => {
                            effects.remarks.push(Remark::Plain("The reading part was not found with these lenses."));
                        }
                    }
                    self.next_eye();
                }
                Stage::Turn | Stage::Meridian | Stage::ReadingPart { .. } | Stage::Ended => return,
            }
        }
    }

    /// Whether a search runs that has nothing more to hold.
    fn has_searched(&self) -> bool {
        match self.stage {
            Stage::Along(_) | Stage::Across { .. } | Stage::Reading { .. } => self.trial().is_none(),
            Stage::Turn | Stage::Meridian | Stage::ReadingPart { .. } | Stage::Ended => false,
        }
    }

    fn not_found(&mut self, effects: &mut Effects<'_>) {
        effects.remarks.push(Remark::Plain(
            "This lens of the glasses is stronger than the free lenses neutralise: nothing is written for it.",
        ));
        self.next_eye();
    }

    /// Keeps what was found of a lens, and how far it may be off.
    fn found(&mut self, along: Interval, across: Interval, effects: &mut Effects<'_>) {
        let Some(eye) = self.eye() else { return };
        let power = from_principal_powers(self.meridian, along.middle_d(), across.middle_d());
        let within_d = along.within_d().max(across.within_d());
        effects.records.push(Event::Detail(Detail::OldGlasses(eye, power.minus_form())));
        effects.records.push(Event::Detail(Detail::OldGlassesWithin(eye, within_d)));
        let words = sentence![
            "The glasses in front of the ",
            eye,
            " eye, by hand neutralisation: ",
            power,
            ", in each meridian to within ",
            Part::Dioptres(within_d),
            "."
        ];
        effects.records.push(Event::Note(words.to_string()));
        if along.middle_d().abs().max(across.middle_d().abs()) > STRONG_D {
            effects.remarks.push(Remark::Plain(
                "So strong a lens makes another power in front than behind: held against its back the lenses say more truly.",
            ));
        }
        self.stage = Stage::ReadingPart { along };
        if self.reading_known {
            self.next_eye();
        }
    }

    fn reading_found(along: Interval, reading: Interval, effects: &mut Effects<'_>) {
        let addition = ((reading.middle_d() - along.middle_d()) / 0.25).round() * 0.25;
        effects.records.push(Event::Detail(Detail::OldAddition(addition)));
        let within = along.within_d() + reading.within_d();
        let words = sentence![
            "Their addition, by hand neutralisation: ",
            Part::Sphere(addition),
            ", to within ",
            Part::Dioptres(within),
            "."
        ];
        effects.records.push(Event::Note(words.to_string()));
    }

    fn hold(&self, trial: Trial, meridian: Axis) -> Sentence {
        let held = match trial.held_d {
            [0.0, _] => "Hold nothing against it yet".into(),
            [one, 0.0] => sentence!["Hold ", Part::Sphere(one), " against it"],
            [one, other] => sentence!["Hold ", Part::Sphere(one), " and ", Part::Sphere(other), " against it together"],
        };
        let part = match self.stage {
            Stage::Reading { .. } => ", through the reading part",
            Stage::Turn
            | Stage::Meridian
            | Stage::Along(_)
            | Stage::Across { .. }
            | Stage::ReadingPart { .. }
            | Stage::Ended => "",
        };
        held.then(&sentence![part, " and move it along ", meridian, ": how does the line across move?"])
    }
}

impl Procedure for Neutralisation {
    fn step(&self, _base: &Eyes<Power>) -> Option<Step> {
        let eye = self.eye()?;
        let step = match &self.stage {
            Stage::Turn => Step::plain(Question::YesOrNo)
                .instruction(sentence![
                    "Hold the glasses up, their front to you, and look through the lens of the ",
                    eye,
                    " eye at a cross far away. Turn it: do the lines scissor?"
                ])
                .why("lines that scissor show a cylinder; without one a single search is enough"),
            Stage::Meridian => Step::plain(Question::ObliqueMeridian)
                .instruction(
                    "Turn the glasses until both lines run on unbroken, and mark one on the lens. At which degree does the mark lie, the glasses level?",
                )
                .why("unbroken lines lie along the principal meridians; the front to you, the dial reads as in the frame"),
            Stage::Along(_) | Stage::Across { .. } | Stage::Reading { .. } => {
                let (trial, meridian, halving) = self.trial()?;
                let Interval { least_d, most_d } = halving.lies();
                let held_d = 0.0 - trial.neutralises_d();
                Step::plain(Question::LineMoves { held_d, along: meridian }).instruction(self.hold(trial, meridian)).why(sentence![
                    "with: more minus; against: more plus; so far between ",
                    Part::Sphere(least_d),
                    " and ",
                    Part::Sphere(most_d)
                ])
            }
            Stage::ReadingPart { .. } => Step::plain(Question::YesOrNo)
                .instruction("Is there a reading part in the glasses?")
                .why("its power less that of the distance part is the addition"),
            Stage::Ended => return None,
        };
        // whoever wears them looks at nothing, so no eye is covered
        let of_eye = !step.question.tests_an_eye_alone();
        Some(Step { eye: Some(eye).filter(|_| of_eye), ..step })
    }

    fn answer(&mut self, answer: Answer, _shown: &Shown, effects: &mut Effects<'_>) {
        let trial = self.trial().map(|(trial, ..)| trial);
        match &mut self.stage {
            Stage::Turn => {
                self.has_cylinder = answer == Answer::Yes;
                self.stage = if self.has_cylinder { Stage::Meridian } else { Stage::Along(Halving::from_end_to_end()) };
            }
            Stage::Meridian => {
                if let Some(degrees) = answer.degrees() {
                    self.meridian = Axis::folded(i32::from(degrees));
                }
                self.stage = Stage::Along(Halving::from_end_to_end());
            }
            Stage::Along(halving) | Stage::Across { halving, .. } | Stage::Reading { halving, .. } => {
                if let Some((trial, movement)) = trial.zip(answer.movement()) {
                    halving.seen(trial, seen(movement));
                }
            }
            Stage::ReadingPart { along } => {
                let (along, [least, most]) = (*along, ADDITION_D);
                self.reading_known = true;
                if answer == Answer::Yes {
                    let halving = Halving::between(along.middle_d() + least, along.middle_d() + most);
                    self.stage = Stage::Reading { along, halving };
                } else {
                    self.next_eye();
                }
            }
            Stage::Ended => {}
        }
        self.settle(effects);
    }

    /// What is passed over is not known: nothing is written for this lens.
    fn skip(&mut self, _effects: &mut Effects<'_>) {
        self.next_eye();
    }

    fn is_subjective(&self) -> bool {
        false
    }

    fn most_presentations(&self) -> usize {
        self.eyes.len() * MOST_OF_ONE_EYE
    }
}

fn seen(movement: Movement) -> Seen {
    match movement {
        Movement::With { .. } => Seen::With,
        Movement::Against { .. } => Seen::Against,
        Movement::Neither => Seen::Still,
    }
}
