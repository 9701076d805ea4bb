//! A lens that was not what the program took it for: each lens that stood before an eye, as one of the other sign, before the other
//! eye, or across its axis; the working lens, left in. What the eye answered has to fit one of these, and not what the program
//! took to stand there.

use super::judged::Judged;
use super::replay::StandingLens;
use crate::exam::plausibility::shift_of_known;
use crate::optics::{Dioptres, Eye, Power};

/// What was wrong with a lens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LensSlip {
    /// It had the other sign.
    Sign,
    /// It was meant for this eye, and stood before the other one.
    BeforeTheOther {
        /// This eye.
        meant_for: Eye,
    },
    /// It stood across its axis.
    AxisAcross,
    /// It was the working lens, left in.
    WorkingLensLeft,
}

/// Only what is off by so much is asked for the slip behind it, in dioptres of the vector.
const SLIP_FROM_D: f64 = 0.50;
/// A weaker lens is no slip to speak of, in dioptres.
const LEAST_LENS_D: f64 = 0.20;

/// The slip that explains what an eye answered, where what is written for it is off, or nothing is.
pub(super) fn lens_slip(of: &Judged<'_>, eye: Eye) -> Option<LensSlip> {
    if of.off[eye].is_some_and(|off| off.vector().blur_strength() <= SLIP_FROM_D) {
        return None;
    }
    let mut slips: Vec<(LensSlip, Power)> = Vec::new();
    for lens in stood(of, eye) {
        if lens.is_cylinder {
            let astigmatism = Power { m: 0.0, ..lens.power };
            slips.push((LensSlip::AxisAcross, -astigmatism - astigmatism));
        } else {
            let missing = LensSlip::BeforeTheOther { meant_for: eye };
            slips.extend([(LensSlip::Sign, -lens.power - lens.power), (missing, -lens.power)]);
        }
    }
    let others = stood(of, eye.other()).into_iter().filter(|lens| !lens.is_cylinder);
    let meant_for = eye.other();
    slips.extend(others.map(|lens| (LensSlip::BeforeTheOther { meant_for }, lens.power)));
    let looked = of.state.results.retinoscopy[eye].and(of.state.person.working_metres);
    slips.extend(looked.map(|metres| (LensSlip::WorkingLensLeft, Power::sphere(Dioptres(1.0 / metres)))));
    let shifts: Vec<Power> = slips.iter().map(|(_, shift)| *shift).collect();
    let truth = of.person.eyes[eye];
    shift_of_known(of.state, eye, truth.needs, truth.best_log_mar, &shifts).map(|place| slips[place].0)
}

/// The lenses that ever stood before an eye, each once.
fn stood(of: &Judged<'_>, eye: Eye) -> Vec<StandingLens> {
    let mut stood: Vec<StandingLens> = Vec::new();
    for lens in of.steps.iter().flat_map(|step| &step.lenses[eye]) {
        if lens.power.blur_strength() > LEAST_LENS_D && !stood.contains(lens) {
            stood.push(*lens);
        }
    }
    stood
}
