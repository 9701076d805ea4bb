//! What is written for each eye, held against everything else that is known of it before it is written: its lines, the other eye,
//! both eyes, the old glasses, its own answers.

use std::fmt;

use serde::Serialize;

use super::event::Through;
use super::observed::{AskedAgain, Observation, observed, saw_astigmatism};
use super::person::PresentGlasses;
use super::plausibility::{LikelySlip, misfit, read_before};
use super::prescription::{EyePrescription, Prescription, strongest_meridian};
use super::state::State;
use crate::optics::{Acuity, Dioptres, Eye};

/// What is written does not fit something else that is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "doubt")]
pub enum Doubt {
    /// What the eye answered does not fit the power written.
    DoesNotFit {
        /// Which eye.
        eye: Eye,
        /// The likeliest slip.
        slip: LikelySlip,
        /// The equivalent for which the answers speak, in dioptres at the frame.
        speaks_for_m: f64,
    },
    /// No power is written, since no letter was read at the end, and lines were read through lenses before.
    ReadBefore {
        /// Which eye.
        eye: Eye,
    },
    /// With its prescription the eye reads less than otherwise.
    PoorerThan {
        /// Which eye.
        eye: Eye,
        /// Than with what.
        than: Poorer,
    },
    /// Both eyes together read less than the better one.
    BothPoorer,
    /// A meridian beyond 10 D.
    StrongPower {
        /// Which eye.
        eye: Eye,
    },
    /// Lines of a fan stood out, or a slit was clearer in one direction, and no cylinder is written.
    AstigmatismLeft {
        /// Which eye.
        eye: Eye,
    },
    /// The same question got other answers.
    AnswersDiffer {
        /// Which eye.
        eye: Eye,
        /// How often something was asked again.
        asked_again: usize,
        /// How often the answer was another one.
        differed: usize,
    },
    /// An addition too weak to be told from none.
    WeakAddition,
    /// There are glasses whose power nobody knows.
    GlassesNotMeasured,
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::DoesNotFit { eye, slip, speaks_for_m } => {
                write!(f, "What the {eye} eye answered does not fit the power written")?;
                match slip {
                    LikelySlip::Sign => f.write_str("; likeliest a lens of the other sign stood there")?,
                    LikelySlip::WrongEye => f.write_str("; likeliest a lens stood in front of the other eye")?,
                    LikelySlip::AxisAcross => f.write_str("; likeliest a cylinder stood across its axis")?,
                    LikelySlip::WorkingLensLeft => f.write_str("; likeliest the working lens was left in")?,
                    LikelySlip::OtherDistance => {
                        return f.write_str("; no eye reads such a line: likeliest the chart stood nearer than was said.");
                    }
                    LikelySlip::Unexplained => {}
                }
                write!(f, ": it speaks for an equivalent near {speaks_for_m:+.2} D. Look at the lenses and ask again.")
            }
            Self::ReadBefore { eye } => write!(
                f,
                "The {eye} eye read lines through lenses in this exam, and no letter at the end: likeliest another lens stood there than was meant. Look at the lenses and refract it again."
            ),
            Self::PoorerThan { eye, than } => {
                write!(f, "With these lenses the {eye} eye reads less {}.", than.shown())
            }
            Self::BothPoorer => f.write_str(
                "Both eyes together read less than the better one alone: balance them again, and look for double vision.",
            ),
            Self::StrongPower { eye } => {
                write!(f, "The power of the {eye} eye is beyond 10 D: look at the lenses again, and mind the vertex distance.")
            }
            Self::AstigmatismLeft { eye } => {
                write!(f, "The {eye} eye saw astigmatism and no cylinder is written: look for it again.")
            }
            Self::AnswersDiffer { eye, asked_again, differed } => write!(
                f,
                "The {eye} eye answered {differed} of {asked_again} repeated questions otherwise than before: repeat the exam another day, or begin with retinoscopy."
            ),
            Self::WeakAddition => f.write_str("An addition below +0.75 D can hardly be told from none."),
            Self::GlassesNotMeasured => {
                f.write_str("The power of the glasses worn until now is not known: what changes cannot be said.")
            }
        }
    }
}

/// From here on a power is so strong that it is looked at again, in dioptres.
const STRONG_D: f64 = 10.0;
/// Two lines, a letter of slack, in logMAR.
const TWO_LINES: f64 = 0.18;
/// A line and a half: a letter more or less is no doubt, in logMAR.
const LINE_AND_A_HALF: f64 = 0.15;
/// Under this addition none is given: it cannot be told from none (common practice, no source).
pub const LEAST_ADDITION_D: f64 = 0.75;
/// As many repeated questions have to get another answer, and this share of them, before that is said.
const LEAST_DIFFERED: usize = 3;
const LEAST_SHARE: f64 = 0.30;
/// Rounding, in dioptres.
const TOLERANCE: f64 = 1e-9;

/// Whether one line is poorer than another by this much; a line is poorer than none of letters never.
fn poorer(read: Acuity, than: Option<Acuity>, by: f64) -> bool {
    match (read.log_mar(), than.and_then(Acuity::log_mar)) {
        (Some(read), Some(than)) => read - than >= by,
        (None, Some(_)) => true,
        (_, None) => false,
    }
}

/// What does not fit the prescription of one eye.
pub(super) fn of_eye(state: &State, prescription: &Prescription, eye: Eye) -> Vec<Doubt> {
    let Some(of_eye) = prescription.eye(eye) else {
        return if read_before(state, eye) { vec![Doubt::ReadBefore { eye }] } else { Vec::new() };
    };
    let mut found = Vec::new();
    if let Some(misfit) = misfit(state, eye, of_eye.found) {
        found.push(Doubt::DoesNotFit { eye, slip: misfit.slip, speaks_for_m: misfit.speaks_for_m });
    }
    let answers = observed(state, eye);
    if let Some(read) = of_eye.acuity {
        let through = |through| state.last_read(eye, through);
        let other = prescription.eye(eye.other()).and_then(|of_other: &EyePrescription| of_other.acuity);
        let tried = answers.iter().filter_map(|answer| match answer.what {
            Observation::Line { read, pinhole: false, .. } => Some(read),
            Observation::Line { pinhole: true, .. } | Observation::Compared { .. } => None,
        });
        let best = tried
            .filter(|read| read.log_mar().is_some())
            .min_by(|one, other| one.log_mar().unwrap_or(f64::MAX).total_cmp(&other.log_mar().unwrap_or(f64::MAX)));
        let held = [
            (Poorer::Pinhole, through(Through::Pinhole), LINE_AND_A_HALF),
            (Poorer::Unaided, through(Through::Unaided), LINE_AND_A_HALF),
            (Poorer::OldGlasses, through(Through::OldGlasses), LINE_AND_A_HALF),
            (Poorer::Tried, best, TWO_LINES),
            (Poorer::OtherEye, other, TWO_LINES),
        ];
        let poorer = held.into_iter().find(|(_, than, by)| poorer(read, *than, *by));
        found.extend(poorer.map(|(than, ..)| Doubt::PoorerThan { eye, than }));
    }
    if strongest_meridian(of_eye.written) > STRONG_D + TOLERANCE {
        found.push(Doubt::StrongPower { eye });
    }
    if of_eye.written.cylinder == 0.0 && saw_astigmatism(state, eye) {
        found.push(Doubt::AstigmatismLeft { eye });
    }
    let repeats = AskedAgain::of(&answers);
    if repeats.differed >= LEAST_DIFFERED && repeats.share() >= LEAST_SHARE {
        let AskedAgain { asked_again, differed } = repeats;
        found.push(Doubt::AnswersDiffer { eye, asked_again, differed });
    }
    found
}

/// What does not fit of both eyes together, and what is missing.
pub(super) fn of_both(state: &State, prescription: &Prescription) -> Vec<Doubt> {
    let mut found = Vec::new();
    let better = Eye::BOTH
        .into_iter()
        .filter_map(|eye| prescription.eye(eye)?.acuity)
        .min_by(|one, other| one.log_mar().unwrap_or(f64::MAX).total_cmp(&other.log_mar().unwrap_or(f64::MAX)));
    if prescription.acuity_of_both.is_some_and(|both| poorer(both, better, LINE_AND_A_HALF)) {
        found.push(Doubt::BothPoorer);
    }
    let weak = |addition: Dioptres| addition.0 < LEAST_ADDITION_D - TOLERANCE;
    if prescription.additions.into_iter().flatten().any(weak) {
        found.push(Doubt::WeakAddition);
    }
    let unknown = state.person.present_glasses == Some(PresentGlasses::HereUnknown);
    if unknown && state.person.old_glasses.into_iter().all(|power| power.is_none()) {
        found.push(Doubt::GlassesNotMeasured);
    }
    found
}

/// Than what the line with the prescription is poorer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Poorer {
    /// Than through a pinhole alone.
    Pinhole,
    /// Than without any lens.
    Unaided,
    /// Than with the old glasses.
    OldGlasses,
    /// Than with another power that was tried.
    Tried,
    /// Than the other eye.
    OtherEye,
}

impl Poorer {
    /// How a sentence ends that says so.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::Pinhole => "than through a pinhole alone: its power is not found yet, or the answers do not hold",
            Self::Unaided => "than without any lens: these lenses do harm, or the answers do not hold",
            Self::OldGlasses => "than with the present glasses: keep those, or look again",
            Self::Tried => "than with another power that was tried: look at the trail",
            Self::OtherEye => "than the other eye, by two lines or more: find out why",
        }
    }
}
