//! The search for a sphere in steps: add while it is clearer, then finer, each time first plus and then minus, inside the
//! bracket that everything judged so far leaves.

use super::told::{RUNGS_D, is_6_18_or_worse, is_last_line, last_rung_d};
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Judgement, Part, Shown};
use crate::guide::findings::{Findings, SAME_PLACE_D};
use crate::guide::presentation::{Bracket, Show};
use crate::guide::procedure::{Effects, Step};
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Power};

/// No sphere beyond this is offered: the strongest trial lenses are about 20 D.
pub(in crate::guide) const MOST_SPHERE_D: f64 = 20.0;

/// Within this part of a step of what was judged, the same would be judged again.
const SAME_PART: f64 = 0.4;

/// The most steps that one search accepts: twice what leads from no lens to the strongest one.
const MOST_ACCEPTED: usize = 20;

/// The most comparisons a search takes: what it accepts and a refusal of each, all asked twice, and at each rung a refusal on
/// either side.
pub(in crate::guide) const MOST_COMPARISONS: usize = 4 * MOST_ACCEPTED + 2 * RUNGS_D.len();

/// Below this age a further minus is kept only for another letter (common practice, no source).
pub const LETTERS_BELOW_YEARS: u8 = 45;

/// From this step on one *clearer* is not enough.
const TWICE_FROM_D: f64 = 2.00;

/// A search for a sphere before one eye.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct Ladder {
    eye: Eye,
    step: f64,
    finest: f64,
    heading: Option<bool>,
    low: f64,
    high: f64,
    passed: Vec<f64>,
    /// Below [`LETTERS_BELOW_YEARS`], or of an unknown age.
    young: bool,
    /// What was clearer once where it has to be so twice, in dioptres of sphere.
    clearer_once: Option<f64>,
    /// A letter counts when it is read once: what is found is shown both ways again.
    letters_once: bool,
    keeps_judged: bool,
    acuity: Option<Acuity>,
    accepted: usize,
}

impl Ladder {
    /// A search that begins with a step, in a direction if one is known.
    pub fn new(eye: Eye, step: f64, plus_first: Option<bool>, age_years: Option<u8>) -> Self {
        Self {
            eye,
            step,
            finest: RUNGS_D[3],
            heading: plus_first,
            low: f64::NEG_INFINITY,
            high: f64::INFINITY,
            passed: Vec::new(),
            young: age_years.is_none_or(|age| age < LETTERS_BELOW_YEARS),
            clearer_once: None,
            letters_once: false,
            keeps_judged: true,
            acuity: None,
            accepted: 0,
        }
    }

    /// The age is another one: what a further minus needs goes by it.
    pub fn corrected(&mut self, age_years: Option<u8>) {
        self.young = age_years.is_none_or(|age| age < LETTERS_BELOW_YEARS);
    }

    /// A search whose comparisons say nothing about the whole eye, as behind a slit.
    pub fn apart(mut self) -> Self {
        self.keeps_judged = false;
        self
    }

    /// Takes over the bracket from what was judged with the same cylinder, so that none of it is asked again.
    pub fn seeded(mut self, findings: &Findings, base: Power) -> Self {
        let (mut low, mut high) = (self.low, self.high);
        let same_cylinder = |power: Power| (power - base).astigmatism() < SAME_PLACE_D / 2.0;
        for judged in findings.judged[self.eye].iter().filter(|j| same_cylinder(j.from) && same_cylinder(j.to)) {
            match (judged.to.m > judged.from.m, judged.judgement) {
                (true, Judgement::Better) => low = low.max(judged.from.m),
                // the way back is shown too
                (true, Judgement::Same) => {}
                (true, Judgement::Worse) => high = high.min(judged.to.m),
                (false, Judgement::Better) => high = high.min(judged.from.m),
                (false, Judgement::Same | Judgement::Worse) => low = low.max(judged.to.m),
            }
        }
        if low < base.m && base.m < high {
            (self.low, self.high) = (low, high);
        }
        self
    }

    /// What was read with the present power: it says in which rung the search goes on and ends, and a line read then answers a
    /// comparison.
    pub fn has_read(&mut self, acuity: Acuity) {
        self.acuity = Some(acuity);
        self.finest = last_rung_d(acuity);
        self.step = self.finest;
    }

    /// A further letter counts when it is read once.
    pub fn takes_letters_once(&mut self) {
        self.letters_once = true;
    }

    /// Where the search goes on, and what more plus is not worth showing, by lines that were read.
    pub fn heads(&mut self, plus: Option<bool>) {
        self.heading = plus;
    }

    /// Nothing that was judged says anything any more.
    pub fn begins_again(&mut self) {
        (self.low, self.high) = (f64::NEG_INFINITY, f64::INFINITY);
        self.passed.clear();
        self.heading = None;
    }

    /// This sphere was found too plus by the line read with it.
    pub fn is_too_plus(&mut self, m: f64) {
        self.high = self.high.min(m);
    }

    /// Whether a further minus has to give another letter: below 45 years, but for who reads the last line, and for poor eyes.
    pub fn letters_for_minus(&self) -> bool {
        let exempt = |acuity: Acuity| is_last_line(acuity) || is_6_18_or_worse(acuity);
        self.young && !self.acuity.is_some_and(exempt)
    }

    /// Whether a step is kept only when it was clearer twice.
    fn asks_twice(&self, rung: f64, plus: bool) -> bool {
        let letter_is_enough = self.letters_once && self.letters_for_minus();
        rung >= TWICE_FROM_D - 1e-9 || !(plus || letter_is_enough)
    }

    /// The step and direction to try next from a sphere; `None` when nothing is left to try.
    pub fn next(&self, m: f64) -> Option<(f64, bool)> {
        if self.accepted == MOST_ACCEPTED {
            return None;
        }
        let (low, high) = self.bracket_around(m);
        // Before strong lenses a step acts weaker or stronger than its mark, so a bound lies only roughly a step away.
        let open = |candidate: f64, rung: f64| {
            let near = SAME_PLACE_D.max(rung * SAME_PART);
            candidate > low + near
                && candidate < high - near
                && candidate.abs() <= MOST_SPHERE_D
                && !self.passed.iter().any(|passed| (passed - candidate).abs() < near)
        };
        let order = if self.heading == Some(false) { [false, true] } else { [true, false] };
        RUNGS_D
            .iter()
            .filter(|&&rung| rung <= self.step && rung >= self.finest)
            .flat_map(|&rung| order.map(|plus| (rung, plus)))
            .find(|&(rung, plus)| open(if plus { m + rung } else { m - rung }, rung))
    }

    /// The bracket left around a sphere; a power set by hand outside what was judged opens it on that side.
    fn bracket_around(&self, m: f64) -> (f64, f64) {
        let low = if m <= self.low { f64::NEG_INFINITY } else { self.low };
        let high = if m >= self.high { f64::INFINITY } else { self.high };
        (low, high)
    }

    /// What to compare next with a power; `None` when the search has ended.
    pub fn step(&self, base: Power) -> Option<Step> {
        let (rung, plus) = self.next(base.m)?;
        let delta = if plus { rung } else { -rung };
        let letters = !plus && self.letters_for_minus();
        let candidate = base.m + delta;
        let again = self.clearer_once.is_some_and(|once| (once - candidate).abs() < SAME_PLACE_D);
        let question = if letters {
            Question::MoreLetters { before: self.acuity }
        } else {
            Question::ClearerWith { before: self.acuity }
        };
        let say = if letters {
            "Does this let you read any more letters, or do they only look blacker?"
        } else {
            "Are the letters clearer with this, the same, or worse?"
        };
        let why = match (plus, letters) {
            _ if again => "it was so once: it is kept if it is so once more",
            (true, _) => "the most plus with which the person sees as well is kept",
            (false, true) => "below 45 years a further minus is kept only if another letter is read",
            (false, false) => "a further minus is kept only if it is clearer",
        };
        let (low, high) = self.bracket_around(base.m);
        let bracket = Bracket { least_d: low.is_finite().then_some(low), most_d: high.is_finite().then_some(high) };
        let mut bases = Eyes::both(Power::ZERO);
        bases[self.eye] = base;
        let to = base + Power::sphere(Dioptres(delta));
        Some(
            Step::at(self.eye, &bases, question)
                .showing(Show::Compare, self.eye, to)
                .say(say)
                .instruction(sentence!["Hold ", Part::Sphere(delta), " in front of the ", self.eye, " eye."])
                .why(why)
                .bracket(bracket),
        )
    }

    /// Takes an answer; the power that is kept if what was shown is, and what was there before if not.
    pub fn answer(&mut self, answer: Answer, base: Power, shown: &Shown, effects: &mut Effects<'_>) -> Power {
        let (from, to) = (shown.from[self.eye], shown.to[self.eye]);
        let plus = to.m > from.m;
        let asked = self.next(base.m);
        let judgement = answer.judgement();
        let twice = asked.is_some_and(|(rung, up)| self.asks_twice(rung, up));
        let same_is_kept = plus && !asked.is_some_and(|(rung, _)| rung >= TWICE_FROM_D - 1e-9);
        let mut kept = judgement == Judgement::Better || (same_is_kept && judgement == Judgement::Same);
        if let Some((rung, up)) = asked {
            self.step = rung;
            let candidate = if up { base.m + rung } else { base.m - rung };
            let once = self.clearer_once.take().is_some_and(|once| (once - candidate).abs() < SAME_PLACE_D);
            if kept && twice && !once {
                self.clearer_once = Some(candidate);
                effects.tried(self.eye, to, effects.read, Some(judgement), false);
                return from;
            }
            kept = kept && (once || !twice);
            if !kept {
                // what stood in for a missing step may lie outside it: neither is asked again
                self.passed.push(candidate);
            }
        }
        (self.low, self.high) = self.bracket_around(from.m);
        match (plus, kept) {
            // the way back from what was the same is shown too
            (true, true) if judgement == Judgement::Same => {}
            (true, true) => self.low = self.low.max(from.m),
            (true, false) => self.high = self.high.min(to.m),
            (false, true) => self.high = self.high.min(from.m),
            (false, false) => self.low = self.low.max(to.m),
        }
        self.heading = kept.then_some(plus);
        if kept {
            self.acuity = effects.read;
            self.accepted += 1;
            if self.accepted == MOST_ACCEPTED {
                effects.remarks.push(Remark::Plain(
                    "The sphere has gone a long way in small steps: begin the search again if need be.",
                ));
            }
        }
        if self.keeps_judged {
            effects.judge(self.eye, shown, judgement, kept);
        } else {
            effects.tried(self.eye, to, effects.read, Some(judgement), kept);
        }
        if kept { shown.wanted(self.eye) } else { from }
    }

    /// Passes over what would be shown next.
    pub fn skip(&mut self, base: Power) {
        if let Some((rung, plus)) = self.next(base.m) {
            self.step = rung;
            self.passed.push(if plus { base.m + rung } else { base.m - rung });
            self.heading = None;
        }
    }
}
