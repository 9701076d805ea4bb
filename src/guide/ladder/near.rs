//! Section 7, the addition: what the near distance needs less half of what the eye can still do, tried ±0.25.
//!
//! The addition stands in a cell of its own over what was found for far away, so that no other lens moves for it. A lens changed
//! by hand before one eye makes the additions differ. An addition below +0.75 is not offered: before it, the glasses for far away
//! are read with. Begun once more where there is an addition it asks for which distance: one between, as of a screen, is tried in
//! the same way and stands on the record beside the near one.

use crate::exam::sentence::sentence;
use crate::exam::{Answer, Detail, Event, Given, NearTask, Part, Shown};
use crate::guide::findings::Findings;
use crate::guide::presentation::Show;
use crate::guide::procedure::{Effects, Procedure, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::near_print::decimal;
use crate::optics::{Dioptres, Eyes, Power};

/// The near distance when none was said, in metres.
pub const USUAL_NEAR_M: f64 = 0.40;

/// The step in dioptres.
const STEP_D: f64 = 0.25;

/// The most quarters that the tried addition moves either way.
const MOST_QUARTERS: u8 = 8;

/// A weaker addition is not offered: it changes too little for what it costs (common practice, no source).
pub const LEAST_ADDITION_D: f64 = 0.75;

/// Print that is read without an addition when none is wanted, in points: small print of a newspaper (common practice, no source).
const READS_WITHOUT_N: f64 = 6.0;

/// So much farther than the near distance is a distance between, in metres.
const BETWEEN_FROM_M: f64 = 0.10;

/// The most presentations: for which distance, print without an addition, the quarters up or down, the refusals, print with it, and the two ends of the
/// range.
const MOST_PRESENTATIONS: usize = 1 + 1 + MOST_QUARTERS as usize + 2 + 1 + 2;

/// Donders' amplitudes of accommodation: age in years, dioptres (as teaching flash cards give them).
const DONDERS: [(f64, f64); 6] = [(20.0, 10.0), (30.0, 7.0), (40.0, 4.5), (50.0, 2.5), (60.0, 1.0), (70.0, 0.25)];

/// The share of the amplitude that is used in lasting near work: 305 presbyopes used 50.7 % (*Ophthalmic Physiol Opt*
/// 1989;9:126-132).
const SHARE_OF_AMPLITUDE: f64 = 0.5;

/// The mean amplitude of accommodation in dioptres: Donders' table, straight lines between its ages, flat beyond its ends.
pub fn mean_amplitude_d(age_years: u8) -> f64 {
    let age = f64::from(age_years);
    let above = DONDERS.iter().position(|&(at, _)| age < at);
    match above {
        Some(0) => DONDERS[0].1,
        Some(next) => {
            let ((from, more), (to, less)) = (DONDERS[next - 1], DONDERS[next]);
            more + (less - more) * (age - from) / (to - from)
        }
        None => DONDERS[DONDERS.len() - 1].1,
    }
}

/// The tentative addition: 1/distance less half the amplitude, to the nearest quarter, between nothing and 1/distance.
///
/// Two thirds of Hofstetter's mean amplitude below 52 years, another rule in use, comes out about a dioptre below the
/// additions that are given at 45 to 55 years (Millodot, *Dictionary of Optometry*, 7th ed.); this rule stays within a
/// quarter of them.
pub fn tentative_addition_d(age_years: u8, near_metres: f64) -> f64 {
    let needed = 1.0 / near_metres;
    let addition = (needed - SHARE_OF_AMPLITUDE * mean_amplitude_d(age_years)).clamp(0.0, needed);
    ((addition / STEP_D).round() * STEP_D).min(most_addition_d(near_metres))
}

/// Never more than 1/distance, in whole quarters.
fn most_addition_d(near_metres: f64) -> f64 {
    (1.0 / near_metres / STEP_D + 1e-9).floor() * STEP_D
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    /// For which distance, where there is an addition.
    ForWhich,
    /// What is read without an addition, where hardly any is expected.
    Without,
    More,
    Less,
    /// What is read with it.
    Print,
    Nearest,
    Farthest,
    Ended,
}

/// The search for the addition of both eyes.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Near {
    stage: Stage,
    /// Of each eye; they differ where a lens was changed by hand before one.
    additions: Eyes<f64>,
    most: f64,
    quarters: u8,
    metres: f64,
    age_years: Option<u8>,
    points: Option<f64>,
    /// Whether it is for a distance between near and far.
    between: bool,
}

impl Near {
    pub fn begin(given: &Given, findings: &Findings) -> Self {
        let begun = Self::at(given.near_metres.unwrap_or(USUAL_NEAR_M), given.age_years);
        if findings.addition.is_some() { Self { stage: Stage::ForWhich, ..begun } } else { begun }
    }

    /// From the beginning for a distance.
    fn at(metres: f64, age_years: Option<u8>) -> Self {
        let expected = Self::expected(age_years, metres);
        let stage = if expected < LEAST_ADDITION_D - 1e-9 { Stage::Without } else { Stage::More };
        Self {
            stage,
            additions: Eyes::both(expected.max(LEAST_ADDITION_D)),
            most: most_addition_d(metres).max(LEAST_ADDITION_D),
            quarters: 0,
            metres,
            age_years,
            points: None,
            between: false,
        }
        .settled()
    }

    /// What age and distance speak for; without an age half of what the distance needs is as good a start as any.
    fn expected(age_years: Option<u8>, metres: f64) -> f64 {
        let half = (most_addition_d(metres) / 2.0 / STEP_D).round() * STEP_D;
        age_years.map_or(half, |age| tentative_addition_d(age, metres))
    }

    /// Passes stages in which nothing can be shown: more than the most, less than the least that is offered.
    fn settled(mut self) -> Self {
        let beyond = |addition: f64| addition > self.most + 1e-9 || addition < LEAST_ADDITION_D - 1e-9;
        let any = |change: f64| self.additions.into_iter().any(|addition| beyond(addition + change));
        if self.stage == Stage::More && any(STEP_D) {
            self.stage = Stage::Less;
        }
        if self.stage == Stage::Less && any(-STEP_D) {
            self.stage = Stage::Print;
        }
        self
    }

    fn with(base: &Eyes<Power>, additions: Eyes<f64>) -> Eyes<Power> {
        Eyes::from_fn(|eye| base[eye] + Power::sphere(Dioptres(additions[eye])))
    }

    /// What is looked at with the additions in the frame.
    fn look(&self, base: &Eyes<Power>, question: Question) -> Step {
        let mut step = Step::both(Self::with(base, self.additions), question).with_show(Show::BuildIn);
        step.over = self.additions.map(|addition| Some(Dioptres(addition)));
        step
    }

    fn try_change(&self, base: &Eyes<Power>, change: f64) -> Step {
        let mut step = self
            .look(base, Question::ClearerWith { before: None })
            .with_show(Show::Compare)
            .say("Is this small print clearer with this, the same, or worse?")
            .instruction(sentence![
                "Print at ",
                Part::Figure((self.metres * 100.0).round()),
                " cm, addition ",
                Part::Sphere(self.additions.right),
                " in the frame: hold ",
                Part::Sphere(change),
                " in front of both eyes."
            ]);
        step.to = Self::with(base, self.additions.map(|addition| addition + change)).map(Some);
        step
    }

    /// The additions as they are kept: one for both eyes where they are alike.
    fn keep(&self, effects: &mut Effects<'_>) {
        // what is found for a distance between stands on the record, and the near addition stays
        if self.between || self.stage == Stage::ForWhich {
            return;
        }
        let Eyes { right, left } = self.additions;
        effects.findings.addition = Some(right);
        effects.findings.addition_of_left = (right != left).then_some(left);
    }

    /// How far the print stays clear is asked of the near addition.
    fn after_print(&self, effects: &mut Effects<'_>) -> Stage {
        if !self.between {
            return Stage::Nearest;
        }
        self.note(None, effects);
        Stage::Ended
    }

    /// Puts on the record how near was read.
    fn note(&self, farthest_cm: Option<f64>, effects: &mut Effects<'_>) {
        let mut words = sentence![
            if self.between { "Between near and far, at " } else { "Near, at " },
            Part::Figure((self.metres * 100.0).round()),
            " cm with ",
            Part::Sphere(self.additions.right)
        ];
        if self.additions.left != self.additions.right {
            words = words.then(&sentence![
                " in front of the right and ",
                Part::Sphere(self.additions.left),
                " in front of the left eye"
            ]);
        }
        if let Some(points) = self.points {
            let decimal = (decimal(points, self.metres) * 100.0).round() / 100.0;
            words = words.then(&sentence![": ", Part::Print(points), ", decimal ", Part::Figure(decimal)]);
        }
        if self.between {
            words = words.then(&" of addition".into());
        }
        if let (Some(nearest), Some(farthest)) = (effects.findings.near_range.nearest_cm, farthest_cm) {
            let range = sentence!["; clear from ", Part::Figure(nearest), " to ", Part::Figure(farthest), " cm"];
            words = words.then(&range);
        }
        effects.records.push(Event::Note(words.then(&".".into()).to_string()));
    }

    fn has_range(&mut self, farthest_cm: f64, effects: &mut Effects<'_>) {
        let work_cm = self.metres * 100.0;
        let nearest = effects.findings.near_range.nearest_cm;
        if nearest.is_some_and(|nearest| nearest > farthest_cm) {
            effects.remarks.push(Remark::Plain("The near end of the clear range lies beyond its far end: ask again."));
        } else if farthest_cm < work_cm || nearest.is_some_and(|nearest| nearest > work_cm) {
            effects.remarks.push(Remark::Plain(
                "The clear range does not reach the distance of the work: try another addition, or ask for the distance again.",
            ));
        }
        self.note(Some(farthest_cm), effects);
        effects.remarks.push(Remark::Plain("For a distance between, as of a screen, take near once more."));
        self.stage = Stage::Ended;
    }

    /// For which distance it is sought now.
    fn is_for(&mut self, answer: Answer, effects: &mut Effects<'_>) {
        let typed = answer.centimetres().map(|cm| cm / 100.0);
        let task = answer.task().or(typed.map(|_| NearTask::Other));
        let metres = typed.or_else(|| task.and_then(NearTask::usual_metres)).unwrap_or(self.metres);
        let between = metres > self.metres + BETWEEN_FROM_M - 1e-9;
        *self = Self { between, ..Self::at(metres, self.age_years) };
        if !between {
            effects.records.extend(task.map(|task| Event::Detail(Detail::NearTask(task))));
            effects.records.push(Event::Detail(Detail::NearMetres(metres)));
        }
    }
}

impl Procedure for Near {
    fn step(&self, base: &Eyes<Power>) -> Option<Step> {
        Some(match self.stage {
            Stage::ForWhich => Step::both(*base, Question::NearTask)
                .say("And what do you do a little farther away, as at a screen?")
                .instruction("There is an addition. For which distance is one tried now? Another distance is typed.")
                .why("an addition for a distance between stands on the record beside the near one"),
            Stage::Without => Step::both(*base, Question::PrintRead)
                .say("Which is the smallest print you can read?")
                .instruction(sentence![
                    "Print at ",
                    Part::Figure((self.metres * 100.0).round()),
                    " cm, with what was found for far away."
                ])
                .why("at this age most read without an addition, and below +0.75 none is offered"),
            Stage::More => self
                .try_change(base, STEP_D)
                .why("the addition starts from the age and the distance; more is kept only if it is clearer"),
            Stage::Less => {
                self.try_change(base, -STEP_D).why("less is kept only if it is clearer: some reserve should stay")
            }
            Stage::Print => self
                .look(base, Question::PrintRead)
                .say("Which is the smallest print you can read?")
                .instruction(sentence![
                    "Print at ",
                    Part::Figure((self.metres * 100.0).round()),
                    " cm, both eyes open."
                ])
                .why("what is read near belongs on the record, with the distance"),
            Stage::Nearest => self
                .look(base, Question::NearestClear)
                .say("Bring the print closer until it blurs.")
                .instruction("At how many centimetres does it blur?")
                .why("the clear range should lie around the distance at which the person works"),
            Stage::Farthest => self
                .look(base, Question::FarthestClear)
                .say("Move the print away until it blurs.")
                .instruction("At how many centimetres does it blur?")
                .why("too much addition brings the far end too near"),
            Stage::Ended => return None,
        })
    }

    fn answer(&mut self, answer: Answer, _shown: &Shown, effects: &mut Effects<'_>) {
        let clearer = answer == Answer::Clearer;
        let change = if self.stage == Stage::Less { -STEP_D } else { STEP_D };
        match (self.stage, answer.centimetres()) {
            (Stage::ForWhich, _) => {
                self.is_for(answer, effects);
                return;
            }
            (Stage::Without, _) => {
                if answer.print_points().is_some_and(|points| points <= READS_WITHOUT_N) {
                    effects.remarks.push(Remark::Plain("Small print is read without an addition: none is offered."));
                    if !self.between {
                        effects.findings.addition = None;
                    }
                    self.stage = Stage::Ended;
                    return;
                }
                self.stage = Stage::More;
            }
            (Stage::More | Stage::Less, _) if clearer => {
                self.additions = self.additions.map(|addition| addition + change);
                self.quarters += 1;
                if self.quarters == MOST_QUARTERS {
                    self.stage = Stage::Print;
                }
            }
            (Stage::More, _) if self.quarters == 0 => self.stage = Stage::Less,
            (Stage::More | Stage::Less, _) => self.stage = Stage::Print,
            (Stage::Print, _) => {
                self.points = answer.print_points();
                self.stage = self.after_print(effects);
            }
            (Stage::Nearest, Some(cm)) => {
                effects.findings.near_range.nearest_cm = Some(cm);
                self.stage = Stage::Farthest;
            }
            (Stage::Farthest, Some(cm)) => {
                effects.findings.near_range.farthest_cm = Some(cm);
                self.has_range(cm, effects);
            }
            (Stage::Nearest | Stage::Farthest, None) | (Stage::Ended, _) => {}
        }
        *self = self.clone().settled();
        self.keep(effects);
        if self.age_years.is_none() {
            effects.remarks.push(Remark::Plain(
                "The age is not known: the addition started from half of what the distance needs.",
            ));
        }
    }

    fn skip(&mut self, effects: &mut Effects<'_>) {
        self.keep(effects);
        self.stage = match self.stage {
            Stage::ForWhich => Self::at(self.metres, self.age_years).stage,
            Stage::Without => Stage::More,
            Stage::More if self.quarters == 0 => Stage::Less,
            Stage::More | Stage::Less => Stage::Print,
            Stage::Print => self.after_print(effects),
            Stage::Nearest => Stage::Farthest,
            Stage::Farthest => {
                self.note(None, effects);
                Stage::Ended
            }
            Stage::Ended => Stage::Ended,
        };
        *self = self.clone().settled();
    }

    fn taken_over(&mut self, shift: &Eyes<Power>, _base: &mut Eyes<Power>) {
        // A lens changed by hand at near changes the addition of that eye, not what was found for far away.
        self.additions = Eyes::from_fn(|eye| {
            let changed = ((self.additions[eye] + shift[eye].m) / STEP_D).round() * STEP_D;
            changed.clamp(LEAST_ADDITION_D, self.most)
        });
        *self = self.clone().settled();
    }

    fn corrected(&mut self, given: &Given, _base: &mut Eyes<Power>) {
        let metres = if self.between { self.metres } else { given.near_metres.unwrap_or(USUAL_NEAR_M) };
        let age_was_known = self.age_years.is_some();
        if metres == self.metres && given.age_years.is_some() == age_was_known && self.quarters > 0 {
            return;
        }
        // what was tried was tried for another distance: it begins again from what is known now
        let again = Self { between: self.between, ..Self::at(metres, given.age_years) };
        let asks = self.stage == Stage::ForWhich;
        if !asks && (again.additions != self.additions || again.metres != self.metres) {
            *self = again;
        }
        self.age_years = given.age_years;
    }

    fn is_subjective(&self) -> bool {
        true
    }

    fn most_presentations(&self) -> usize {
        MOST_PRESENTATIONS
    }
}
