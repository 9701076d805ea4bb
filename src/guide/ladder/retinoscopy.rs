//! Section 8, retinoscopy: most plus meridian first with spheres, the other with minus cylinder, the working lens taken off.
//!
//! What is found so far is always kept net of the working lens, whether that lens stands in the frame or is kept in the head:
//! so it can be neither forgotten nor taken off twice.

use super::meridian_search::{MeridianSearch, Next};
use super::slit::from_principal_powers;
use crate::exam::sentence::sentence;
use crate::exam::{Accepted, Answer, EarlierRetinoscopy, Given, Movement, Part, ProcedureName, Shown};
use crate::guide::findings::{Findings, SAME_PLACE_D};
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step, Target};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Axis, Dioptres, Eye, Eyes, Power};

/// The working distance when none was said: two thirds of a metre, for which the working lens is +1.50.
pub const USUAL_WORKING_M: f64 = 2.0 / 3.0;

/// The strongest minus cylinder that is asked for.
const MOST_CYLINDER_D: f64 = 6.00;

/// How often in one eye the meridians may be taken again: oblique, or the other one found more plus.
const MOST_STARTS_AGAIN: u8 = 3;

/// The most presentations of one eye: for each start the oblique question, two looks, two searches; a search takes 21 steps
/// from end to end at most and five between its bounds.
const MOST_OF_ONE_EYE: usize = (MOST_STARTS_AGAIN as usize + 1) * (1 + 2 + 2 * 26);

/// What the working distance adds: 1/d.
pub fn working_lens(metres: f64) -> Dioptres {
    Dioptres(1.0 / metres)
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    WorkingLens,
    /// The two meridians are compared with what stands there.
    Look {
        first: Option<Movement>,
    },
    /// The movement broke away from the streak.
    Oblique,
    /// Spheres bring the most plus meridian to reversal.
    Sphere {
        search: MeridianSearch,
        show_d: f64,
        /// At which power the meridian across was looked at, and how it moved.
        across: Option<(f64, Movement)>,
    },
    /// Minus cylinder brings the meridian across to reversal.
    Across {
        sphere_d: f64,
        search: MeridianSearch,
        show_d: f64,
    },
    /// The working lens comes off.
    TakeOff,
    /// What earlier retinoscopy was steadily off by is offered to be taken off.
    Earlier(EarlierRetinoscopy),
    Ended,
}

/// Retinoscopy of one eye, or of the right and then the left.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Retinoscopy {
    eyes: Vec<Eye>,
    at: usize,
    stage: Stage,
    working_d: f64,
    in_frame: bool,
    /// The meridian that is worked on as the most plus one.
    meridian: Axis,
    starts_again: u8,
    earlier: Option<EarlierRetinoscopy>,
}

impl Retinoscopy {
    pub fn begin(target: Target, given: &Given, _findings: &Findings) -> Self {
        let metres = given.working_metres.unwrap_or(USUAL_WORKING_M);
        Self {
            eyes: match target {
                Target::Eye(eye) => vec![eye],
                Target::Both => Eye::BOTH.to_vec(),
            },
            at: 0,
            stage: Stage::WorkingLens,
            working_d: working_lens(metres).0,
            in_frame: false,
            meridian: Axis::HORIZONTAL,
            starts_again: 0,
            earlier: given.earlier_retinoscopy,
        }
    }

    fn after_take_off(&self) -> Stage {
        self.earlier.map_or(Stage::Ended, Stage::Earlier)
    }

    /// Takes the steady difference off what the search begins from; what retinoscopy gave stays on the record as it was.
    fn take_difference_off(&self, earlier: EarlierRetinoscopy, effects: &mut Effects<'_>) {
        for eye in self.eyes.iter().copied() {
            if let Some(found) = &mut effects.findings.retinoscopy[eye] {
                *found = *found - earlier.differs;
                effects.base[eye] = effects.base[eye] - earlier.differs;
            }
        }
    }

    fn eye(&self) -> Option<Eye> {
        self.eyes.get(self.at).copied()
    }

    fn gross(&self, net: Power) -> Power {
        net + Power::sphere(Dioptres(self.working_d))
    }

    /// The meridian that is swept now.
    fn swept(&self) -> Axis {
        match self.stage {
            Stage::Across { .. } | Stage::Look { first: Some(_) } => self.meridian.perpendicular(),
            _ => self.meridian,
        }
    }

    /// What should stand in the cells now.
    fn wanted(&self, gross: Power) -> Power {
        match self.stage {
            // the astigmatism found before stays while spheres change
            Stage::Sphere { show_d, .. } => {
                let change = show_d - gross.along(f64::from(self.meridian.degrees()));
                gross + Power::sphere(Dioptres(change))
            }
            Stage::Across { sphere_d, show_d, .. } => from_principal_powers(self.meridian, sphere_d, show_d),
            _ => gross,
        }
    }

    fn sweep(&self, eye: Eye, base: &Eyes<Power>) -> Step {
        let mut cells = base.map(|net| self.gross(net));
        cells[eye] = self.wanted(cells[eye]);
        let meridian = self.swept();
        let mut step = Step::both(cells, Question::Reflex)
            .with_show(Show::Sweep { eye, meridian })
            .say("Look past me at the far end of the room.")
            .instruction(sentence![
                "Before the ",
                eye,
                " eye ",
                cells[eye],
                ": sweep along ",
                meridian,
                ", the streak lying at ",
                meridian.perpendicular(),
                "."
            ])
            .why(match self.stage {
                Stage::Look { .. } => "both meridians are looked at first, to begin with the most plus one".into(),
                Stage::Sphere { .. } => "with: more plus; against: less; dull and slow: far from reversal".into(),
                _ => sentence![Part::ByForm {
                    minus: "minus cylinder, its axis along the most plus meridian, until this one reverses too",
                    plus: "plus cylinder, its axis along this meridian, the sphere less plus by as much, until it reverses too",
                }],
            });
        if self.eyes.len() == 1 {
            let fellow = eye.other();
            (step.from[fellow], step.to[fellow]) = (None, None);
        }
        step.eye = Some(eye);
        step
    }

    fn start_again(&mut self, stage: Stage, effects: &mut Effects<'_>) {
        if self.starts_again == MOST_STARTS_AGAIN {
            effects.remarks.push(Remark::Ended(ProcedureName::Retinoscopy));
            self.next_eye(effects);
        } else {
            self.starts_again += 1;
            self.stage = stage;
        }
    }

    fn next_eye(&mut self, effects: &mut Effects<'_>) {
        if let Some(eye) = self.eye() {
            let found = effects.base[eye];
            effects.findings.retinoscopy[eye] = Some(found);
            effects.accept(Accepted::Retinoscopy(eye, Some(found)));
        }
        self.at += 1;
        self.meridian = Axis::HORIZONTAL;
        self.starts_again = 0;
        self.stage = if self.at < self.eyes.len() { Stage::Look { first: None } } else { Stage::TakeOff };
    }

    /// How much more plus a meridian is than another, from how its reflex moves at the same lens.
    fn plusness(movement: Movement) -> i8 {
        match movement {
            Movement::With { dull: true } => 2,
            Movement::With { dull: false } => 1,
            Movement::Neither => 0,
            Movement::Against { dull: false } => -1,
            Movement::Against { dull: true } => -2,
        }
    }

    fn movement(&mut self, movement: Movement, eye: Eye, shown: &Shown, effects: &mut Effects<'_>) {
        let gross = shown.to[eye];
        let at = gross.along(f64::from(self.swept().degrees()));
        match self.stage {
            Stage::Look { first: None } => self.stage = Stage::Look { first: Some(movement) },
            Stage::Look { first: Some(first) } => {
                let (mut here, mut there) = (movement, first);
                if Self::plusness(first) >= Self::plusness(movement) {
                    (here, there) = (first, movement);
                } else {
                    self.meridian = self.meridian.perpendicular();
                }
                let across_at = gross.along(f64::from(self.meridian.perpendicular().degrees()));
                let here_at = gross.along(f64::from(self.meridian.degrees()));
                let across = Some((across_at, there));
                self.sphere((MeridianSearch::default(), across), here_at, here, gross, eye, effects);
            }
            Stage::Sphere { search, across, .. } => self.sphere((search, across), at, movement, gross, eye, effects),
            Stage::Across { sphere_d, search, .. } => {
                self.keep(gross, eye, effects);
                self.across(sphere_d, search, at, movement, eye, effects);
            }
            Stage::WorkingLens | Stage::Oblique | Stage::TakeOff | Stage::Earlier(_) | Stage::Ended => {}
        }
    }

    /// Goes on with spheres in the most plus meridian.
    fn sphere(
        &mut self,
        (mut search, across): (MeridianSearch, Option<(f64, Movement)>),
        at: f64,
        movement: Movement,
        gross: Power,
        eye: Eye,
        effects: &mut Effects<'_>,
    ) {
        match search.seen(at, movement) {
            Next::Show(show_d) => {
                self.keep(gross, eye, effects);
                self.stage = Stage::Sphere { search, show_d, across };
            }
            Next::Neutralised(found) => {
                let gross = gross + Power::sphere(Dioptres(found.0 - at));
                self.keep(gross, eye, effects);
                let across_d = gross.along(f64::from(self.meridian.perpendicular().degrees()));
                let show_d = across_d.clamp(found.0 - MOST_CYLINDER_D, found.0);
                let mut search = MeridianSearch::default();
                match across {
                    // What was seen across with this very power is not asked again.
                    Some((seen_at, movement)) if (seen_at - show_d).abs() < SAME_PLACE_D => {
                        self.across(found.0, search, seen_at, movement, eye, effects);
                    }
                    seen => {
                        if let Some((seen_at, movement)) = seen {
                            search.seen(seen_at, movement);
                        }
                        self.stage = Stage::Across { sphere_d: found.0, search, show_d };
                    }
                }
            }
        }
    }

    /// Goes on with minus cylinder across the most plus meridian.
    fn across(
        &mut self,
        sphere_d: f64,
        mut search: MeridianSearch,
        at: f64,
        movement: Movement,
        eye: Eye,
        effects: &mut Effects<'_>,
    ) {
        match search.seen(at, movement) {
            // More plus than the sphere: this meridian was the most plus one after all.
            Next::Show(show_d) if show_d > sphere_d + SAME_PLACE_D => {
                let across = Some((sphere_d, Movement::Neither));
                self.meridian = self.meridian.perpendicular();
                self.start_again(Stage::Sphere { search, show_d, across }, effects);
            }
            Next::Show(show_d) if sphere_d - show_d <= MOST_CYLINDER_D => {
                self.stage = Stage::Across { sphere_d, search, show_d };
            }
            Next::Show(_) => {
                effects.remarks.push(Remark::Ended(ProcedureName::Retinoscopy));
                self.next_eye(effects);
            }
            Next::Neutralised(across_d) => {
                let across_d = across_d.0.clamp(sphere_d - MOST_CYLINDER_D, sphere_d);
                self.keep(from_principal_powers(self.meridian, sphere_d, across_d), eye, effects);
                self.next_eye(effects);
            }
        }
    }

    /// Keeps what stands there, net of the working lens.
    fn keep(&self, gross: Power, eye: Eye, effects: &mut Effects<'_>) {
        effects.base[eye] = gross + Power::sphere(Dioptres(-self.working_d));
    }
}

impl Procedure for Retinoscopy {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        match self.stage {
            Stage::WorkingLens => Some(
                Step::plain(Question::WorkingLens)
                    .instruction(sentence!["The working lens is ", Part::Sphere(self.working_d), ". Where does it go?"])
                    .why("at the working distance, reversal comes 1/distance too plus"),
            ),
            Stage::Oblique => {
                let mut step = Step::plain(Question::ObliqueMeridian)
                    .instruction("Turn the streak until the movement lies straight. Along which meridian do you sweep?")
                    .why("movement that breaks away from the streak means oblique principal meridians");
                step.eye = self.eye();
                Some(step)
            }
            Stage::Look { .. } | Stage::Sphere { .. } | Stage::Across { .. } => Some(self.sweep(self.eye()?, base)),
            Stage::TakeOff => {
                let mut step = Step::both(*base, Question::Ready)
                    .with_show(Show::BuildIn)
                    .instruction(if self.in_frame {
                        sentence!["Take the working lens ", Part::Sphere(self.working_d), " out of both sides."]
                    } else {
                        sentence!["Take the working distance ", Part::Sphere(self.working_d), " off what stands there."]
                    })
                    .why("the result is what stands in the cells, less the working lens");
                if let [only] = self.eyes[..] {
                    let fellow = only.other();
                    (step.from[fellow], step.to[fellow]) = (None, None);
                    step.eye = Some(only);
                }
                Some(step)
            }
            Stage::Earlier(earlier) => {
                let EarlierRetinoscopy { eyes, differs, spread } = earlier;
                Some(
                    Step::both(*base, Question::YesOrNo)
                        .instruction(sentence![
                            "In ",
                            Part::Figure(eyes as f64),
                            " earlier eyes your retinoscopy differed by ",
                            differs,
                            " from what was then found (spread ",
                            Part::Dioptres(spread.blur_strength()),
                            "). Take that off the start?"
                        ])
                        .why("a steady difference is the examiner's, not the eye's; the record keeps what was seen"),
                )
            }
            Stage::Ended => None,
        }
    }

    fn answer(&mut self, answer: Answer, shown: &Shown, effects: &mut Effects<'_>) {
        match self.stage {
            Stage::WorkingLens => {
                self.in_frame = answer == Answer::First;
                if !self.in_frame {
                    // Kept in the head: nothing is added to what stands there, so as yet it is too plus by that much.
                    for &eye in &self.eyes {
                        effects.base[eye] += Power::sphere(Dioptres(-self.working_d));
                    }
                }
                self.stage = Stage::Look { first: None };
            }
            Stage::Oblique => {
                if let Some(degrees) = answer.degrees() {
                    self.meridian = Axis::folded(i32::from(degrees));
                }
                self.stage = Stage::Look { first: None };
            }
            Stage::TakeOff => self.stage = self.after_take_off(),
            Stage::Earlier(earlier) => {
                if answer == Answer::Yes {
                    self.take_difference_off(earlier, effects);
                }
                self.stage = Stage::Ended;
            }
            Stage::Ended => {}
            Stage::Look { .. } | Stage::Sphere { .. } | Stage::Across { .. } => {
                let Some(eye) = self.eye() else { return };
                if answer == Answer::Breaks {
                    self.keep(shown.to[eye], eye, effects);
                    self.start_again(Stage::Oblique, effects);
                } else {
                    self.movement(answer.movement().unwrap_or(Movement::Neither), eye, shown, effects);
                }
            }
        }
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        match self.stage {
            Stage::WorkingLens => {
                for &eye in &self.eyes {
                    effects.base[eye] += Power::sphere(Dioptres(-self.working_d));
                }
                self.stage = Stage::Look { first: None };
            }
            Stage::Oblique => self.stage = Stage::Look { first: None },
            Stage::Look { .. } | Stage::Sphere { .. } | Stage::Across { .. } => self.next_eye(effects),
            Stage::TakeOff => self.stage = self.after_take_off(),
            Stage::Earlier(_) | Stage::Ended => self.stage = Stage::Ended,
        }
    }

    fn is_subjective(&self) -> bool {
        false
    }

    fn standing_remark(&self) -> Option<Remark> {
        let (power, in_frame) = (self.working_d, self.in_frame);
        let working = !matches!(self.stage, Stage::WorkingLens | Stage::Earlier(_) | Stage::Ended);
        working.then_some(Remark::WorkingLens { power, in_frame })
    }

    fn most_presentations(&self) -> usize {
        1 + self.eyes.len() * MOST_OF_ONE_EYE + 2
    }
}
