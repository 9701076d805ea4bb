//! The notations of acuities.

use serde::{Deserialize, Serialize};

use crate::optics::listed::listed;

listed! {
    /// How acuity is written, and how a bare number is read.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
    #[serde(rename_all = "snake_case")]
    pub enum AcuityNotation {
        /// The fraction at six metres: `6/12`.
        #[default]
        SixMetres,
        /// The fraction at three metres: `3/6`.
        ThreeMetres,
        /// The fraction at twenty feet: `20/40`.
        TwentyFeet,
        /// The decimal: `0.5`.
        Decimal,
        /// The logarithm of the minimum angle of resolution: `0.30logMAR`.
        LogMar,
        /// The score of letters of an ETDRS chart: `70 letters`.
        Letters,
    }
}

impl AcuityNotation {
    /// As settings and commands name it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::SixMetres => "6m",
            Self::ThreeMetres => "3m",
            Self::TwentyFeet => "20ft",
            Self::Decimal => "decimal",
            Self::LogMar => "logMAR",
            Self::Letters => "letters",
        }
    }

    /// The notation of that name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|notation| notation.name() == name)
    }

    /// Whether letters are counted in it over the whole chart, so that what is read is a number and no line.
    pub const fn counts_letters(self) -> bool {
        match self {
            Self::Letters => true,
            Self::SixMetres | Self::ThreeMetres | Self::TwentyFeet | Self::Decimal | Self::LogMar => false,
        }
    }

    /// What can be typed in it, for somebody who is asked for a line.
    pub fn hint(self) -> &'static str {
        match self {
            Self::SixMetres => "a line, like 6/12-2",
            Self::ThreeMetres => "a line, like 3/6-2",
            Self::TwentyFeet => "a line, like 20/40-2",
            Self::Decimal => "a line, like 0.5",
            Self::LogMar => "a line, like 0.3",
            Self::Letters => "letters, like 70",
        }
    }
}
