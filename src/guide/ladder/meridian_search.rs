//! The search for the power that brings one meridian to reversal.
//!
//! Reversal is a place between *with* and *against*: a reflex that fills at once does so over about a quarter of a dioptre, so
//! the nearest power on either side is looked at too, and the middle is taken.

use crate::exam::Movement;
use crate::optics::Dioptres;

/// Far from reversal the reflex is dull and slow: big steps (common practice, no source).
const DULL_STEP_D: f64 = 2.00;
/// A bright reflex is near reversal.
const BRIGHT_STEP_D: f64 = 1.00;
/// The finest step.
const FINEST_D: f64 = 0.25;
/// Powers farther apart than this have a step between them; an eighth of slack, because a stack can miss a little.
const NEIGHBOURS_D: f64 = 1.5 * FINEST_D;
/// Nothing moves over so much: then the pupil is too small or the light too dull to see more, and the middle is taken.
const NEVER_MOVES_D: f64 = 0.75;
/// No lens is asked for beyond this.
const MOST_D: f64 = 20.0;

/// What to do next in a meridian.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::guide) enum Next {
    /// Show this power in it.
    Show(f64),
    /// This power neutralises it: reversal lies here.
    Neutralised(Dioptres),
}

/// What is known of one meridian, in dioptres of what stands in the cells.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(in crate::guide) struct MeridianSearch {
    /// With movement was seen up to here: reversal lies at more plus.
    with_at: Option<f64>,
    /// Against movement was seen from here on: reversal lies at less plus.
    against_at: Option<f64>,
    /// From where to where there was none.
    neither: Option<(f64, f64)>,
}

impl MeridianSearch {
    /// Takes in how the reflex moves at a power and says where to go: overshoot, come back, take the place between.
    ///
    /// A movement that contradicts an earlier one replaces it: the later one counts.
    pub fn seen(&mut self, at: f64, movement: Movement) -> Next {
        match movement {
            Movement::Neither => {
                self.with_at = self.with_at.filter(|&with| with < at);
                self.against_at = self.against_at.filter(|&against| against > at);
                self.neither = Some(self.neither.map_or((at, at), |(from, to)| (from.min(at), to.max(at))));
                self.next(at, 0.0)
            }
            Movement::With { dull } => {
                let with = self.with_at.map_or(at, |before| before.max(at));
                self.with_at = Some(with);
                self.against_at = self.against_at.filter(|&against| against > with);
                self.neither = self.neither.filter(|&(_, to)| to > with).map(|(from, to)| (from.max(with), to));
                self.next(at, if dull { DULL_STEP_D } else { BRIGHT_STEP_D })
            }
            Movement::Against { dull } => {
                let against = self.against_at.map_or(at, |before| before.min(at));
                self.against_at = Some(against);
                self.with_at = self.with_at.filter(|&with| with < against);
                self.neither =
                    self.neither.filter(|&(from, _)| from < against).map(|(from, to)| (from, to.min(against)));
                self.next(at, if dull { -DULL_STEP_D } else { -BRIGHT_STEP_D })
            }
        }
    }

    fn next(&self, at: f64, step: f64) -> Next {
        if let Some((from, to)) = self.neither {
            let is_next = |one: f64, other: f64| one - other < NEIGHBOURS_D;
            return match (self.with_at, self.against_at) {
                _ if to - from >= NEVER_MOVES_D => Next::Neutralised(Dioptres(f64::midpoint(from, to))),
                (_, against) if against.is_none_or(|against| !is_next(against, to)) && to + FINEST_D <= MOST_D => {
                    Next::Show(to + FINEST_D)
                }
                (with, _) if with.is_none_or(|with| !is_next(from, with)) && from - FINEST_D >= -MOST_D => {
                    Next::Show(from - FINEST_D)
                }
                (Some(with), Some(against)) => Next::Neutralised(Dioptres(f64::midpoint(with, against))),
                _ => Next::Neutralised(Dioptres(f64::midpoint(from, to))),
            };
        }
        if let (Some(with), Some(against)) = (self.with_at, self.against_at) {
            if against - with < NEIGHBOURS_D {
                return Next::Neutralised(Dioptres(f64::midpoint(with, against)));
            }
            let quarters = ((against - with) / 2.0 / FINEST_D).round().max(1.0);
            return Next::Show(with + quarters * FINEST_D);
        }
        if (at + step).abs() > MOST_D { Next::Neutralised(Dioptres(at)) } else { Next::Show(at + step) }
    }
}
