//! What the procedures found: the fold of all answers so far.

use super::remark::Remark;
use crate::exam::sentence::sentence;
use crate::exam::{Believed, Judgement, Part, ProcedureName, Sentence};
use crate::optics::{Acuity, Eye, Eyes, Power};

/// Two powers nearer than this are the same place: less than half of the smallest step.
pub(super) const SAME_PLACE_D: f64 = 0.1;

/// A comparison that was answered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// What stood before.
    pub from: Power,
    /// What was shown.
    pub to: Power,
    /// How it compared.
    pub judgement: Judgement,
}

/// A line that was read, and the power with which.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineAt {
    /// What stood before the eye.
    pub power: Power,
    /// What was read.
    pub acuity: Acuity,
}

/// How the first lens went; it decides where the search for the sphere begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstStep {
    /// The step to go on with, in dioptres.
    pub step_d: f64,
    /// Whether to try plus first; `None` when nothing speaks for either.
    pub plus: Option<bool>,
}

/// How the search goes of an eye that reads letters only with the chart brought near.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NearSearch {
    /// The chart stands near, and what is found is found there.
    Goes {
        /// Where the chart goes back to, in metres.
        chart_m: f64,
        /// For which distance it was made, in metres.
        made_for_m: f64,
    },
    /// The chart went back and nothing was read there: what was found near counts, less what the near chart adds.
    Ended,
}

/// The range over which print is clear with the addition, as far as it was asked.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct NearRange {
    /// Nearest clear point in centimetres.
    pub nearest_cm: Option<f64>,
    /// Farthest clear point in centimetres.
    pub farthest_cm: Option<f64>,
}

/// What was found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Findings {
    /// Comparisons of each eye since its first lens, right first.
    pub judged: Eyes<Vec<Judged>>,
    /// Lines read by each eye through lenses since its first lens, right first.
    pub lines: Eyes<Vec<LineAt>>,
    /// Acuity of each eye with what was last found for it.
    pub acuity: Eyes<Option<Acuity>>,
    /// With which power that was read, right first.
    pub acuity_with: Eyes<Option<Power>>,
    /// With which cylinder the axis of each eye was found last, in dioptres.
    pub axis_found_with: Eyes<Option<f64>>,
    /// How the first lens of each eye went.
    pub first: Eyes<Option<FirstStep>>,
    /// Retinoscopy of each eye, the working lens taken off.
    pub retinoscopy: Eyes<Option<Power>>,
    /// Whether what the examiner's retinoscopy is steadily off by was taken off that of each eye.
    pub steady_difference_taken_off: Eyes<bool>,
    /// The distance power of each eye at the end of its last subjective procedure.
    pub subjective: Eyes<Option<Power>>,
    /// What the refraction of each eye by likelihood believed last.
    pub believed: Eyes<Option<Believed>>,
    /// Whether that handed an eye over, which goes on step by step.
    pub handed_over: Eyes<bool>,
    /// The near addition in dioptres, both eyes.
    pub addition: Option<f64>,
    /// The near addition of the left eye in dioptres, where it is another one.
    pub addition_of_left: Option<f64>,
    /// The range that is clear with the addition.
    pub near_range: NearRange,
    /// How much sphere is taken off because the chart stood near, in dioptres.
    pub chart_taken_off: f64,
    /// Whether the vertex distance of the frame was asked for: it is asked once, whatever was answered.
    pub vertex_asked: bool,
    /// Whether the prescription was written down.
    pub written: bool,
    /// Whether somebody refracted each eye: a subjective procedure of it was answered.
    pub refracted: Eyes<bool>,
    /// What an eye sees that reads no letter whatever is shown: it is not refracted.
    pub no_letter: Eyes<Option<Acuity>>,
    /// Whether the search of an eye goes on before a chart brought near.
    pub near_search: Eyes<Option<NearSearch>>,
    /// How many procedures had ended when the search for the power of each eye last began.
    pub begun: Eyes<usize>,
    /// Procedures that ended, in order, with their eye.
    pub done: Vec<(ProcedureName, Option<Eye>)>,
}

impl Findings {
    /// The procedures done for an eye since its last first lens, oldest first.
    pub fn done_for(&self, eye: Eye) -> impl Iterator<Item = ProcedureName> + '_ {
        self.done[self.begun[eye]..].iter().filter(move |(_, of)| *of == Some(eye)).map(|&(procedure, _)| procedure)
    }

    /// How often a procedure was done for an eye since its last first lens.
    pub fn times(&self, procedure: ProcedureName, eye: Eye) -> usize {
        self.done_for(eye).filter(|&done| done == procedure).count()
    }

    /// Keeps a comparison and says so when it does not agree with an earlier one.
    pub(super) fn judge(&mut self, eye: Eye, judged: Judged) -> Option<Remark> {
        let earlier = self.judged[eye].iter().rev().find(|earlier| contradicts(earlier, &judged));
        let remark =
            earlier.map(|earlier| Remark::Contradiction { eye: Some(eye), before: said(earlier), now: said(&judged) });
        self.judged[eye].push(judged);
        remark
    }
}

/// Whether two comparisons cannot both be right: the same pair judged better and worse, a pair better both ways round, or
/// opposite changes from one place both clearer.
pub(super) fn contradicts(one: &Judged, other: &Judged) -> bool {
    let same = |a: Power, b: Power| a.miss(b) < SAME_PLACE_D;
    let opposed = (one.judgement == Judgement::Better && other.judgement == Judgement::Worse)
        || (one.judgement == Judgement::Worse && other.judgement == Judgement::Better);
    let alike_and_decided = one.judgement == other.judgement && one.judgement != Judgement::Same;
    let same_pair = same(one.from, other.from) && same(one.to, other.to);
    let reversed_pair = same(one.from, other.to) && same(one.to, other.from);
    let mirrored = same(one.from, other.from) && same(one.to - one.from, other.from - other.to);
    let both_better = alike_and_decided && one.judgement == Judgement::Better;
    (same_pair && opposed) || (reversed_pair && alike_and_decided) || (mirrored && both_better)
}

fn said(judged: &Judged) -> Sentence {
    let how = match judged.judgement {
        Judgement::Better => " was clearer than ",
        Judgement::Same => " was the same as ",
        Judgement::Worse => " was worse than ",
    };
    let change = judged.to - judged.from;
    if change.astigmatism() < 0.01 {
        sentence![judged.to, " (", Part::Sphere(change.m), ")", how, judged.from]
    } else {
        sentence![judged.to, how, judged.from]
    }
}
