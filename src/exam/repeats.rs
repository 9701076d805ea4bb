//! How often the same question got another answer when it was asked again.

use super::answer::{Answer, GuideEvent};
use super::person::Repeats;
use crate::optics::Acuity;

/// Two readings nearer than a line, in log MAR, are the same answer.
const A_LINE_LOG_MAR: f64 = 0.1 - 1e-6;

/// Those of one exam.
pub fn repeats_of(events: &[GuideEvent]) -> Repeats {
    let mut repeats = Repeats::default();
    let (mut last, mut again) = (None, false);
    for event in events {
        match event {
            GuideEvent::Answered { answer, .. } => {
                if let Some(before) = last.filter(|_| again) {
                    repeats.repeated += 1;
                    repeats.changed += usize::from(!are_alike(before, *answer));
                }
                (last, again) = (Some(*answer), false);
            }
            GuideEvent::Repeated => again = true,
            GuideEvent::Began { .. }
            | GuideEvent::Skipped { .. }
            | GuideEvent::Left
            | GuideEvent::ProceduresChanged { .. } => (last, again) = (None, false),
            GuideEvent::SetOut(_) | GuideEvent::TakenOver(_) | GuideEvent::Corrected { .. } | GuideEvent::Chose(_) => {}
        }
    }
    repeats
}

fn are_alike(one: Answer, other: Answer) -> bool {
    let log_mar = |answer: Answer| answer.acuity().and_then(Acuity::log_mar);
    match (log_mar(one), log_mar(other)) {
        (Some(one), Some(other)) => (one - other).abs() < A_LINE_LOG_MAR,
        _ => one == other,
    }
}
