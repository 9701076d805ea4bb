//! Section 8, retinoscopy: most plus meridian first with spheres, the other with minus cylinder, the working lens taken off.
//!
//! What is found so far is always kept net of the working distance, whatever stands in the frame for it: so it can be neither
//! forgotten nor taken off twice. The working lens is one that the box has; it stands in a cell of its own, and what it differs
//! from 1/distance is computed.

use super::meridian_search::{MeridianSearch, Next};
use super::slit::from_principal_powers;
use crate::exam::sentence::sentence;
use crate::exam::{
    Accepted, Answer, Detail, EarlierExams, EarlierRetinoscopy, Event, Given, Movement, Part, ProcedureName, Sentence,
    Shown,
};
use crate::guide::findings::{Findings, SAME_PLACE_D};
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step, Target};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::kit::LooseSpheres;
use crate::optics::{Axis, Dioptres, Eye, Eyes, Power};

/// The working distance when none was said: two thirds of a metre, for which the working lens is +1.50.
pub const USUAL_WORKING_M: f64 = 2.0 / 3.0;

/// The strongest minus cylinder that is asked for.
const MOST_CYLINDER_D: f64 = 6.00;

/// The meridian across is looked at with this much more plus than the other one by spheres alone; beyond it is the most plus one.
const MORE_ACROSS_D: f64 = 0.5;

/// The step in dioptres in which lenses change.
const STEP_D: f64 = 0.25;

/// A lens that differs by more from 1/distance is no working lens: it is kept in the head instead, in dioptres.
const MOST_REST_D: f64 = 0.75;

/// A rest up to half of the smallest step leaves the lenses under the working lens as a start for what follows, in dioptres.
const SMALL_REST_D: f64 = STEP_D / 2.0 + 1e-9;

/// How often in one eye the meridians may be taken again: oblique, or the other one found more plus.
const MOST_STARTS_AGAIN: u8 = 3;

/// The most presentations of one eye: for each start the question for the meridians, two looks, two searches; a search takes 21 steps
/// from end to end at most, five between its bounds and eight around reversal.
const MOST_OF_ONE_EYE: usize = (MOST_STARTS_AGAIN as usize + 1) * (1 + 2 + 2 * 34);

/// What the working distance adds: 1/d.
pub fn working_lens(metres: f64) -> Dioptres {
    Dioptres(1.0 / metres)
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    Distance,
    /// The working lens is put in; `None` where the box has none near enough, so that it is kept in the head.
    WorkingLens {
        lens_d: Option<f64>,
    },
    /// The two meridians are compared with what stands there.
    Look {
        first: Option<Movement>,
    },
    /// The streak is turned until the movement lies straight: before anything else, and where it broke away from the streak.
    Meridians,
    /// Spheres bring the most plus meridian to reversal.
    Sphere {
        search: MeridianSearch,
        show_d: f64,
        /// At which power the meridian across was looked at, and how it moved.
        across: Option<(f64, Movement)>,
    },
    /// Minus cylinder brings the meridian across to reversal.
    Across {
        /// Where the most plus meridian reverses.
        found_d: f64,
        /// The sphere that stands there, on the lenses' own steps.
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
    /// What the working distance adds: 1/d.
    working_d: f64,
    /// The working lens that stands in the frame; `None` while it is kept in the head.
    lens_d: Option<f64>,
    /// The spheres of which as many are loose as there are eyes.
    loose_d: Vec<f64>,
    /// What was found for each eye, with the working distance in it.
    gross: Eyes<Option<Power>>,
    /// Whether the distance was corrected since something was put on the record.
    is_corrected: bool,
    /// The meridian that is worked on as the most plus one.
    meridian: Axis,
    starts_again: u8,
    earlier: Option<EarlierRetinoscopy>,
    earlier_exams: Option<EarlierExams>,
}

impl Retinoscopy {
    pub fn begin(target: Target, given: &Given, _findings: &Findings) -> Self {
        let eyes = match target {
            Target::Eye(eye) => vec![eye],
            Target::Both => Eye::BOTH.to_vec(),
        };
        let enough = |loose: &&LooseSpheres| usize::from(loose.pieces) >= eyes.len() && loose.marked.0 > 0.0;
        let mut retinoscopy = Self {
            loose_d: given.loose_spheres.iter().filter(enough).map(|loose| loose.marked.0).collect(),
            eyes,
            at: 0,
            stage: Stage::Distance,
            working_d: working_lens(USUAL_WORKING_M).0,
            lens_d: None,
            gross: Eyes::both(None),
            is_corrected: false,
            meridian: Axis::HORIZONTAL,
            starts_again: 0,
            earlier: given.earlier_retinoscopy,
            earlier_exams: given.earlier_exams,
        };
        if let Some(metres) = given.working_metres {
            retinoscopy.working_d = working_lens(metres).0;
            retinoscopy.stage = retinoscopy.after_distance();
        }
        retinoscopy
    }

    /// The working lens is the nearest that the box has to spare.
    fn after_distance(&self) -> Stage {
        let off = |lens_d: &f64| (lens_d - self.working_d).abs();
        let nearest = self.loose_d.iter().copied().min_by(|a, b| off(a).total_cmp(&off(b)));
        Stage::WorkingLens { lens_d: nearest.filter(|lens_d| off(lens_d) <= MOST_REST_D) }
    }

    /// Which lens the working distance is, in words.
    fn working_lens_in_words(&self, lens_d: Option<f64>) -> Sentence {
        let distance = sentence![
            "At ",
            Part::Figure((100.0 / self.working_d).round()),
            " cm reversal comes ",
            Part::Dioptres(self.working_d),
            " too plus: "
        ];
        let Some(lens_d) = lens_d else {
            return distance.then(&"no lens to spare is near it, so it is taken off at the end.".into());
        };
        let distance = distance.then(&sentence!["the working lens is ", Part::Sphere(lens_d)]);
        let rest = self.working_d - lens_d;
        if rest.abs() < 0.005 {
            distance.then(&". Where does it go?".into())
        } else {
            distance.then(&sentence![" and the rest, ", Part::Sphere(rest), ", is computed. Where does it go?"])
        }
    }

    /// What stands there is too plus by the working distance less the lens that was put in for it.
    fn begin_looking(&mut self, lens_d: Option<f64>, effects: &mut Effects<'_>) {
        self.lens_d = lens_d;
        for &eye in &self.eyes {
            effects.base[eye] += Power::sphere(Dioptres(lens_d.unwrap_or(0.0) - self.working_d));
        }
        self.stage = Stage::Meridians;
    }

    /// What comes off what stands there: the very working lens where it is near enough to 1/distance, else whole quarters.
    fn comes_off(&self) -> Power {
        let whole = (self.working_d / STEP_D).round() * STEP_D;
        let lens_d = self.lens_d.filter(|lens_d| (lens_d - self.working_d).abs() <= SMALL_REST_D);
        Power::sphere(Dioptres(lens_d.unwrap_or(whole)))
    }

    fn has_come_off(&mut self, effects: &mut Effects<'_>) {
        for &eye in &self.eyes {
            if self.is_corrected && self.gross[eye].is_some() {
                self.accept(eye, effects);
            }
            effects.base[eye] = self.gross(effects.base[eye]) - self.comes_off();
        }
        self.stage = self.after_take_off();
    }

    fn after_take_off(&self) -> Stage {
        self.earlier.map_or(Stage::Ended, Stage::Earlier)
    }

    /// Takes the steady difference off what the search begins from; what retinoscopy gave stays on the record as it was.
    fn take_difference_off(&self, earlier: EarlierRetinoscopy, effects: &mut Effects<'_>) {
        for eye in self.eyes.iter().copied() {
            if let Some(found) = &mut effects.findings.retinoscopy[eye] {
                *found = *found - earlier.differs;
                effects.findings.steady_difference_taken_off[eye] = true;
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
            Stage::Across { show_d, sphere_d, .. } if show_d > sphere_d => Power::sphere(Dioptres(show_d)),
            Stage::Across { sphere_d, show_d, .. } => from_principal_powers(self.meridian, sphere_d, show_d),
            _ => gross,
        }
    }

    fn sweep(&self, eye: Eye, base: &Eyes<Power>, question: Question) -> Step {
        let mut cells = base.map(|net| self.gross(net));
        cells[eye] = self.wanted(cells[eye]);
        let meridian = self.swept();
        let mut step = Step::both(cells, question)
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
                Stage::Look { .. } => "who looks at your face accommodates and comes out too minus".into(),
                Stage::Sphere { .. } => "with: more plus; against: less; reversal is the middle between the two".into(),
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
        step.over = Eyes::both(self.lens_d.map(Dioptres));
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
            self.gross[eye] = self.gross[eye].or(Some(self.gross(effects.base[eye])));
            self.accept(eye, effects);
        }
        self.at += 1;
        self.meridian = Axis::HORIZONTAL;
        self.starts_again = 0;
        self.stage = if self.at < self.eyes.len() { Stage::Meridians } else { Stage::TakeOff };
    }

    /// Puts on the record what was found for an eye, less the working distance.
    fn accept(&self, eye: Eye, effects: &mut Effects<'_>) {
        let found = self.gross[eye].map(|gross| gross - Power::sphere(Dioptres(self.working_d)));
        effects.findings.retinoscopy[eye] = found;
        effects.accept(Accepted::Retinoscopy(eye, found));
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
            Stage::Across { found_d, sphere_d, search, .. } => {
                self.keep(gross, eye, effects);
                self.across((found_d, sphere_d), search, at, movement, eye, effects);
            }
            Stage::Distance
            | Stage::WorkingLens { .. }
            | Stage::Meridians
            | Stage::TakeOff
            | Stage::Earlier(_)
            | Stage::Ended => {}
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
                let gross = gross + Power::sphere(Dioptres(in_steps(found.0, at) - at));
                self.keep(gross, eye, effects);
                let powers = (found.0, in_steps(found.0, at));
                let across_d = gross.along(f64::from(self.meridian.perpendicular().degrees()));
                let show_d = across_d.clamp(powers.1 - MOST_CYLINDER_D, powers.1);
                let mut search = MeridianSearch::default();
                match across {
                    // What was seen across with this very power is not asked again.
                    Some((seen_at, movement)) if (seen_at - show_d).abs() < SAME_PLACE_D => {
                        self.across(powers, search, seen_at, movement, eye, effects);
                    }
                    seen => {
                        if let Some((seen_at, movement)) = seen {
                            search.seen(seen_at, movement);
                        }
                        let (found_d, sphere_d) = powers;
                        self.stage = Stage::Across { found_d, sphere_d, search, show_d };
                    }
                }
            }
        }
    }

    /// Goes on with minus cylinder across the most plus meridian.
    fn across(
        &mut self,
        (found_d, sphere_d): (f64, f64),
        mut search: MeridianSearch,
        at: f64,
        movement: Movement,
        eye: Eye,
        effects: &mut Effects<'_>,
    ) {
        match search.seen(at, movement) {
            // More plus than the sphere: this meridian was the most plus one after all.
            Next::Show(show_d) if show_d > sphere_d + MORE_ACROSS_D + SAME_PLACE_D => {
                let across = Some((sphere_d, Movement::Neither));
                self.meridian = self.meridian.perpendicular();
                self.start_again(Stage::Sphere { search, show_d, across }, effects);
            }
            Next::Show(show_d) if sphere_d - show_d <= MOST_CYLINDER_D => {
                self.stage = Stage::Across { found_d, sphere_d, search, show_d };
            }
            Next::Show(_) => {
                effects.remarks.push(Remark::Ended(ProcedureName::Retinoscopy));
                self.next_eye(effects);
            }
            Next::Neutralised(across_d) => {
                let across_d = across_d.0.clamp(sphere_d - MOST_CYLINDER_D, sphere_d + MORE_ACROSS_D);
                self.keep(from_principal_powers(self.meridian, sphere_d, in_steps(across_d, at)), eye, effects);
                self.gross[eye] = Some(from_principal_powers(self.meridian, found_d, across_d));
                self.next_eye(effects);
            }
        }
    }

    /// Keeps what stands there, net of the working lens.
    fn keep(&self, gross: Power, eye: Eye, effects: &mut Effects<'_>) {
        effects.base[eye] = gross + Power::sphere(Dioptres(-self.working_d));
    }
}

/// The power nearest to one that can be made in steps from what stood there.
fn in_steps(found_d: f64, at_d: f64) -> f64 {
    at_d + ((found_d - at_d) / STEP_D).round() * STEP_D
}

impl Procedure for Retinoscopy {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        match self.stage {
            Stage::Distance => Some(
                Step::plain(Question::WorkingDistance)
                    .instruction("How far is the retinoscope from the eye? The working lens is 1/distance.")
                    .why("nearer than said comes out too plus, farther too minus: 5 cm at 67 cm is 0.12 D"),
            ),
            Stage::WorkingLens { lens_d } => {
                let question = if lens_d.is_some() { Question::WorkingLens } else { Question::Ready };
                Some(
                    Step::plain(question).instruction(self.working_lens_in_words(lens_d)).why(
                        "reversal comes 1/distance too plus; nearer than said comes out too plus, farther too minus",
                    ),
                )
            }
            Stage::Meridians => {
                let step = self
                    .sweep(self.eye()?, base, Question::ObliqueMeridian)
                    .instruction("Turn the streak all round until the band lies in line with it. Along which meridian do you sweep?")
                    .why("where the band breaks away from the streak, the principal meridians lie elsewhere");
                Some(step)
            }
            Stage::Look { .. } | Stage::Sphere { .. } | Stage::Across { .. } => {
                Some(self.sweep(self.eye()?, base, Question::Reflex))
            }
            Stage::TakeOff => {
                let gross = base.map(|net| self.gross(net));
                let mut step = Step::both(gross, Question::Ready)
                    .with_show(Show::BuildIn)
                    .instruction(match self.lens_d {
                        Some(lens_d) => sentence![
                            "Take the working lens ",
                            Part::Sphere(lens_d),
                            if self.eyes.len() == 1 { " out." } else { " out of both sides." }
                        ],
                        None => {
                            sentence![
                                "Take the working distance ",
                                Part::Sphere(self.working_d),
                                " off what stands there, in whole quarters."
                            ]
                        }
                    })
                    .why("the result is what stands in the cells, less 1/distance");
                step.to = gross.map(|gross| Some(gross - self.comes_off()));
                step.over = Eyes::both(self.lens_d.map(Dioptres));
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
            Stage::Distance => {
                if let Some(metres) = answer.metres() {
                    self.working_d = working_lens(metres).0;
                    effects.records.push(Event::Detail(Detail::WorkingMetres(metres)));
                }
                self.stage = self.after_distance();
            }
            Stage::WorkingLens { lens_d } => {
                self.begin_looking(lens_d.filter(|_| answer == Answer::First), effects);
            }
            Stage::Meridians => {
                if let Some(degrees) = answer.degrees() {
                    self.meridian = Axis::folded(i32::from(degrees));
                }
                self.stage = Stage::Look { first: None };
            }
            Stage::TakeOff => self.has_come_off(effects),
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
                    self.start_again(Stage::Meridians, effects);
                } else {
                    self.movement(answer.movement().unwrap_or(Movement::Neither), eye, shown, effects);
                }
            }
        }
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        match self.stage {
            Stage::Distance => self.stage = self.after_distance(),
            Stage::WorkingLens { .. } => self.begin_looking(None, effects),
            Stage::Meridians => self.stage = Stage::Look { first: None },
            Stage::Look { .. } | Stage::Sphere { .. } | Stage::Across { .. } => self.next_eye(effects),
            Stage::TakeOff => self.has_come_off(effects),
            Stage::Earlier(_) | Stage::Ended => self.stage = Stage::Ended,
        }
    }

    fn is_subjective(&self) -> bool {
        false
    }

    fn standing_remark(&self) -> Option<Remark> {
        match self.stage {
            Stage::Distance | Stage::WorkingLens { .. } => self.earlier_exams.map(Remark::EarlierExams),
            Stage::Earlier(_) | Stage::Ended => None,
            Stage::Look { .. } | Stage::Meridians | Stage::Sphere { .. } | Stage::Across { .. } | Stage::TakeOff => {
                Some(Remark::WorkingLens { power: self.working_d, in_frame: self.lens_d })
            }
        }
    }

    fn corrected(&mut self, given: &Given, base: &mut Eyes<Power>) {
        let working_d = working_lens(given.working_metres.unwrap_or(USUAL_WORKING_M)).0;
        let change = Power::sphere(Dioptres(working_d - self.working_d));
        self.working_d = working_d;
        self.is_corrected = true;
        match self.stage {
            Stage::Distance | Stage::WorkingLens { .. } => self.stage = self.after_distance(),
            // what stands there stays: less is left of it without the working distance
            Stage::Look { .. } | Stage::Meridians | Stage::Sphere { .. } | Stage::Across { .. } | Stage::TakeOff => {
                for &eye in &self.eyes {
                    base[eye] = base[eye] - change;
                }
            }
            Stage::Earlier(_) | Stage::Ended => {}
        }
    }

    fn most_presentations(&self) -> usize {
        2 + self.eyes.len() * MOST_OF_ONE_EYE + 2
    }
}
