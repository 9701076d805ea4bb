//! What an eye sees through a lens, without any chance: the written law and what other laws change in it.
//!
//! The law is ours, fixed so that figures mean the same every time. Behind it stand: MAR ∝ 1 + b² for a blur of b dioptres
//! (Blendowske 2015); an objective amplitude of accommodation A = 7.33 − 0.0035 (age − 3)² (Anderson, *IOVS* 2008;49:2919),
//! of which long-sighted eyes spend k (1 − exp(−M/k)) with k = 0.80 A, at least 0.95: fitted to the unaided acuities of
//! Peters 1961; the power along a line by the matrix of the power vector (Long 1976). What its numbers come to is checked
//! against published figures in `tests/rooms/practice/`.

use libm::{exp, log10, pow, sqrt};

use super::law::Law;
use crate::optics::{Dioptres, Power};

/// A chart is made for this distance, and counts as far from there on, in metres.
pub const FAR_M: f64 = 6.0;

/// What each square dioptre of blur adds to the minimum angle of resolution, in minutes of arc: so that 6/5 reads 6/12 through
/// +1.00.
const MAR_OF_SQUARE_DIOPTRE: f64 = 1.17;

/// The same where a quarter of a dioptre is not seen (law `dead-zone`).
const MAR_BEYOND_DEAD_ZONE: f64 = 1.167;

/// The same where blur and best acuity add as squares (law `linear`).
const SQUARE_MAR_OF_SQUARE_DIOPTRE: f64 = 3.306;

/// How much of the blur a pinhole leaves.
const BLUR_THROUGH_PINHOLE: f64 = 0.3;

/// How much a small opening takes of the best acuity.
const MAR_THROUGH_OPENING: f64 = 1.15;

/// Through what an eye looks besides lenses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aperture {
    /// Its own pupil.
    Pupil,
    /// A pinhole.
    Pinhole,
    /// A slit along a direction in degrees on the dial.
    Slit {
        /// The direction.
        along_deg: f64,
    },
}

/// One look of one eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// The net power that stands before the eye, at cell 1, with what the hand holds.
    pub before: Power,
    /// What the distance of the thing looked at adds to the need, in dioptres.
    pub vergence_d: f64,
    /// Through what it is looked at.
    pub aperture: Aperture,
}

impl Look {
    /// At a chart so many metres away, through lenses alone.
    pub fn at_chart(before: Power, metres: f64) -> Self {
        Self { before, vergence_d: vergence_of_chart_d(metres), aperture: Aperture::Pupil }
    }

    /// At print so many metres away, through lenses alone.
    pub fn at_print(before: Power, metres: f64) -> Self {
        Self { before, vergence_d: 1.0 / metres, aperture: Aperture::Pupil }
    }
}

/// What a chart so many metres away adds to the need, in dioptres: 6 m is taken for far.
pub fn vergence_of_chart_d(metres: f64) -> f64 {
    (1.0 / metres - 1.0 / FAR_M).max(0.0)
}

/// How an eye is just now.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Condition {
    /// Accommodation that is not relaxed, in dioptres.
    pub tone_d: f64,
    /// How much worse than its best the eye resolves, in log MAR.
    pub worse_log_mar: f64,
}

/// What one eye is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PracticeEye {
    /// The power that it needs at cell 1 of the frame to see far.
    pub needs: Power,
    /// Its best log MAR.
    pub best_log_mar: f64,
    /// How much more blur its pupil makes than a usual one.
    pub pupil: f64,
    /// How much more than usual at this age it accommodates.
    pub accommodation: f64,
    /// Age in years.
    pub age_years: f64,
    /// By which law it sees.
    pub law: Law,
}

impl PracticeEye {
    /// What is missing before anything is accommodated.
    pub fn missing(&self, look: &Look) -> Power {
        self.needs + Power::sphere(Dioptres(look.vergence_d)) - look.before
    }

    /// How much is accommodated where a sphere is missing, in dioptres; nothing where there is too much.
    pub fn spends_d(&self, missing_d: f64, condition: Condition) -> f64 {
        condition.tone_d + self.spends_at_will_d(missing_d - condition.tone_d)
    }

    fn spends_at_will_d(&self, missing_d: f64) -> f64 {
        if missing_d <= 0.0 {
            return 0.0;
        }
        match self.law {
            Law::Amplitude => (0.9 * missing_d).min((18.5 - 0.30 * self.age_years).max(0.0)),
            Law::Written
            | Law::Linear
            | Law::DeadZone
            | Law::HeavyTails
            | Law::Runs
            | Law::Tired
            | Law::LearnsChart
            | Law::WholeLines
            | Law::Eager
            | Law::NeverSame
            | Law::Blacker
            | Law::Tone => {
                let years = self.age_years - 3.0;
                let amplitude_d = 7.33 - 0.0035 * years * years;
                let most_d = self.accommodation * (0.80 * amplitude_d).max(0.95);
                most_d * (1.0 - exp(-missing_d / most_d))
            }
        }
    }

    /// Whether a look makes it accommodate at will.
    pub fn accommodates(&self, look: &Look, condition: Condition) -> bool {
        self.missing(look).m > condition.tone_d
    }

    /// What is left when so much is accommodated, in dioptres.
    pub fn left(&self, look: &Look, spent_d: f64) -> Power {
        self.missing(look) - Power::sphere(Dioptres(spent_d))
    }

    /// The log MAR with what is left before it.
    pub fn log_mar_with(&self, left: Power, aperture: Aperture, condition: Condition) -> f64 {
        let (blur_d, pupil, opening) = match aperture {
            Aperture::Pupil => (left.blur_strength(), self.pupil, 1.0),
            Aperture::Pinhole => (left.blur_strength(), self.pupil * BLUR_THROUGH_PINHOLE, MAR_THROUGH_OPENING),
            Aperture::Slit { along_deg } => (left.along(along_deg).abs(), self.pupil, MAR_THROUGH_OPENING),
        };
        let best = opening * pow(10.0, self.best_log_mar + condition.worse_log_mar);
        let squares = |blur_d: f64| pupil * pupil * blur_d * blur_d;
        log10(match self.law {
            Law::Linear => sqrt(best * best + SQUARE_MAR_OF_SQUARE_DIOPTRE * squares(blur_d)),
            Law::DeadZone => best + MAR_BEYOND_DEAD_ZONE * squares((blur_d - 0.25).max(0.0) / 0.75),
            Law::Written
            | Law::Amplitude
            | Law::HeavyTails
            | Law::Runs
            | Law::Tired
            | Law::LearnsChart
            | Law::WholeLines
            | Law::Eager
            | Law::NeverSame
            | Law::Blacker
            | Law::Tone => best + MAR_OF_SQUARE_DIOPTRE * squares(blur_d),
        })
    }

    /// The log MAR of a look without any chance.
    pub fn log_mar(&self, look: &Look, condition: Condition) -> f64 {
        let spent_d = self.spends_d(self.missing(look).m, condition);
        self.log_mar_with(self.left(look, spent_d), look.aperture, condition)
    }

    /// How far a line is seen drawn out with what is left, in dioptres; its direction in degrees on the dial.
    ///
    /// A line is blurred by what acts across it: |E n|, n at right angles to the line.
    pub fn drawn_out_d(left: Power, line_deg: f64) -> f64 {
        let across = left.along(line_deg + 90.0);
        let skew = left.turned(-line_deg).j45;
        sqrt(across * across + skew * skew)
    }
}
