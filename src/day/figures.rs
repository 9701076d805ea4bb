//! The running figures of a day.

use jiff::SignedDuration;

use super::list::DayLine;
use crate::exam::{Outcome, OutcomeKind};

/// The running figures of a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayFigures {
    /// How many were seen: whose exam was closed.
    pub seen: usize,
    /// How many are still to be seen, those who went away left out.
    pub to_come: usize,
    /// The time in exams that those seen took in the mean; `None` before the first.
    pub each: Option<SignedDuration>,
    /// How many of those seen came to each outcome, in the order of [`OutcomeKind::ALL`].
    pub outcomes: [usize; 6],
    /// How many of those seen have no outcome.
    pub without: usize,
}

impl DayFigures {
    /// Of the lines of a day.
    pub fn of(lines: &[DayLine]) -> Self {
        let seen: Vec<&DayLine> = lines.iter().filter(|line| line.state.was_seen()).collect();
        let all: SignedDuration = seen.iter().map(|line| line.took).sum();
        let count = |kind| seen.iter().filter(|line| line.outcome.as_ref().map(Outcome::kind) == Some(kind)).count();
        let people = i32::try_from(seen.len()).unwrap_or(i32::MAX);
        Self {
            seen: seen.len(),
            to_come: lines.iter().filter(|line| line.state.can_be_called() && !line.state.has_left()).count(),
            each: (people > 0).then(|| all / people),
            outcomes: OutcomeKind::ALL.map(count),
            without: seen.iter().filter(|line| line.outcome.is_none()).count(),
        }
    }

    /// How many came to each outcome, those without anybody left out: `, 3 glasses, 1 refer`.
    pub fn came(&self) -> String {
        let came = OutcomeKind::ALL.into_iter().filter(|kind| self.count(*kind) > 0);
        came.fold(String::new(), |text, kind| format!("{text}, {} {}", self.count(kind), kind.shown()))
    }

    /// How many of those seen came to an outcome.
    pub fn count(&self, kind: OutcomeKind) -> usize {
        let place = OutcomeKind::ALL.into_iter().position(|other| other == kind);
        place.map_or(0, |place| self.outcomes[place])
    }
}

/// A length of time as minutes and seconds: `4:20`.
pub fn minutes_and_seconds(took: SignedDuration) -> String {
    let seconds = took.as_secs().max(0);
    format!("{}:{:02}", seconds / 60, seconds % 60)
}
