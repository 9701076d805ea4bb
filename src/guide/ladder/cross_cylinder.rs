//! With which cross cylinder an eye is asked: one that is flipped, or one made of two lenses in the frame where the box has none
//! that the eye would notice. Where a poor eye finds the same, a stronger one asks before that counts.

use super::told::{is_6_18_or_worse, is_poorer_than_6_12, line_known};
use crate::exam::sentence::sentence;
use crate::exam::{Answer, Given, Judgement, Part, Sentence, Shown};
use crate::guide::findings::Findings;
use crate::guide::presentation::Show;
use crate::guide::procedure::Step;
use crate::guide::question::Question;
use crate::guide::remark::Remark;
use crate::optics::{Acuity, Axis, Dioptres, Eye, Eyes, Power};

/// 6/60 and worse, in log MAR.
const VERY_POOR_LOG_MAR: f64 = 0.97;

/// Worse than a chart shows where it usually hangs, in log MAR: read with the chart near.
const NEAR_ONLY_LOG_MAR: f64 = 1.10;

/// What an eye at 6/60 and worse is asked with at least, and one poorer than 6/12, in dioptres (common practice, no source).
const LEAST_AT_6_60_D: f64 = 0.75;
const LEAST_BELOW_6_12_D: f64 = 0.50;

/// Made of two lenses, for an eye at 6/60 and worse and for another where no cross cylinder is free, in dioptres.
const MADE_FOR_POOR_D: f64 = 1.00;
const MADE_FOR_NEAR_ONLY_D: f64 = 2.00;
const MADE_D: f64 = 0.50;

/// One cross cylinder.
#[derive(Debug, Clone, Copy, PartialEq)]
struct CrossCylinder {
    /// The F of its +F and −F.
    power: Dioptres,
    /// Whether it is made in the frame of two lenses, since none of the box is as strong.
    made: bool,
}

/// The cross cylinders that one eye is asked with.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::guide) struct CrossCylinders {
    eye: Eye,
    now: CrossCylinder,
    /// Those that ask before *the same* counts, weakest first.
    stronger: Vec<CrossCylinder>,
    /// The strongest that is flipped: it asks where the lenses for one that is made are missing.
    flipped: Option<CrossCylinder>,
}

impl CrossCylinders {
    /// For an eye by the line that it reads: ±0.25, or ±0.50 when that is poorer than 6/12, ±0.75 or more at 6/60 and worse.
    pub fn of(eye: Eye, given: &Given, findings: &Findings) -> Self {
        let line = line_known(&findings.lines[eye], given.start[eye]).or(findings.acuity[eye]);
        let least_d = match line {
            Some(line) if is_very_poor(line) => LEAST_AT_6_60_D,
            Some(line) if is_poorer_than_6_12(line) => LEAST_BELOW_6_12_D,
            _ => 0.0,
        };
        let flipped = given.cross_cylinders.iter().map(|&power| CrossCylinder { power, made: false });
        let made = |power_d: f64| CrossCylinder { power: Dioptres(power_d), made: true };
        let very_poor = line.is_some_and(is_very_poor);
        let strongest = flipped.clone().next_back();
        let fits = flipped.clone().find(|one| one.power.0 >= least_d).or(strongest.filter(|_| !very_poor));
        let now = fits.unwrap_or(made(if very_poor { MADE_FOR_POOR_D } else { MADE_D }));
        let mut stronger: Vec<CrossCylinder> = flipped.collect();
        if stronger.last().is_none_or(|strongest| strongest.power.0 < LEAST_AT_6_60_D) {
            stronger.push(made(MADE_FOR_POOR_D));
        }
        if line.and_then(Acuity::log_mar).is_some_and(|read| read > NEAR_ONLY_LOG_MAR) {
            stronger.push(made(MADE_FOR_NEAR_ONLY_D));
        }
        stronger.retain(|one| line.is_some_and(is_6_18_or_worse) && one.power.0 > now.power.0);
        Self { eye, now, stronger, flipped: strongest }
    }

    /// The two positions of the minus axis, one after the other over what was found.
    pub fn step(&self, base: &Eyes<Power>, [first, second]: [Axis; 2], flips: Sentence) -> Step {
        let CrossCylinder { power, made } = self.now;
        if !made {
            let show = Show::CrossCylinder { eye: self.eye, power, first, second };
            return Step::at(self.eye, base, Question::WhichPosition)
                .with_show(show)
                .say("Which is clearer: one … or two? Or are they the same?")
                .instruction(flips);
        }
        let with = |minus_axis: Axis| {
            let cylinder = Power::cylinder(Dioptres(-2.0 * power.0), f64::from(minus_axis.degrees()));
            base[self.eye] + cylinder + Power::sphere(power)
        };
        let mut step = Step::at(self.eye, base, Question::ClearerWith { before: None })
            .showing(Show::Compare, self.eye, with(second))
            .say("Here is one … and here is two: is two clearer, the same, or worse?")
            .instruction(sentence![
                "Cross cylinder ",
                Part::CrossCylinder(power.0),
                " made of two lenses in front of the ",
                self.eye,
                " eye: ",
                with(first),
                ", then ",
                with(second),
                "."
            ]);
        step.from[self.eye] = Some(with(first));
        step.about_the_cylinder = true;
        step
    }

    /// Whether the first position is preferred; `None` where neither is.
    pub fn prefers_first(answer: Answer) -> Option<bool> {
        answer.prefers_first().or(match answer.judgement() {
            Judgement::Better => Some(false),
            Judgement::Worse => Some(true),
            Judgement::Same => None,
        })
    }

    /// Goes on to a stronger one; `false` where *the same* counts.
    pub fn gets_stronger(&mut self) -> bool {
        let any = !self.stronger.is_empty();
        if any {
            self.now = self.stronger.remove(0);
        }
        any
    }

    /// Where one that is made was passed over the one that is flipped asks instead; `false` where that did.
    pub fn gives_way(&mut self) -> bool {
        match self.flipped {
            Some(flipped) if self.now.made => {
                self.now = flipped;
                self.stronger.clear();
                true
            }
            _ => false,
        }
    }

    /// What stood before the eye without it.
    pub fn without(&self, shown: &Shown, found: Power) -> Power {
        if self.now.made { found } else { shown.from[self.eye] }
    }

    /// What is said where the positions cannot be shown.
    pub fn missing(&self) -> Remark {
        Remark::NoLens { eye: Some(self.eye), what: "the cross cylinder".into() }
    }
}

/// 6/60 and worse, as who reads no letter is.
fn is_very_poor(acuity: Acuity) -> bool {
    acuity.log_mar().is_none_or(|read| read > VERY_POOR_LOG_MAR)
}
