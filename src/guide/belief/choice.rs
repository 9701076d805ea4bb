//! What to ask next: of everything that the free lenses can show, what gains most for what it costs.

use super::cloud::Points;
use super::people;

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

/// The gains of all that can be asked from one place.
pub struct Chooser<'a> {
    points: &'a Points,
    age_years: f32,
    /// How much each part of the cylinder counts.
    cylinder_counts: f32,
    /// How tense the eye still is beside how it began.
    tense: f32,
    /// From which sphere on a look relaxes it.
    fogs_from_d: Option<f32>,
    /// The sphere that each point seems to need.
    m_seen: Vec<f32>,
    before: f32,
    seen: Vec<Vec<f32>>,
    looks: Vec<[f32; 3]>,
}

impl<'a> Chooser<'a> {
    /// Over points that weigh alike.
    pub fn new(points: &'a Points, age_years: f32, cylinder_counts: f32, tense: f32, fogs_from_d: Option<f32>) -> Self {
        let even = vec![1.0; points.m.len()];
        let m_seen = points.m_seen(tense);
        let before = spread(points, &m_seen, cylinder_counts, &even).map_or(0.0, |(_, spread)| spread);
        Self {
            points,
            age_years,
            cylinder_counts,
            tense,
            fogs_from_d,
            m_seen,
            before,
            seen: Vec::new(),
            looks: Vec::new(),
        }
    }

    fn look(&mut self, before: [f32; 3]) -> usize {
        if let Some(known) = self.looks.iter().position(|look| *look == before) {
            return known;
        }
        let mut seen = Vec::with_capacity(self.points.m.len());
        self.points.log_mar(before, false, self.tense, &mut seen);
        self.looks.push(before);
        self.seen.push(seen);
        self.looks.len() - 1
    }

    /// What is gained by each answer, all together.
    pub fn gain(&mut self, stands: [f32; 3], ask: Ask) -> f32 {
        let outcomes: Vec<Vec<f32>> = match ask {
            Ask::Compare { held_d } => {
                let (first, second) = (self.look(stands), self.look(with_sphere(stands, held_d)));
                self.compared(first, second)
            }
            Ask::Letters { held_d } => {
                let (first, second) = (self.look(stands), self.look(with_sphere(stands, held_d)));
                let mut outcomes = self.compared(first, second);
                outcomes.truncate(1);
                let no = outcomes[0].iter().map(|yes| 1.0 - yes).collect();
                outcomes.push(no);
                outcomes
            }
            Ask::Cross { power_d, axis_deg } => {
                let axis = f32::from(axis_deg);
                let first = self.look(with_cross(stands, power_d, axis));
                let second = self.look(with_cross(stands, power_d, axis + 90.0));
                self.compared(first, second)
            }
            Ask::Line { held_d } => {
                let look = self.look(with_sphere(stands, held_d));
                let mut outcomes = vec![vec![0.0; self.points.m.len()]; LINES.len() + 1];
                for (nth, seen) in self.seen[look].iter().enumerate() {
                    let mut all = 0.0;
                    for (outcome, line) in outcomes.iter_mut().zip(LINES) {
                        outcome[nth] = people::reads_about(*seen, line);
                        all += outcome[nth];
                    }
                    let none = people::reads_no_letter(*seen, 1.08);
                    for outcome in &mut outcomes[..LINES.len()] {
                        outcome[nth] *= (1.0 - none) / all.max(1e-9);
                    }
                    outcomes[LINES.len()][nth] = none;
                }
                outcomes
            }
        };
        let all = self.points.m.len().max(1) as f32;
        let after: f32 = outcomes
            .iter()
            .filter_map(|likely| {
                spread(self.points, &self.m_seen, self.cylinder_counts, likely)
                    .map(|(share, spread)| share / all * spread)
            })
            .sum();
        self.before - after
    }

    fn compared(&self, first: usize, second: usize) -> Vec<Vec<f32>> {
        let mut outcomes: Vec<Vec<f32>> = (0..3).map(|_| Vec::with_capacity(self.points.m.len())).collect();
        let looks = self.seen[first].iter().zip(&self.seen[second]);
        for ((first, second), best) in looks.zip(self.points.best_log_mar()) {
            for (outcome, likely) in outcomes.iter_mut().zip(people::compares(*first, *second, *best, 0.0)) {
                outcome.push(likely);
            }
        }
        outcomes
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
        let old = self.age_years >= 45.0;
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

/// Lines by which a reading is looked ahead to, in log MAR.
const LINES: [f32; 8] = [-0.10, 0.0, 0.10, 0.20, 0.32, 0.48, 0.68, 0.90];

/// The weight of points that weigh so much, and the spread of their needs.
fn spread(points: &Points, m_seen: &[f32], cylinder_counts: f32, weights: &[f32]) -> Option<(f32, f32)> {
    let mut sums = [0.0_f32; 7];
    for (nth, weight) in weights.iter().enumerate() {
        let (m, j0, j45) = (m_seen[nth], points.j0[nth], points.j45[nth]);
        sums[0] += weight;
        sums[1] += weight * m;
        sums[2] += weight * j0;
        sums[3] += weight * j45;
        sums[4] += weight * m * m;
        sums[5] += weight * j0 * j0;
        sums[6] += weight * j45 * j45;
    }
    let all = sums[0];
    if all < 1e-6 {
        return None;
    }
    let variance = |sum: f32, squares: f32| (squares / all - (sum / all) * (sum / all)).max(0.0);
    let cylinder = variance(sums[2], sums[5]) + variance(sums[3], sums[6]);
    let spread = SPHERE_COUNTS * variance(sums[1], sums[4]) + cylinder_counts * cylinder;
    Some((all, spread))
}
