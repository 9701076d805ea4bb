//! Lenses changed so that a young eye had less plus, or more minus, for a moment than before and after: it accommodates, and
//! lets go only slowly (common practice, no source).

use serde::Serialize;

use super::replay::Replayed;
use crate::optics::Eye;
use crate::practice::people::Person;
use crate::stacking::moves::less_plus_meanwhile_d;

/// From this age on it does no harm, in years: the accommodation that is left is little (common practice, no source).
const NO_HARM_FROM_YEARS: u8 = 45;

/// Less plus by so much is noticed by the eye, in dioptres: more than a quarter.
const NOTICED_D: f64 = 0.30;

/// What was changed unsafely before one eye.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct UnsafeChanges {
    /// Before which eye.
    pub eye: Eye,
    /// How often.
    pub times: usize,
    /// By how much less plus the eye had meanwhile, at most, in dioptres.
    pub most_d: f64,
    /// How many steps stood before the change that did most.
    pub before: usize,
    /// How many stood after it.
    pub after: usize,
}

/// A change by hand: steps in which lenses move and nobody looks, one after the other.
pub(super) fn changes_by_hand(steps: &[Replayed]) -> impl Iterator<Item = std::ops::Range<usize>> + '_ {
    let mut from = 0;
    std::iter::from_fn(move || {
        from += steps[from..].iter().position(|step| step.by_hand)?;
        let count = steps[from..].iter().take_while(|step| step.by_hand).count();
        let change = from..from + count;
        from += count;
        Some(change)
    })
}

/// The unsafe changes of an exam, of each eye that had any.
pub(super) fn unsafe_changes(person: &Person, steps: &[Replayed]) -> Vec<UnsafeChanges> {
    if person.age_years >= NO_HARM_FROM_YEARS {
        return Vec::new();
    }
    Eye::BOTH.into_iter().filter_map(|eye| of_eye(eye, steps)).collect()
}

fn of_eye(eye: Eye, steps: &[Replayed]) -> Option<UnsafeChanges> {
    let mut found: Option<UnsafeChanges> = None;
    for change in changes_by_hand(steps) {
        let moves = &steps[change.clone()];
        // a covered eye does not look
        if moves.iter().any(|step| step.before[eye].occluded || step.after[eye].occluded) {
            continue;
        }
        let first = moves.first().map(|step| step.before[eye].net_with_hand.m);
        let through: Vec<f64> =
            first.into_iter().chain(moves.iter().map(|step| step.after[eye].net_with_hand.m)).collect();
        let less_d = less_plus_meanwhile_d(&through);
        if less_d < NOTICED_D {
            continue;
        }
        let changes = found.get_or_insert(UnsafeChanges { eye, times: 0, most_d: 0.0, before: 0, after: 0 });
        changes.times += 1;
        if less_d > changes.most_d {
            (changes.most_d, changes.before, changes.after) = (less_d, change.start, change.end);
        }
    }
    found
}
