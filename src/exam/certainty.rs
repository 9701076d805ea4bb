//! How sure the result of an eye is, what the person would notice, and which lines belong to it.

use serde::Serialize;

use super::event::Through;
use super::expected::{Expected, Opening, expected};
use super::observed::{AskedAgain, observed};
use super::plausibility::misfit;
use super::prescription::{EyePrescription, REPEAT_M_D, SAME_POWER_D, WIDEST_REPEAT_M_D};
use super::state::State;
use crate::optics::{Acuity, Dioptres, Eye, Power};

/// A blur that is just noticed at 6/6, in dioptres: 0.33, 0.30 and 0.28 for pupils of 3, 4 and 6 mm (*Vision Res* 2005;45:1967).
const NOTICED_D: f64 = 0.30;
/// So many times as much is troublesome (same source: 1.6 to 1.8).
const TROUBLES_TIMES: f64 = 1.7;

/// Where so many of the repeated questions get another answer, the widest published limits are taken (ours, no source).
const WIDEST_FROM_SHARE: f64 = 0.30;

/// What is held over the result, in dioptres.
const FOG_D: f64 = 1.00;

/// A line beside the one that is expected of an eye with this power, at this age.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// The line that is expected.
    pub expected: Acuity,
    /// What was read; `None` where nobody asked.
    pub read: Option<Acuity>,
}

/// What is known of the result of one eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Certainty {
    /// Whether the answers fit the power written: else no limit can be named.
    pub settled: bool,
    /// Within this of it 95 % of repeats would lie, in dioptres of spherical equivalent.
    pub within_d: f64,
    /// How often the same was asked again, and answered otherwise.
    pub repeats: AskedAgain,
    /// A blur that this person would just notice, in dioptres.
    pub noticed_d: f64,
    /// A blur that would trouble, in dioptres.
    pub troubles_d: f64,
    /// Unaided.
    pub unaided: Option<Line>,
    /// Through a pinhole alone.
    pub pinhole: Option<Line>,
    /// Through +1.00 over what was found.
    pub fogged: Option<Line>,
}

/// In words how sure a result is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sure {
    /// To about a quarter of a dioptre.
    ToAQuarter,
    /// To about half a dioptre.
    ToAHalf,
    /// To about three quarters.
    ToThreeQuarters,
    /// Not even so far.
    Roughly,
    /// The answers do not settle it.
    NotSettled,
}

impl Certainty {
    /// What is known of an eye with this prescription.
    pub fn of(state: &State, eye: Eye, of_eye: &EyePrescription) -> Self {
        let repeats = AskedAgain::of(&observed(state, eye));
        let widened = (repeats.share() / WIDEST_FROM_SHARE).min(1.0);
        // the least difference that is noticed at a poor line is the lower figure of its 6 m fraction over 30
        let denominator = of_eye.acuity.and_then(Acuity::denominator_6_m).unwrap_or(6.0);
        let noticed_d = NOTICED_D.max(denominator / 30.0);
        let least = if denominator > 12.0 { denominator / 30.0 } else { 0.0 };
        let within_d = (REPEAT_M_D + widened * (WIDEST_REPEAT_M_D - REPEAT_M_D)).max(least);
        let best = of_eye.acuity.and_then(Acuity::log_mar);
        let line = |missing: Power, opening: Opening, read: Option<Acuity>| {
            let Expected { log_mar, .. } =
                expected(best?, missing, state.person.age_years, state.person.drops, opening)?;
            Some(Line { expected: Acuity::of_log_mar(log_mar), read })
        };
        let fog = of_eye.found + Power::sphere(Dioptres(FOG_D));
        let through_fog = state.readings.iter().rev().find(|reading| {
            reading.eye == Some(eye) && reading.before[eye].is_some_and(|before| before.miss(fog) <= SAME_POWER_D)
        });
        Self {
            settled: misfit(state, eye, of_eye.found).is_none(),
            within_d,
            repeats,
            noticed_d,
            troubles_d: TROUBLES_TIMES * noticed_d,
            unaided: line(of_eye.found, Opening::Pupil, state.last_read(eye, Through::Unaided)),
            pinhole: line(of_eye.found, Opening::Pinhole, state.last_read(eye, Through::Pinhole)),
            fogged: line(of_eye.found - fog, Opening::Pupil, through_fog.map(|reading| reading.acuity)),
        }
    }

    /// The same in words.
    pub fn sure(&self) -> Sure {
        match self.within_d {
            _ if !self.settled => Sure::NotSettled,
            within if within <= 0.375 => Sure::ToAQuarter,
            within if within <= 0.625 => Sure::ToAHalf,
            within if within <= 0.875 => Sure::ToThreeQuarters,
            _ => Sure::Roughly,
        }
    }
}

impl Sure {
    /// As a sentence that begins with the eye says it.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::ToAQuarter => "sure to about a quarter of a dioptre",
            Self::ToAHalf => "sure to about half a dioptre",
            Self::ToThreeQuarters => "sure to about three quarters of a dioptre",
            Self::Roughly => "known roughly",
            Self::NotSettled => "not settled: the answers do not fit it",
        }
    }
}
