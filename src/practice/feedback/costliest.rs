//! The one step that cost most: after it the eye stood further from what it needs, and that stayed; or else the longest stretch
//! of looks that came no nearer.

use serde::Serialize;

use super::replay::Replayed;
use super::unsafe_changes::changes_by_hand;
use crate::exam::{ProcedureName, State};
use crate::optics::{Eye, Eyes, Power};

/// What cost most, with the steps to replay it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Costliest {
    /// Before which eye.
    pub eye: Eye,
    /// How many steps stood before it.
    pub before: usize,
    /// How many stood after it.
    pub after: usize,
    /// The procedure that led it, where one did.
    pub procedure: Option<ProcedureName>,
    /// Why it cost.
    pub why: Why,
}

/// Why a step cost.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum Why {
    /// What stood there, or was accepted, went away from what is needed and did not come back.
    WentAway {
        /// What stood before the eye.
        from: Power,
        /// What stood there afterwards, or was accepted.
        to: Power,
        /// By how many dioptres of blur strength it stayed further away.
        by_d: f64,
    },
    /// Looks that came no nearer.
    NoNearer {
        /// How many.
        looks: usize,
        /// By how many dioptres of blur strength the eye was off all the while.
        off_by_d: f64,
    },
}

/// Going away by less is no cost to speak of, in dioptres.
const COSTS_FROM_D: f64 = 0.25;
/// An eye within this of its need has no nearer to come, in dioptres.
const NEAR_D: f64 = 0.37;
/// Coming nearer by less than this is not nearer, in dioptres.
const NEARER_D: f64 = 0.06;
/// Fewer looks are no stretch.
const LEAST_STRETCH: usize = 4;

/// The step that cost most of both eyes; `None` where none did.
pub(super) fn costliest(steps: &[Replayed], state: &State, needs: Eyes<Power>) -> Option<Costliest> {
    let by_d = |one: &Costliest| match one.why {
        Why::WentAway { by_d, .. } => by_d,
        Why::NoNearer { looks, .. } => looks as f64,
    };
    let most = |found: Vec<Costliest>| found.into_iter().max_by(|one, other| by_d(one).total_cmp(&by_d(other)));
    let tracks = Eyes::from_fn(|eye| Track::of(steps, state, eye, needs[eye]));
    let went_away = tracks.iter().flat_map(|(_, track)| track.went_away(steps)).collect();
    most(went_away).or_else(|| most(tracks.iter().filter_map(|(_, track)| track.no_nearer(steps)).collect()))
}

/// What stood before one eye after each step, up to the last at which its power was accepted.
struct Track {
    eye: Eye,
    needs: Power,
    /// From the beginning on, so one more than steps.
    stood: Vec<Power>,
}

impl Track {
    fn of(steps: &[Replayed], state: &State, eye: Eye, needs: Power) -> Self {
        let accepted_at = steps.iter().rposition(|step| step.accepted[eye]);
        let end = accepted_at.map_or(steps.len(), |place| place + 1);
        let mut stands = steps.first().map_or(Power::ZERO, |step| step.before[eye].net);
        let mut stood = vec![stands];
        for step in &steps[..end] {
            // behind an occluder the powers mean nothing
            if !step.after[eye].occluded {
                stands = step.after[eye].net;
            }
            stood.push(stands);
        }
        if let (Some(_), Some(accepted), Some(last)) = (accepted_at, state.results.refraction[eye], stood.last_mut()) {
            *last = accepted;
        }
        Self { eye, needs, stood }
    }

    fn off_d(&self, after: usize) -> f64 {
        self.stood[after].miss(self.needs)
    }

    /// Every change after which the eye stayed further from what it needs.
    fn went_away<'a>(&'a self, steps: &'a [Replayed]) -> Vec<Costliest> {
        let last = self.stood.len() - 1;
        // the least that it is off from each step on
        let mut stays = vec![f64::INFINITY; self.stood.len()];
        for after in (0..=last).rev() {
            stays[after] = self.off_d(after).min(stays.get(after + 1).copied().unwrap_or(f64::INFINITY));
        }
        let by_hand: Vec<_> = changes_by_hand(steps).filter(|change| change.end <= last).collect();
        let alone = (0..last).filter(|step| !steps[*step].by_hand).map(|step| step..step + 1);
        let changes = by_hand.into_iter().chain(alone);
        let cost = changes.filter_map(|change| {
            let by_d = stays[change.end] - self.off_d(change.start);
            let why = Why::WentAway { from: self.stood[change.start], to: self.stood[change.end], by_d };
            let procedure = steps[change.start].procedure;
            let costs = by_d >= COSTS_FROM_D;
            costs.then_some(Costliest { eye: self.eye, before: change.start, after: change.end, procedure, why })
        });
        cost.collect()
    }

    /// The longest stretch of looks at this eye in which nothing that stood there came nearer.
    fn no_nearer(&self, steps: &[Replayed]) -> Option<Costliest> {
        let mut best_d = self.off_d(0);
        let mut stretch = Stretch::default();
        let mut longest: Option<(Stretch, usize, f64)> = None;
        for (place, step) in steps.iter().enumerate().take(self.stood.len() - 1) {
            let off_d = self.off_d(place + 1);
            if off_d < best_d - NEARER_D {
                (best_d, stretch) = (off_d, Stretch { from: place + 1, ..Stretch::default() });
                continue;
            }
            if step.asked == Some(self.eye) {
                stretch.take(step);
            }
            let is_longer = longest.as_ref().is_none_or(|(longest, ..)| stretch.looks > longest.looks);
            if best_d > NEAR_D && stretch.looks >= LEAST_STRETCH && is_longer {
                longest = Some((stretch.clone(), place + 1, best_d));
            }
        }
        longest.map(|(stretch, after, off_by_d)| Costliest {
            eye: self.eye,
            before: stretch.from,
            after,
            procedure: stretch.procedure(),
            why: Why::NoNearer { looks: stretch.looks, off_by_d },
        })
    }
}

/// Looks at one eye in a row.
#[derive(Debug, Clone, Default)]
struct Stretch {
    from: usize,
    looks: usize,
    by: Vec<(Option<ProcedureName>, usize)>,
}

impl Stretch {
    fn take(&mut self, step: &Replayed) {
        self.looks += step.looks;
        match self.by.iter_mut().find(|(procedure, _)| *procedure == step.procedure) {
            Some((_, looks)) => *looks += step.looks,
            None => self.by.push((step.procedure, step.looks)),
        }
    }

    /// The procedure that asked for most of them.
    fn procedure(&self) -> Option<ProcedureName> {
        self.by.iter().max_by_key(|(_, looks)| *looks).and_then(|(procedure, _)| *procedure)
    }
}
