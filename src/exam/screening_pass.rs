//! A screening pass: who reads enough and hides no plus is done; who does not goes on to refraction with everything kept.

use super::event::Through;
use super::person::PresentGlasses;
use super::state::State;
use crate::optics::{Acuity, Eye};

/// The line that an eye has to read: 6/9 (IAPB school eye health guideline); local rules decide.
pub fn usual_limit() -> Acuity {
    Acuity::of_6_m(9.0)
}

/// What a screening pass asks next, or says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScreeningStep {
    /// The line that an eye reads, with its glasses where the person came with some.
    Read(Eye),
    /// Whether an eye reads the same line through +2.00.
    ThroughPlusTwo(Eye),
    /// Whether both eyes together read the near card.
    ReadNear,
    /// The person passes.
    Passes,
    /// The person goes on to refraction.
    Fails(ScreeningFault),
}

/// Why somebody goes on to refraction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScreeningFault {
    /// An eye reads less than the limit.
    ReadsLess(Eye),
    /// An eye reads the same through +2.00.
    PlusMayHide(Eye),
    /// The near card is not read.
    Near,
}

/// What comes next in a screening pass with this limit: an eye that reads at least the line passes.
pub fn next_step(state: &State, limit: Acuity) -> ScreeningStep {
    let through = as_the_person_came(state);
    let limit_log_mar = limit.log_mar().unwrap_or(0.0);
    // lines are read back from logarithms
    let passes = |read: Acuity| read.log_mar().is_some_and(|log_mar| log_mar <= limit_log_mar + 1e-6);
    for eye in Eye::BOTH {
        match state.last_read(eye, through) {
            None => return ScreeningStep::Read(eye),
            Some(read) if !passes(read) => return ScreeningStep::Fails(ScreeningFault::ReadsLess(eye)),
            Some(_) => {}
        }
    }
    for eye in Eye::BOTH {
        match state.screening.plus_two[eye] {
            None => return ScreeningStep::ThroughPlusTwo(eye),
            Some(true) => return ScreeningStep::Fails(ScreeningFault::PlusMayHide(eye)),
            Some(false) => {}
        }
    }
    match state.screening.near {
        None => ScreeningStep::ReadNear,
        Some(false) => ScreeningStep::Fails(ScreeningFault::Near),
        Some(true) => ScreeningStep::Passes,
    }
}

/// Through what somebody reads in a screening pass: their glasses where they came with some, else nothing.
pub fn as_the_person_came(state: &State) -> Through {
    if state.person.present_glasses.is_some_and(PresentGlasses::are_here) {
        Through::OldGlasses
    } else {
        Through::Unaided
    }
}
