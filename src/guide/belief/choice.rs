//! What to ask next: of everything that the free lenses can show, what gains most for what it costs.

use super::cloud::Points;
use super::people::{self, Beforehand};
use crate::optics::acuity::TOP_LETTER_LOG_MAR;

/// What is asked of the eye with what stands before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ask {
    /// Is it clearer with this sphere held in front?
    Compare { held_d: f32 },
    /// Is another letter read with this sphere held in front?
    Letters { held_d: f32 },
    /// Which position of a cross cylinder of this power is clearer? Its minus axis in the first.
    Cross { power_d: f32, axis_deg: u16 },
    /// Which line is read with this sphere held in front, or nothing?
    Line { held_d: f32 },
}

impl Ask {
    /// The most plus that is looked through.
    pub fn most_plus_d(self, stands: [f32; 3]) -> f32 {
        stands[0]
            + match self {
                Self::Compare { held_d } | Self::Letters { held_d } | Self::Line { held_d } => held_d.max(0.0),
                Self::Cross { .. } => 0.0,
            }
    }
}

/// What can be shown with the lenses that are free.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Offers {
    /// Loose spheres that can be held.
    pub spheres_d: Vec<f32>,
    /// Cross cylinders.
    pub crosses_d: Vec<f32>,
}

/// How much the sphere counts beside each part of the cylinder.
const SPHERE_COUNTS: f32 = 1.6;

/// What a question costs in time, and what each move adds.
const OF_LINE: f32 = 1.05;
const OF_COMPARISON: f32 = 1.0;
const OF_MOVE: f32 = 0.22;

/// What is asked at the end in any case counts for this part of its cost.
const ANYWAY: f32 = 0.5;

/// A look that lets a young eye relax is worth this many times as much.
const OF_FOG: f32 = 2.0;

/// A cross cylinder is offered at every so many degrees; the other position is across.
const TURN_DEG: u16 = 15;

/// What stands before the eye when something is asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// The power.
    pub stands: [f32; 3],
    /// How many moves lead there.
    pub moves: f32,
}

/// With a sphere in front.
pub fn with_sphere([m, j0, j45]: [f32; 3], sphere_d: f32) -> [f32; 3] {
    [m + sphere_d, j0, j45]
}

/// With a cross cylinder in front, its minus axis along this.
pub fn with_cross([m, j0, j45]: [f32; 3], power_d: f32, axis_deg: f32) -> [f32; 3] {
    let (sin, cos) = libm::sincosf((2.0 * axis_deg).to_radians());
    // a cross cylinder of power F is a cylinder of -2F with a sphere of F: J = F (cos, sin) of twice its minus axis
    [m, j0 + power_d * cos, j45 + power_d * sin]
}

/// What one look is like to each point.
#[derive(Debug, Clone, Default)]
struct Seen {
    before: [f32; 3],
    log_mar: Vec<f32>,
    /// How much coarser than at 6/6 it is judged, as a factor.
    coarser: Vec<f32>,
    /// How much less steadily.
    unsteady: Vec<f32>,
}

/// The gains of all that can be asked from one place.
pub struct Chooser<'a> {
    points: &'a Points,
    person: Beforehand,
    /// How tense the eye still is beside how it began.
    tense: f32,
    /// From which sphere on a look relaxes it.
    fogs_from_d: Option<f32>,
    needs: Needs,
    looks: Vec<Seen>,
    /// How likely an answer is to each point.
    likely: Vec<f32>,
    also_likely: Vec<f32>,
}

impl<'a> Chooser<'a> {
    /// Over points that weigh alike.
    pub fn new(
        points: &'a Points,
        person: Beforehand,
        cylinder_counts: f32,
        tense: f32,
        fogs_from_d: Option<f32>,
    ) -> Self {
        let needs = Needs::of(points, tense, cylinder_counts);
        let count = points.m.len();
        Self {
            points,
            person,
            tense,
            fogs_from_d,
            needs,
            looks: Vec::new(),
            likely: vec![0.0; count],
            also_likely: vec![0.0; count],
        }
    }

    fn look(&mut self, before: [f32; 3]) -> usize {
        if let Some(known) = self.looks.iter().position(|look| look.before == before) {
            return known;
        }
        let mut look = Seen { before, ..Seen::default() };
        self.points.log_mar(before, false, self.tense, &mut look.log_mar);
        look.coarser = look.log_mar.iter().map(|seen| people::coarser(*seen)).collect();
        let best = look.log_mar.iter().zip(self.points.best_log_mar());
        look.unsteady = best.map(|(seen, best)| people::unsteady(*seen, *best)).collect();
        self.looks.push(look);
        self.looks.len() - 1
    }

    /// What is gained by each answer, all together.
    pub fn gain(&mut self, stands: [f32; 3], ask: Ask) -> f32 {
        let after = match ask {
            Ask::Compare { held_d } => {
                let (first, second) = (self.look(stands), self.look(with_sphere(stands, held_d)));
                self.compares(first, second);
                self.after_a_comparison()
            }
            Ask::Letters { held_d } => {
                let (first, second) = (self.look(stands), self.look(with_sphere(stands, held_d)));
                self.compares(first, second);
                let more = self.needs.sums(&self.likely);
                self.needs.spread(more) + self.needs.spread(less(self.needs.all, more))
            }
            Ask::Cross { power_d, axis_deg } => {
                let axis = f32::from(axis_deg);
                let first = self.look(with_cross(stands, power_d, axis));
                let second = self.look(with_cross(stands, power_d, axis + 90.0));
                self.compares(first, second);
                self.after_a_comparison()
            }
            Ask::Line { held_d } => {
                let look = self.look(with_sphere(stands, held_d));
                self.after_a_line(look)
            }
        };
        self.needs.spread(self.needs.all) - after
    }

    /// How likely each finds the second clearer, and worse.
    fn compares(&mut self, first: usize, second: usize) {
        let count = self.likely.len();
        let (first, second) = (&self.looks[first], &self.looks[second]);
        let (one, other) = (&first.log_mar[..count], &second.log_mar[..count]);
        let (coarser, also_coarser) = (&first.coarser[..count], &second.coarser[..count]);
        let (unsteady, also_unsteady) = (&first.unsteady[..count], &second.unsteady[..count]);
        let (clearer, worse) = (&mut self.likely[..count], &mut self.also_likely[..count]);
        let slips = self.person.slips;
        for nth in 0..count {
            // both grow with what is seen: the clearer look has the less
            let coarser = coarser[nth].min(also_coarser[nth]);
            let unsteady = unsteady[nth].min(also_unsteady[nth]);
            (clearer[nth], worse[nth]) = people::notices(one[nth] - other[nth], coarser, unsteady, slips);
        }
    }

    fn after_a_comparison(&self) -> f32 {
        let (clearer, worse) = (self.needs.sums(&self.likely), self.needs.sums(&self.also_likely));
        let same = less(less(self.needs.all, clearer), worse);
        self.needs.spread(clearer) + self.needs.spread(worse) + self.needs.spread(same)
    }

    fn after_a_line(&mut self, look: usize) -> f32 {
        let count = self.likely.len();
        let seen = &self.looks[look].log_mar[..count];
        let mut each = vec![vec![0.0_f32; count]; LINES.len()];
        let mut all = vec![1e-9_f32; count];
        for (likely, line) in each.iter_mut().zip(LINES) {
            for ((likely, all), seen) in likely.iter_mut().zip(&mut all).zip(seen) {
                *likely = people::reads_about(*seen, line);
                *all += *likely;
            }
        }
        let (none, share) = (&mut self.likely[..count], &mut self.also_likely[..count]);
        for nth in 0..count {
            none[nth] = people::reads_no_letter(seen[nth], NO_LETTER_LOG_MAR);
            share[nth] = (1.0 - none[nth]) / all[nth];
        }
        let mut after = self.needs.spread(self.needs.sums(&self.likely));
        for likely in &mut each {
            for (likely, share) in likely.iter_mut().zip(&self.also_likely) {
                *likely *= share;
            }
            after += self.needs.spread(self.needs.sums(likely));
        }
        after
    }

    /// The best question from these places that `open` allows.
    pub fn best(
        &mut self,
        places: &[Place],
        offers: &Offers,
        in_hand_d: Option<f32>,
        open: impl Fn([f32; 3], Ask) -> bool,
        anyway: impl Fn([f32; 3], Ask) -> bool,
    ) -> Option<([f32; 3], Ask)> {
        let mut best: Option<([f32; 3], Ask)> = None;
        let mut most = f32::NEG_INFINITY;
        for place in places {
            for ask in self.asks(offers) {
                if !open(place.stands, ask) {
                    continue;
                }
                let (time, held) = match ask {
                    Ask::Line { held_d } => (OF_LINE, Some(held_d).filter(|held| *held != 0.0)),
                    Ask::Compare { held_d } | Ask::Letters { held_d } => (OF_COMPARISON, Some(held_d)),
                    Ask::Cross { power_d, .. } => (OF_COMPARISON, Some(100.0 + power_d)),
                };
                let holds = f32::from(u8::from(held.is_some() && held != in_hand_d));
                let part = if anyway(place.stands, ask) { ANYWAY } else { 1.0 };
                let cost = part * (time + OF_MOVE * (place.moves + holds));
                let fogs = self.fogs_from_d.is_some_and(|from| ask.most_plus_d(place.stands) >= from);
                let per_cost = self.gain(place.stands, ask) / cost * if fogs { OF_FOG } else { 1.0 };
                if per_cost > most {
                    most = per_cost;
                    best = Some((place.stands, ask));
                }
            }
        }
        best
    }

    fn asks(&self, offers: &Offers) -> Vec<Ask> {
        let old = self.person.is_steady_with_minus();
        let mut asks = vec![Ask::Line { held_d: 0.0 }];
        for &held_d in &offers.spheres_d {
            if held_d == 1.50 {
            } else if held_d > 0.0 || old {
                asks.push(Ask::Compare { held_d });
            } else {
                asks.push(Ask::Letters { held_d });
            }
            let fog = if self.fogs_from_d.is_some() {
                held_d == 1.50 || held_d == 2.00
            } else {
                held_d == 0.50 || held_d == 1.00
            };
            if fog || (held_d == -1.00 && old) {
                asks.push(Ask::Line { held_d });
            }
        }
        for &power_d in &offers.crosses_d {
            asks.extend((0..90 / TURN_DEG).map(|turn| Ask::Cross { power_d, axis_deg: 90 + turn * TURN_DEG }));
        }
        asks
    }
}

/// Lines by which a reading is looked ahead to, in log MAR; no letter is read beyond the last.
const LINES: [f32; 8] = [-0.10, 0.0, 0.10, 0.20, 0.32, 0.48, 0.68, 0.90];
const NO_LETTER_LOG_MAR: f32 = TOP_LETTER_LOG_MAR as f32;

/// Sums over points: how much they weigh, their needs by weight (sphere, two of cylinder, off the mean), and the squares of those
/// as they count.
type Sums = [f32; 5];

fn less(all: Sums, part: Sums) -> Sums {
    std::array::from_fn(|nth| all[nth] - part[nth])
}

/// So many sums are made side by side, as processors make them.
const SIDE_BY_SIDE: usize = 8;

/// What each point needs, off the mean.
struct Needs {
    /// Sphere, both parts of the cylinder, and their squares as they count.
    parts: [Vec<f32>; 4],
    /// How much each part counts.
    counts: [f32; 3],
    /// The sums where all weigh alike.
    all: Sums,
}

impl Needs {
    fn of(points: &Points, tense: f32, cylinder_counts: f32) -> Self {
        let count = points.m.len().max(1) as f32;
        let off_mean = |part: &[f32]| -> Vec<f32> {
            let mean = part.iter().sum::<f32>() / count;
            part.iter().map(|at| at - mean).collect()
        };
        let counts = [SPHERE_COUNTS, cylinder_counts, cylinder_counts];
        let off = [off_mean(&points.m_seen(tense)), off_mean(&points.j0), off_mean(&points.j45)];
        let square = |nth: usize| (0..3).map(|part| counts[part] * off[part][nth] * off[part][nth]).sum();
        let squares = (0..points.m.len()).map(square).collect();
        let [m, j0, j45] = off;
        let mut needs = Self { parts: [m, j0, j45, squares], counts, all: [0.0; 5] };
        needs.all = needs.sums(&vec![1.0; points.m.len()]);
        needs
    }

    fn sums(&self, weights: &[f32]) -> Sums {
        let mut sums = [[0.0_f32; SIDE_BY_SIDE]; 5];
        let [m, j0, j45, squares] = &self.parts;
        let parts = m.chunks(SIDE_BY_SIDE).zip(j0.chunks(SIDE_BY_SIDE)).zip(j45.chunks(SIDE_BY_SIDE));
        let parts = parts.zip(squares.chunks(SIDE_BY_SIDE)).zip(weights.chunks(SIDE_BY_SIDE));
        for ((((m, j0), j45), squares), weights) in parts {
            let lanes = weights.len().min(SIDE_BY_SIDE);
            let (m, j0, j45, squares) = (&m[..lanes], &j0[..lanes], &j45[..lanes], &squares[..lanes]);
            for lane in 0..lanes {
                let weight = weights[lane];
                sums[0][lane] += weight;
                sums[1][lane] += weight * m[lane];
                sums[2][lane] += weight * j0[lane];
                sums[3][lane] += weight * j45[lane];
                sums[4][lane] += weight * squares[lane];
            }
        }
        sums.map(|lanes| lanes.iter().sum())
    }

    /// The spread of the needs, times the share of all that weighs so.
    fn spread(&self, [weight, m, j0, j45, squares]: Sums) -> f32 {
        if weight < 1e-6 {
            return 0.0;
        }
        let [of_m, of_j0, of_j45] = self.counts;
        let means = (of_m * m * m + of_j0 * j0 * j0 + of_j45 * j45 * j45) / weight;
        (squares - means).max(0.0) / self.all[0].max(1.0)
    }
}
