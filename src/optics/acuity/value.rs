//! What a person read, or sees where no letter is read.

use libm::{log10, pow};
use serde::{Deserialize, Serialize};

use super::chart::ChartPlace;

/// What one letter is worth, in logMAR: a fifth of a 0.1 line.
pub const LETTER_LOG_MAR: f64 = 0.02;

/// What a person read: a line of the chart, with letters missed or gained; or what is seen where no letter is read.
///
/// It is kept for ever: a new variant is listed and pinned in `tests/rooms/kept/`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Acuity {
    /// A line, whole or nearly.
    Line {
        /// Minimum angle of resolution of the line in minutes of arc: 1 for 6/6, 2 for 6/12.
        mar: f64,
        /// Letters missed (negative) or read in the next line (positive).
        letters: i8,
    },
    /// A line of a chart that stood at another distance than its figures say.
    ChartLine {
        /// Minimum angle of resolution that the chart's figures say, in minutes of arc.
        mar: f64,
        /// Letters missed (negative) or read in the next line (positive).
        letters: i8,
        /// The distance in metres for which the figures are printed.
        made_for_m: f64,
        /// The distance in metres at which the chart stood.
        stood_at_m: f64,
    },
    /// No letter of the chart.
    #[serde(alias = "noletter")]
    NoLetter,
    /// No letter, but fingers are counted.
    CountingFingers,
    /// No letter, but a hand is seen to move.
    HandMovements,
    /// Light is seen and nothing else.
    LightPerception,
    /// Not even light is seen.
    NoLightPerception,
}

impl Acuity {
    /// What is seen where no letter is read, best first.
    pub const WITHOUT_LETTERS: [Self; 5] =
        [Self::NoLetter, Self::CountingFingers, Self::HandMovements, Self::LightPerception, Self::NoLightPerception];

    /// A line of the 6 m chart by the lower figure of its fraction: 12 for 6/12.
    pub fn of_6_m(denominator: f64) -> Self {
        Self::Line { mar: denominator / 6.0, letters: 0 }
    }

    /// A line by its logMAR: 0.3 for a minimum angle of resolution of 10^0.3 minutes of arc.
    pub fn of_log_mar(log_mar: f64) -> Self {
        Self::Line { mar: pow(10.0, log_mar), letters: 0 }
    }

    /// The same line read on a chart: the figures of one that stands elsewhere than they say are kept beside the true
    /// acuity. What is no line, or has a chart already, stays as it is.
    #[must_use]
    pub fn read_on(self, chart: ChartPlace) -> Self {
        let Self::Line { mar, letters } = self else { return self };
        if chart.is_as_made() {
            return self;
        }
        Self::ChartLine { mar, letters, made_for_m: chart.made_for_m, stood_at_m: chart.stands_at_m }
    }

    /// The line as the chart's figures say it, and the chart, where that stood elsewhere than they say.
    pub fn on_chart(self) -> Option<(Self, ChartPlace)> {
        match self {
            Self::ChartLine { mar, letters, made_for_m, stood_at_m } => {
                Some((Self::Line { mar, letters }, ChartPlace { made_for_m, stands_at_m: stood_at_m }))
            }
            Self::Line { .. }
            | Self::NoLetter
            | Self::CountingFingers
            | Self::HandMovements
            | Self::LightPerception
            | Self::NoLightPerception => None,
        }
    }

    /// The true minimum angle of resolution of the line in minutes of arc, and the letters missed or gained: a line of a chart
    /// made for 6 m is twice as large an angle at 3 m. `None` where no letter is read.
    pub fn line(self) -> Option<(f64, i8)> {
        match self {
            Self::Line { mar, letters } => Some((mar, letters)),
            Self::ChartLine { mar, letters, made_for_m, stood_at_m } => Some((mar * made_for_m / stood_at_m, letters)),
            Self::NoLetter
            | Self::CountingFingers
            | Self::HandMovements
            | Self::LightPerception
            | Self::NoLightPerception => None,
        }
    }

    /// The true minimum angle of resolution in minutes of arc, letters counted; `None` when no letter was read.
    pub fn mar(self) -> Option<f64> {
        self.line().map(|(mar, letters)| mar * pow(10.0, -f64::from(letters) * LETTER_LOG_MAR))
    }

    /// logMAR, letters counted; `None` when no letter was read: counting fingers and less have none that a source agrees on.
    /// Smaller is better.
    pub fn log_mar(self) -> Option<f64> {
        self.line().map(|(mar, letters)| log10(mar) - f64::from(letters) * LETTER_LOG_MAR)
    }

    /// The lower figure of the 6 m fraction with the letters counted in; `None` when no letter was read.
    pub fn denominator_6_m(self) -> Option<f64> {
        self.log_mar().map(|log_mar| 6.0 * pow(10.0, log_mar))
    }

    /// The score of letters, 85 − 50 logMAR (ETDRS: 85 is 20/20, 70 is 20/40; Gregori); `None` when no letter was read.
    pub fn letter_score(self) -> Option<f64> {
        self.log_mar().map(|log_mar| LETTERS_AT_20_20 - log_mar / LETTER_LOG_MAR)
    }

    /// A line by its score of letters.
    pub fn of_letter_score(letters: f64) -> Self {
        Self::of_log_mar((LETTERS_AT_20_20 - letters) * LETTER_LOG_MAR)
    }

    /// What is seen where no letter is read, in words; `None` for a line.
    pub fn without_letters(self) -> Option<&'static str> {
        match self {
            Self::Line { .. } | Self::ChartLine { .. } => None,
            Self::NoLetter => Some("no letter"),
            Self::CountingFingers => Some("counting fingers"),
            Self::HandMovements => Some("hand movements"),
            Self::LightPerception => Some("light perception"),
            Self::NoLightPerception => Some("no light perception"),
        }
    }

    /// The same as examiners abbreviate it; `None` for a line.
    pub fn abbreviated(self) -> Option<&'static str> {
        match self {
            Self::Line { .. } | Self::ChartLine { .. } => None,
            Self::NoLetter => Some("no letter"),
            Self::CountingFingers => Some("CF"),
            Self::HandMovements => Some("HM"),
            Self::LightPerception => Some("PL"),
            Self::NoLightPerception => Some("NPL"),
        }
    }
}

/// The score of letters at 20/20 (ETDRS; Gregori).
const LETTERS_AT_20_20: f64 = 85.0;
