//! Interval halving with loose lenses: the power of a lens by what neutralises it, in the fewest trials that the free lenses allow.

use libm::{log2, pow};

use crate::kit::LooseSpheres;

/// No lens is taken to be stronger than this, in dioptres, until that was looked at.
pub const MOST_D: f64 = 20.0;

/// It is known well enough within this, in dioptres: the step in which lenses are made.
pub const FINEST_D: f64 = 0.25;

/// What is left at most after each trial from ±20 on, in dioptres: half each time, but for the last two, which are quarters.
const LEFT_D: [f64; 8] = [24.0, 12.0, 6.0, 3.0, 1.5, 0.75, 0.5, 0.25];

/// Where a power may lie beyond where it was first looked for, it is looked for so far on, in dioptres.
const FURTHER_D: f64 = 6.0;

/// Rounding.
const SLACK_D: f64 = 1e-9;

/// The most trials of one search: eight from ±20 or fewer from less, each end looked at, and three times further on.
pub const MOST_TRIALS: usize = 8 + 2 + 3 * 6;

/// A trial: one or two loose spheres held against the lens, or none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// The marks of what is held, in dioptres; nothing is 0.
    pub held_d: [f64; 2],
}

impl Trial {
    /// The power that it neutralises.
    pub fn neutralises_d(self) -> f64 {
        let [one, other] = self.held_d;
        // never -0.0
        0.0 - (one + other)
    }

    fn pieces(self) -> usize {
        self.held_d.into_iter().filter(|held| *held != 0.0).count()
    }
}

/// How the line behind the lens and what is held against it moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seen {
    /// With the lens: minus is left.
    With,
    /// Against the lens: plus is left.
    Against,
    /// Not at all.
    Still,
}

/// Where a power lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Not less than this, in dioptres.
    pub least_d: f64,
    /// Not more than this, in dioptres.
    pub most_d: f64,
}

impl Interval {
    /// Its middle, in dioptres.
    pub fn middle_d(self) -> f64 {
        f64::midpoint(self.least_d, self.most_d)
    }

    /// How far the power may lie from the middle.
    pub fn within_d(self) -> f64 {
        self.width_d() / 2.0
    }

    fn width_d(self) -> f64 {
        self.most_d - self.least_d
    }
}

/// What is known of one power.
#[derive(Debug, Clone, PartialEq)]
pub struct Halving {
    lies: Interval,
    /// Whether the ends were looked at, or only taken for granted: the lesser, the greater.
    looked_at: [bool; 2],
    trials: usize,
    still: bool,
    from_end_to_end: bool,
}

impl Halving {
    /// A search from end to end.
    pub fn from_end_to_end() -> Self {
        Self { from_end_to_end: true, ..Self::between(-MOST_D, MOST_D) }
    }

    /// A search where the power is likely to lie; where it lies beyond, that is found out.
    pub fn between(least_d: f64, most_d: f64) -> Self {
        let steps = |d: f64| d / FINEST_D;
        let lies = Interval {
            least_d: (steps(least_d).floor() * FINEST_D).max(-MOST_D),
            most_d: (steps(most_d).ceil() * FINEST_D).min(MOST_D),
        };
        Self { lies, looked_at: [false; 2], trials: 0, still: false, from_end_to_end: false }
    }

    /// Where it lies by what was seen so far.
    pub fn lies(&self) -> Interval {
        self.lies
    }

    /// Where it was found to lie; `None` where an end was only taken for granted.
    pub fn found(&self) -> Option<Interval> {
        (!self.is_beyond() && (self.still || self.looked_at == [true; 2])).then_some(self.lies)
    }

    /// Whether it lies beyond all that there are lenses for.
    fn is_beyond(&self) -> bool {
        self.lies.width_d() <= 0.0
    }

    /// What to hold next; `None` when nothing that is free tells more.
    pub fn next(&self, loose: &[LooseSpheres]) -> Option<Trial> {
        if self.still || self.is_beyond() || self.trials >= MOST_TRIALS {
            return None;
        }
        let Interval { least_d, most_d } = self.lies;
        let larger = |trial: &Trial| (trial.neutralises_d() - least_d).max(most_d - trial.neutralises_d());
        if self.lies.width_d() > FINEST_D + SLACK_D {
            let inside = |trial: &Trial| {
                let at = trial.neutralises_d();
                at > least_d + FINEST_D / 2.0 && at < most_d - FINEST_D / 2.0
            };
            let trials: Vec<Trial> = trials(loose).into_iter().filter(inside).collect();
            let enough = trials.iter().filter(|trial| larger(trial) <= self.may_leave_d() + SLACK_D);
            let rank = |trial: &&Trial| (trial.pieces(), larger(trial));
            let easiest = enough.min_by(|a, b| rank(a).partial_cmp(&rank(b)).unwrap_or(std::cmp::Ordering::Equal));
            let nearest = trials.iter().min_by(|a, b| larger(a).total_cmp(&larger(b)));
            if let Some(trial) = easiest.or(nearest) {
                return Some(*trial);
            }
        }
        // an end that was only taken for granted is looked at before the power is said to lie next to it
        let end = if !self.looked_at[0] {
            least_d
        } else if !self.looked_at[1] {
            most_d
        } else {
            return None;
        };
        let mut at_end: Vec<Trial> =
            trials(loose).into_iter().filter(|t| (t.neutralises_d() - end).abs() < SLACK_D).collect();
        at_end.sort_by_key(|trial| trial.pieces());
        at_end.first().copied()
    }

    /// What the next trial may leave at most.
    fn may_leave_d(&self) -> f64 {
        let halvings = log2(self.lies.width_d() / FINEST_D - SLACK_D).ceil().max(1.0);
        let half = FINEST_D * pow(2.0, halvings - 1.0);
        let of_trial = LEFT_D.get(self.trials).filter(|_| self.from_end_to_end);
        of_trial.map_or(half, |left| left.min(half))
    }

    /// Takes in what was seen through what was held.
    pub fn seen(&mut self, trial: Trial, seen: Seen) {
        self.trials += 1;
        let at = trial.neutralises_d();
        let is_end = |end: f64| (at - end).abs() < SLACK_D;
        match seen {
            Seen::Still => {
                self.lies = Interval { least_d: at - FINEST_D / 2.0, most_d: at + FINEST_D / 2.0 };
                self.still = true;
            }
            // minus is left: it is more minus than what is neutralised
            Seen::With if is_end(self.lies.least_d) => self.go_further(-1.0),
            Seen::With => {
                self.lies.most_d = self.lies.most_d.min(at);
                self.looked_at[1] = true;
            }
            Seen::Against if is_end(self.lies.most_d) => self.go_further(1.0),
            Seen::Against => {
                self.lies.least_d = self.lies.least_d.max(at);
                self.looked_at[0] = true;
            }
        }
    }

    /// It lies beyond an end that was taken for granted.
    fn go_further(&mut self, sign: f64) {
        self.from_end_to_end = false;
        self.lies = if sign < 0.0 {
            Interval { least_d: (self.lies.least_d - FURTHER_D).max(-MOST_D), most_d: self.lies.least_d }
        } else {
            Interval { least_d: self.lies.most_d, most_d: (self.lies.most_d + FURTHER_D).min(MOST_D) }
        };
        self.looked_at = [sign > 0.0, sign < 0.0];
    }
}

/// Everything that up to two of the loose spheres make together, nothing among it.
fn trials(loose: &[LooseSpheres]) -> Vec<Trial> {
    // eighths would only leave intervals that no quarter halves
    let is_quarter = |loose: &&LooseSpheres| (loose.marked.0 / FINEST_D).fract().abs() < SLACK_D;
    let loose: Vec<LooseSpheres> = loose.iter().filter(is_quarter).copied().collect();
    let mut trials = vec![Trial { held_d: [0.0; 2] }];
    for (nth, one) in loose.iter().enumerate() {
        trials.push(Trial { held_d: [one.marked.0, 0.0] });
        // a lens of the same mark is another piece
        let others = loose[nth..].iter().skip(usize::from(one.pieces < 2));
        trials.extend(others.map(|other| Trial { held_d: [one.marked.0, other.marked.0] }));
    }
    trials.retain(|trial| trial.pieces() == 0 || trial.neutralises_d() != 0.0);
    trials
}
