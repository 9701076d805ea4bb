//! The search for the power that brings one meridian to reversal.

use crate::exam::Movement;
use crate::optics::Dioptres;

/// Far from reversal the reflex is dull and slow: big steps (common practice, no source).
const DULL_STEP_D: f64 = 2.00;
/// A bright reflex is near reversal.
const BRIGHT_STEP_D: f64 = 1.00;
/// The finest step.
const FINEST_D: f64 = 0.25;
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
    /// With movement was seen here: reversal lies at more plus.
    pub with_at: Option<f64>,
    /// Against movement was seen here: reversal lies at less plus.
    pub against_at: Option<f64>,
}

impl MeridianSearch {
    /// Takes in how the reflex moves at a power and says where to go: overshoot, come back, take the place between.
    ///
    /// A movement that contradicts an earlier one replaces it: the later one counts.
    pub fn seen(&mut self, at: f64, movement: Movement) -> Next {
        match movement {
            Movement::Neither => Next::Neutralised(Dioptres(at)),
            Movement::With { dull } => {
                self.with_at = Some(self.with_at.map_or(at, |before| before.max(at)));
                if self.against_at.is_some_and(|against| against <= at) {
                    self.against_at = None;
                }
                self.next(at, if dull { DULL_STEP_D } else { BRIGHT_STEP_D })
            }
            Movement::Against { dull } => {
                self.against_at = Some(self.against_at.map_or(at, |before| before.min(at)));
                if self.with_at.is_some_and(|with| with >= at) {
                    self.with_at = None;
                }
                self.next(at, if dull { -DULL_STEP_D } else { -BRIGHT_STEP_D })
            }
        }
    }

    fn next(&self, at: f64, step: f64) -> Next {
        if let (Some(with), Some(against)) = (self.with_at, self.against_at) {
            // an eighth of slack, because a stack can miss a little
            if against - with < 1.5 * FINEST_D {
                return Next::Neutralised(Dioptres(f64::midpoint(with, against)));
            }
            let quarters = ((against - with) / 2.0 / FINEST_D).round().max(1.0);
            return Next::Show(with + quarters * FINEST_D);
        }
        if (at + step).abs() > MOST_D { Next::Neutralised(Dioptres(at)) } else { Next::Show(at + step) }
    }
}
