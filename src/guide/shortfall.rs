//! What the free lenses do not make of a step, as it is said.

use super::presentation::Show;
use super::procedure::Step;
use super::remark::Remark;
use crate::exam::sentence::sentence;
use crate::exam::{Part, Sentence, Shown};
use crate::optics::Eye;
use crate::optics::quarter::nearest_quarter;
use crate::stacking::REACHES_WITHIN_D;

/// A difference below this is rounding, not a lens.
pub(super) const MOVED_D: f64 = 1e-6;

/// A step that acts within this part of its mark is not another step.
const SAME_STEP_PART: f64 = 0.1;

/// What a step needs that no free lens makes.
pub(super) fn what_is_missing(step: &Step) -> Sentence {
    match step.show {
        Show::CrossCylinder { power, .. } => {
            sentence!["the ", Part::CrossCylinder(power.0), " cross cylinder or the cylinder under it"]
        }
        Show::Pinhole { .. } => "a pinhole".into(),
        Show::Slit { .. } => "the slit or the sphere behind it".into(),
        Show::Compare => {
            let held = |eye: Eye| {
                let (from, to) = (step.from[eye]?, step.to[eye]?);
                let (change, cells) = (to - from, nearest_quarter(from, 1).power());
                Some(if change.m.abs() < MOVED_D {
                    sentence![cells]
                } else {
                    sentence![cells, " and ", Part::Sphere(change.m), " over it"]
                })
            };
            listed(Eye::BOTH.into_iter().filter_map(held), ", ")
        }
        Show::AsItIs | Show::BuildIn | Show::Sweep { .. } => {
            listed(step.to.into_iter().flatten().map(|power| sentence![power]), " and ")
        }
    }
}

fn listed(sentences: impl Iterator<Item = Sentence>, between: &'static str) -> Sentence {
    sentences.reduce(|list, next| list.then(&between.into()).then(&next)).unwrap_or(Sentence::NONE)
}

/// What differs between what was wished and what the free lenses made.
pub(super) fn realised_remarks(step: &Step, shown: &Shown) -> Vec<Remark> {
    let mut remarks = Vec::new();
    for eye in Eye::BOTH {
        let (Some(from), Some(to)) = (step.from[eye], step.to[eye]) else { continue };
        let (usual, real) = (to - from, shown.to[eye] - shown.from[eye]);
        if step.show == Show::Compare {
            if from.miss(shown.from[eye]) > REACHES_WITHIN_D {
                remarks.push(Remark::Nearest { eye, wanted: from, stands: shown.from[eye] });
            }
            // held in front of strong lenses a step acts a little weaker or stronger: that is not another step
            if usual.miss(real) > REACHES_WITHIN_D.max(SAME_STEP_PART * usual.blur_strength()) {
                remarks.push(Remark::OtherStep { eye, usual: usual.m, shown: real.m });
            }
            if real.blur_strength() > MOVED_D && shown.cells[eye].miss(shown.to[eye]) < MOVED_D {
                remarks.push(Remark::InTheCells { eye });
            }
        } else if to.miss(shown.to[eye]) > REACHES_WITHIN_D {
            remarks.push(Remark::Nearest { eye, wanted: to, stands: shown.to[eye] });
        }
    }
    remarks
}
