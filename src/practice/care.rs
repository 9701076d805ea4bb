//! How well and how steadily people see and answer.

use libm::exp;

use super::draws::Draws;
use super::law::Law;
use crate::optics::listed::listed;

listed! {
    /// With how much care a person answers.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
    pub enum Care {
        /// As the written law has it.
        #[default]
        Typical,
        /// Compares more finely.
        Careful,
        /// Compares more coarsely.
        Vague,
        /// Differs from person to person in everything.
        Varied,
    }
}

impl Care {
    /// Its name on the command line and in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Typical => "typical",
            Self::Careful => "careful",
            Self::Vague => "vague",
            Self::Varied => "varied",
        }
    }

    /// The care of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|care| care.name() == name)
    }
}

/// The best acuity of an eye that is not said to be poorer: 6/5, as log MAR.
pub const USUAL_BEST_LOG_MAR: f64 = -0.079_181_246_047_624_83;

/// How one person sees and answers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Traits {
    /// The best log MAR of both eyes.
    pub best_log_mar: f64,
    /// How much more blur the pupil makes than a usual one: the *q* of the law.
    pub pupil: f64,
    /// How much more than usual at this age is accommodated.
    pub accommodation: f64,
    /// Standard deviation of the accommodation, in dioptres, while the eye accommodates.
    pub wobble_d: f64,
    /// Standard deviation of a reading, in log MAR.
    pub reading_log_mar: f64,
    /// Standard deviation of a comparison, in log MAR: the *s* of the law.
    pub comparison_log_mar: f64,
    /// Standard deviation of how far a line of the fan is seen drawn out, in dioptres.
    pub fan_d: f64,
    /// Standard deviation of what the examiner sees in the retinoscope, in dioptres.
    pub reflex_d: f64,
    /// In which share of the comparisons any answer is given.
    pub slips: f64,
}

impl Traits {
    /// The traits of the written law.
    pub const TYPICAL: Self = Self {
        best_log_mar: USUAL_BEST_LOG_MAR,
        pupil: 1.0,
        accommodation: 1.0,
        wobble_d: 0.10,
        reading_log_mar: 0.05,
        comparison_log_mar: 0.03,
        fan_d: 0.06,
        reflex_d: 0.10,
        slips: 0.01,
    };

    /// Somebody who sees as the law says without any chance in it, for checks.
    pub const STEADY: Self = Self {
        wobble_d: 0.0,
        reading_log_mar: 0.0,
        comparison_log_mar: 0.0,
        fan_d: 0.0,
        reflex_d: 0.0,
        slips: 0.0,
        ..Self::TYPICAL
    };

    /// Those that all people of a care share; `None` for a care of which each has their own.
    pub fn shared(care: Care) -> Option<Self> {
        match care {
            Care::Typical => Some(Self::TYPICAL),
            Care::Careful => Some(Self { comparison_log_mar: 0.02, ..Self::TYPICAL }),
            Care::Vague => Some(Self { comparison_log_mar: 0.06, ..Self::TYPICAL }),
            Care::Varied => None,
        }
    }

    /// Those of somebody of this care and law.
    pub fn drawn(care: Care, law: Law, draws: &mut Draws) -> Self {
        let of_care = Self::shared(care).unwrap_or_else(|| Self {
            best_log_mar: -0.05 + draws.normal(0.07),
            pupil: exp(draws.normal(0.2)),
            accommodation: draws.between(0.7, 1.3),
            reading_log_mar: draws.between(0.03, 0.07),
            comparison_log_mar: draws.between(0.02, 0.06),
            slips: 0.02,
            ..Self::TYPICAL
        });
        of_care.under(law)
    }

    /// The same under a law that has its own share of slips.
    #[must_use]
    pub fn under(self, law: Law) -> Self {
        if law == Law::Runs { Self { slips: 0.03, ..self } } else { self }
    }
}
