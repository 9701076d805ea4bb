//! Whether somebody would have been hurt by an exam, and how.

use serde::Serialize;

use super::judged::Judged;
use super::lens_slips::{LensSlip, lens_slip};
use super::replay::Replayed;
use super::unsafe_changes::{UnsafeChanges, unsafe_changes};
use super::wrong_way::{Axis, wrong_axis, wrong_sign};
use crate::exam::poor_acuity::worse_than_6_9;
use crate::exam::{Reading, RedFlag};
use crate::optics::{Acuity, Dioptres, Eye, Eyes, Power};
use crate::practice::off::{Off, TOO_MUCH_D};
use crate::practice::sight::{Condition, FAR_M, Look};

/// What would have hurt somebody.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "harm")]
pub enum Harm {
    /// More than a quarter too minus, or too little plus.
    OverMinus {
        /// Before which eye.
        eye: Eye,
        /// By how many dioptres, without a sign.
        by_d: f64,
        /// Steps towards minus that were made when the eye had all that it needs.
        steps_beyond: usize,
    },
    /// More than a quarter too plus, or too little minus.
    OverPlus {
        /// Before which eye.
        eye: Eye,
        /// By how many dioptres, without a sign.
        by_d: f64,
    },
    /// Through the plus that is written the eye reads two lines less than it can.
    FogWritten {
        /// Before which eye.
        eye: Eye,
        /// Its line through what is written, in logMAR.
        reads_log_mar: f64,
    },
    /// When the power was accepted, more plus stood before the eye than was accepted.
    FogStanding {
        /// Before which eye.
        eye: Eye,
        /// By how many dioptres.
        by_d: f64,
    },
    /// The working lens of retinoscopy is in what is written, or was left in while it was refined.
    WorkingLensLeft {
        /// Before which eye.
        eye: Eye,
    },
    /// A power of the other sign.
    WrongSign {
        /// Before which eye.
        eye: Eye,
    },
    /// What is written for each eye fits the other one.
    EyesExchanged,
    /// A lens stood before the other eye.
    LensBeforeTheOther {
        /// Before which eye it was meant to stand.
        eye: Eye,
    },
    /// Something was asked of an eye that was covered.
    CoveredEyeAsked {
        /// Which eye.
        eye: Eye,
        /// How often.
        times: usize,
    },
    /// A cylinder across its axis, or mirrored.
    WrongAxis {
        /// Before which eye.
        eye: Eye,
        /// How.
        axis: Axis,
    },
    /// Lines that the eye cannot read: those of a chart that stood nearer than was said.
    OtherDistance {
        /// Which eye.
        eye: Eye,
    },
    /// Lenses were changed so that a young eye had less plus for a moment than before and after.
    UnsafeChange(UnsafeChanges),
    /// An eye that sees poorly whatever stands before it was not referred.
    ReferralMissed {
        /// Which eye.
        eye: Eye,
        /// Its best line in logMAR.
        best_log_mar: f64,
    },
    /// A sign was named that needs somebody who can treat the eye, and nothing says refer.
    SignNotReferred {
        /// Which.
        flag: RedFlag,
    },
}

/// An eye that reads through what is written so much less than it can is fogged: two lines, in logMAR.
const FOGGED_LOG_MAR: f64 = 0.2;
/// So much more plus than was accepted is fog that still stands, in dioptres: half a dioptre, with what gaps make of it.
const STANDING_FOG_D: f64 = 0.45;
/// What is off by about a working lens may be one, in dioptres; from a whole dioptre on.
const LIKE_A_WORKING_LENS_D: f64 = 0.30;
const LEAST_WORKING_LENS_D: f64 = 1.0;
/// Eyes count as exchanged where exchanging them mends so much, in dioptres of both vectors together.
const EXCHANGED_MENDS_D: f64 = 1.0;
/// A line so much better than the best of an eye, in logMAR, is none that it reads: four of its standard deviations, twice over, or
/// five.
const TOO_GOOD_TWICE_LOG_MAR: f64 = 0.20;
const TOO_GOOD_LOG_MAR: f64 = 0.25;

/// What would have hurt the person, in the order in which it is said.
pub(super) fn harms(of: &Judged<'_>) -> Vec<Harm> {
    let mut harms = Vec::new();
    for (eye, off) in of.off.iter() {
        if let Some(off) = off {
            of_equivalent(of, eye, off, &mut harms);
        }
    }
    harms.extend(Eye::BOTH.into_iter().flat_map(|eye| fog(of, eye)));
    let slips = Eyes::from_fn(|eye| lens_slip(of, eye));
    harms.extend(exchanged(&of.off).then_some(Harm::EyesExchanged));
    for eye in Eye::BOTH {
        let before_the_other = Some(LensSlip::BeforeTheOther { meant_for: eye });
        let slipped = slips.iter().any(|(_, slip)| *slip == before_the_other);
        harms.extend(slipped.then_some(Harm::LensBeforeTheOther { eye }));
        covered(of, eye, &mut harms);
    }
    for eye in Eye::BOTH {
        of_wrong_lenses(of, eye, slips[eye], &mut harms);
    }
    harms.extend(unsafe_changes(of.person, of.steps).into_iter().map(Harm::UnsafeChange));
    referrals(of, &mut harms);
    harms
}

fn of_equivalent(of: &Judged<'_>, eye: Eye, off: &Off, harms: &mut Vec<Harm>) {
    let by_d = off.m_d().abs();
    if off.is_over_minus() {
        harms.push(Harm::OverMinus { eye, by_d, steps_beyond: steps_beyond(of.steps, eye, off.needs.m) });
    }
    if off.is_over_plus() {
        harms.push(Harm::OverPlus { eye, by_d });
    }
}

/// Steps towards minus after the last one at which the eye still lacked nothing of its plus.
fn steps_beyond(steps: &[Replayed], eye: Eye, needs_m: f64) -> usize {
    let accepted = steps.iter().rposition(|step| step.accepted[eye]).map_or(steps.len(), |place| place + 1);
    let steps = &steps[..accepted];
    let enough = |step: &Replayed| step.after[eye].net.m >= needs_m - TOO_MUCH_D;
    let from = steps.iter().rposition(enough).map_or(0, |place| place + 1);
    // a step that brings the eye from enough to too little is one of them
    let less = |step: &&Replayed| step.after[eye].net.m < step.before[eye].net.m - LEAST_STEP_D;
    steps[from..].iter().filter(less).count()
}

/// Less than the weakest lens, in dioptres.
const LEAST_STEP_D: f64 = 0.10;

fn fog(of: &Judged<'_>, eye: Eye) -> Vec<Harm> {
    let mut found = Vec::new();
    let Some(off) = of.off[eye] else { return found };
    if off.is_over_plus() {
        // of the equivalent alone: what cylinder is off is said elsewhere
        let reads = |over_d: f64| {
            let before = off.needs + Power::sphere(Dioptres(over_d));
            of.person.eyes[eye].log_mar(&Look::at_chart(before, FAR_M), Condition::default())
        };
        let reads_log_mar = reads(off.m_d());
        let is_fogged = reads_log_mar - reads(0.0) >= FOGGED_LOG_MAR;
        found.extend(is_fogged.then_some(Harm::FogWritten { eye, reads_log_mar }));
    }
    let accepted = of.steps.iter().rfind(|step| step.accepted[eye]).zip(of.state.results.refraction[eye]);
    if let Some((step, accepted)) = accepted {
        let stands = step.after[eye];
        let by_d = stands.net_with_hand.m - accepted.m;
        let is_fog = step.plus_stands[eye] && !stands.occluded;
        found.extend((is_fog && by_d >= STANDING_FOG_D).then_some(Harm::FogStanding { eye, by_d }));
    }
    found
}

/// Whether what is written for each eye fits the other one, and not its own.
fn exchanged(off: &Eyes<Option<Off>>) -> bool {
    let (Some(right), Some(left)) = (off.right, off.left) else { return false };
    let straight = right.vector().blur_strength() + left.vector().blur_strength();
    let across = right.written.power().miss(left.needs) + left.written.power().miss(right.needs);
    straight - across >= EXCHANGED_MENDS_D
}

fn covered(of: &Judged<'_>, eye: Eye, harms: &mut Vec<Harm>) {
    let covered = |step: &&Replayed| step.asked == Some(eye) && step.before[eye].occluded;
    let times = of.steps.iter().filter(covered).count();
    harms.extend((times > 0).then_some(Harm::CoveredEyeAsked { eye, times }));
}

fn of_wrong_lenses(of: &Judged<'_>, eye: Eye, slip: Option<LensSlip>, harms: &mut Vec<Harm>) {
    let off = of.off[eye];
    let sign = off.is_some_and(|off| wrong_sign(&off)) || slip == Some(LensSlip::Sign);
    harms.extend(sign.then_some(Harm::WrongSign { eye }));
    let axis = off.and_then(|off| wrong_axis(&off)).or((slip == Some(LensSlip::AxisAcross)).then_some(Axis::Across));
    harms.extend(axis.map(|axis| Harm::WrongAxis { eye, axis }));
    let working_lens = slip == Some(LensSlip::WorkingLensLeft) || is_off_by_the_working_lens(of, eye);
    harms.extend(working_lens.then_some(Harm::WorkingLensLeft { eye }));
    harms.extend(reads_what_it_cannot(of, eye).then_some(Harm::OtherDistance { eye }));
}

/// Whether lines were entered for an eye that it cannot read.
fn reads_what_it_cannot(of: &Judged<'_>, eye: Eye) -> bool {
    let best = of.person.eyes[eye].best_log_mar;
    let mut lines: Vec<_> = of.state.readings.iter().filter(|reading| reading.eye == Some(eye)).collect();
    // what is read is noted as an acuity and as something tried
    lines.dedup();
    let better_by = |log_mar: f64| {
        let better = |reading: &&&Reading| reading.acuity.log_mar().is_some_and(|read| read < best - log_mar);
        lines.iter().filter(better).count()
    };
    better_by(TOO_GOOD_LOG_MAR) >= 1 || better_by(TOO_GOOD_TWICE_LOG_MAR) >= 2
}

fn is_off_by_the_working_lens(of: &Judged<'_>, eye: Eye) -> bool {
    let (Some(off), Some(metres)) = (of.off[eye], of.state.person.working_metres) else { return false };
    let was_used = of.state.results.retinoscopy[eye].is_some();
    let working_d = 1.0 / metres;
    was_used && working_d >= LEAST_WORKING_LENS_D && (off.m_d() - working_d).abs() <= LIKE_A_WORKING_LENS_D
}

/// An eye that sees poorly at its best, or a sign that was named, and nothing in the record that says refer.
fn referrals(of: &Judged<'_>, harms: &mut Vec<Harm>) {
    if says_refer(of) {
        return;
    }
    for (eye, truth) in of.person.eyes.iter() {
        let is_poor = worse_than_6_9(Acuity::of_log_mar(truth.best_log_mar));
        harms.extend(is_poor.then_some(Harm::ReferralMissed { eye, best_log_mar: truth.best_log_mar }));
    }
    let flags = of.state.person.red_flags.iter().flatten();
    harms.extend(flags.map(|&flag| Harm::SignNotReferred { flag }));
}

/// Whether the outcome, or what the examiner wrote, says that somebody else has to see the person.
fn says_refer(of: &Judged<'_>) -> bool {
    let outcome = of.state.outcome.as_ref();
    of.steps.iter().any(|step| step.says_refer) || outcome.is_some_and(|outcome| outcome.referred().is_some())
}
