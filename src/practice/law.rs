//! The laws by which a practice eye sees and answers: the written one, and twelve others.
//!
//! The written law is fixed, so that figures mean the same every time. A way of refracting is never proved on one law
//! alone: the others change what they name in it and nothing else.

use crate::optics::listed::listed;

listed! {
    /// By which law an eye sees and answers.
    #[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
    pub enum Law {
        /// The written law.
        #[default]
        Written,
        /// Blur adds to the best acuity as squares: MAR² = MAR0² + 3.306 q² u².
        Linear,
        /// Blur below a quarter of a dioptre is not seen: MAR = MAR0 + 1.167 q² v², v = max(0, u − 0.25)/0.75.
        DeadZone,
        /// Nine tenths of what is missing are accommodated, up to Hofstetter's mean amplitude.
        Amplitude,
        /// In one comparison of ten the noise is four times as large.
        HeavyTails,
        /// Slips come in runs, and some readings are off by two lines.
        Runs,
        /// The noise grows and the best acuity falls with every question.
        Tired,
        /// The chart is read better the more often it was read.
        LearnsChart,
        /// Only whole lines of the usual chart are said.
        WholeLines,
        /// The lens shown second is favoured.
        Eager,
        /// Of two looks one is always clearer.
        NeverSame,
        /// Below 40 years, more minus looks clearer for its blackness, to a dioptre too much.
        Blacker,
        /// Below 40 years, some accommodation is not relaxed until it was fogged.
        Tone,
    }
}

impl Law {
    /// Its name on the command line and in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Written => "written",
            Self::Linear => "linear",
            Self::DeadZone => "dead-zone",
            Self::Amplitude => "amplitude",
            Self::HeavyTails => "heavy-tails",
            Self::Runs => "runs",
            Self::Tired => "tired",
            Self::LearnsChart => "learns-chart",
            Self::WholeLines => "whole-lines",
            Self::Eager => "eager",
            Self::NeverSame => "never-same",
            Self::Blacker => "blacker",
            Self::Tone => "tone",
        }
    }

    /// The law of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|law| law.name() == name)
    }
}
