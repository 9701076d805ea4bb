//! The weighted points of a belief: each one person who is possible, with the need of the eye. Laid again around what is still
//! possible, with the product of the prior and all answers so far, whenever too few of them carry the weight.

use std::ops::Range;
use std::sync::LazyLock;

use super::numbers::{bell, exp, exp10, ln};
use super::people::{self, Beforehand, KINDS, Kind, People, Said, Traits};
use super::prior::Prior;

/// Something that was seen, said or found, and what really stood before the eye then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Evidence {
    /// A line was read, or no letter of a chart whose last line is this.
    Read { before: [f32; 3], log_mar: Option<f32>, top_log_mar: f32, pinhole: bool, tense: f32 },
    /// Two looks were compared; `favour` of what only looks blacker is possible where people are young.
    Compared { first: [f32; 3], second: [f32; 3], said: Said, tense: f32 },
    /// Asked whether another letter is read in the second look.
    Letters { first: [f32; 3], second: [f32; 3], more: bool, tense: f32 },
    /// A power was found in another way, with these standard deviations of sphere and cylinder.
    Found { power: [f32; 3], sd_m: f32, sd_j: f32 },
    /// Whether somebody complains of what is far, and of what is near.
    Complains { far: bool, near: bool },
}

impl Evidence {
    /// Whether a letter was read without a pinhole.
    pub fn reads_a_letter(&self) -> bool {
        matches!(self, Self::Read { log_mar: Some(_), pinhole: false, .. })
    }

    /// What the second look gains in log MAR where more minus looks clearer for its blackness, if it can.
    fn favours_blacker(person: Beforehand, first: [f32; 3], second: [f32; 3]) -> Option<f32> {
        let more_minus_d = first[0] - second[0];
        (person.can_prefer_blacker() && more_minus_d.abs() > 0.05).then_some(BLACKER_LOG_MAR * more_minus_d)
    }

    /// Whether a line was asked for with nothing before the eye.
    pub fn is_read_unaided(&self) -> bool {
        matches!(self, Self::Read { before: [0.0, 0.0, 0.0], pinhole: false, .. })
    }
}

/// The parts of a point: sphere, two of cylinder, log MAR at best, logarithm of the pupil, logarithm of the amplitude,
/// and how tense the eye is at first, in standard deviations.
const PARTS: usize = 7;

/// What is possible beforehand: mean and standard deviation of the best log MAR, of the natural logarithm of the pupil and of
/// that of the amplitude. By common sense, no source.
const BEST_LOG_MAR: [f32; 2] = [-0.06, 0.065];
const POOR_LOG_MAR: [f32; 2] = [0.25, 0.35];
const POOR: f32 = 0.05;
const PUPIL_SD: f32 = 0.19;
const AMPLITUDE_SD: f32 = 0.25;

/// Young eyes may not relax at once: by how much in dioptres for each standard deviation beyond the first figure. By common
/// sense, no source.
const TENSE_FROM: f32 = 0.3;
const TENSE_D: f32 = 0.45;

/// How many points there are at first, and later.
const FIRST: usize = 4096;
const LATER: usize = 1536;

/// The points are laid again when they carry the weight of fewer than this share of them.
const CARRYING: f32 = 0.12;

/// How much wider than what is possible they are laid, and one of eight of them.
const WIDER: f32 = 1.25;
const WIDEST: f32 = 2.75;
const IN: usize = 8;

/// Points evenly spread over the normal curves of all parts.
static EVENLY: LazyLock<Vec<[f32; PARTS + 1]>> = LazyLock::new(|| {
    // the root of x^9 = x + 1 spreads eight parts evenly (Roberts 2018: the R sequence)
    let root = 1.085_070_245_491_450_8_f64;
    (0..FIRST)
        .map(|nth| {
            let mut step = 1.0;
            std::array::from_fn(|_| {
                step /= root;
                (0.5 + step * (nth + 1) as f64).fract() as f32
            })
        })
        .collect()
});

static NORMAL: LazyLock<Vec<[f32; PARTS]>> = LazyLock::new(|| {
    EVENLY.iter().map(|shares| std::array::from_fn(|part| normal_of(f64::from(shares[part])) as f32)).collect()
});

/// The standard deviations below which lies a share of the normal curve (Acklam's rational approximation, to 1e-4 of it).
fn normal_of(share: f64) -> f64 {
    let share = share.clamp(1e-6, 1.0 - 1e-6);
    let tail = share.min(1.0 - share);
    let depth = libm::sqrt(-2.0 * libm::log(tail));
    // Abramowitz and Stegun 26.2.23, within 4.5e-4
    let above = 2.515_517 + depth * (0.802_853 + depth * 0.010_328);
    let below = 1.0 + depth * (1.432_788 + depth * (0.189_269 + depth * 0.001_308));
    let deviations = depth - above / below;
    if share < 0.5 { -deviations } else { deviations }
}

/// What is asked of the cloud: where the need lies, and how surely.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// Mean need.
    pub mean: [f32; 3],
    /// Standard deviation of the sphere.
    pub sd_m: f32,
    /// Standard deviation of the vector of the cylinder.
    pub sd_j: f32,
}

/// The points, each part by itself, those of a kind together.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Points {
    pub m: Vec<f32>,
    pub j0: Vec<f32>,
    pub j45: Vec<f32>,
    best_log_mar: Vec<f32>,
    log_pupil: Vec<f32>,
    log_amplitude: Vec<f32>,
    tension: Vec<f32>,
    best_mar: Vec<f32>,
    pupil_squared: Vec<f32>,
    amplitude_d: Vec<f32>,
    tense_d: Vec<f32>,
    /// Which points are of which kind.
    of_kind: [Range<usize>; KINDS.len()],
}

impl Points {
    fn len(&self) -> usize {
        self.m.len()
    }

    fn push(&mut self, kind: Kind, person: Beforehand, parts: [f32; PARTS]) {
        let [m, j0, j45, best, pupil, amplitude, tension] = parts;
        self.m.push(m);
        self.j0.push(j0);
        self.j45.push(j45);
        self.best_log_mar.push(best);
        self.log_pupil.push(pupil);
        self.log_amplitude.push(amplitude);
        self.tension.push(tension);
        self.best_mar.push(exp10(best));
        self.pupil_squared.push(exp(2.0 * pupil));
        self.amplitude_d.push(person.amplitude_d(kind.accommodation) * exp(amplitude));
        let can_be_tense = if person.can_be_tense() { TENSE_D } else { 0.0 };
        self.tense_d.push(can_be_tense * (tension - TENSE_FROM).max(0.0));
    }

    fn parts(&self, nth: usize) -> [f32; PARTS] {
        let [m, j0, j45] = self.need(nth);
        [m, j0, j45, self.best_log_mar[nth], self.log_pupil[nth], self.log_amplitude[nth], self.tension[nth]]
    }

    fn need(&self, nth: usize) -> [f32; 3] {
        [self.m[nth], self.j0[nth], self.j45[nth]]
    }

    fn traits(&self, nth: usize) -> Traits {
        Traits {
            best_mar: self.best_mar[nth],
            pupil_squared: self.pupil_squared[nth],
            amplitude_d: self.amplitude_d[nth],
        }
    }

    /// What each would see through this, as tense as this.
    pub fn log_mar(&self, before: [f32; 3], pinhole: bool, tense: f32, seen: &mut Vec<f32>) {
        seen.clear();
        seen.resize(self.len(), 0.0);
        let (mut missing_d, mut square_j) = (vec![0.0; self.len()], vec![0.0; self.len()]);
        let tense_d = &self.tense_d[..self.len()];
        for (nth, missing) in missing_d.iter_mut().enumerate() {
            *missing = self.m[nth] - before[0] - tense * tense_d[nth];
        }
        for ((square, j0), j45) in square_j.iter_mut().zip(&self.j0).zip(&self.j45) {
            let (j0, j45) = (j0 - before[1], j45 - before[2]);
            *square = j0 * j0 + j45 * j45;
        }
        for ((kind, _), range) in KINDS.iter().zip(&self.of_kind) {
            let people = People {
                missing_d: &missing_d[range.clone()],
                square_j: &square_j[range.clone()],
                best_mar: &self.best_mar[range.clone()],
                pupil_squared: &self.pupil_squared[range.clone()],
                amplitude_d: &self.amplitude_d[range.clone()],
            };
            people::log_mar(*kind, people, pinhole, &mut seen[range.clone()]);
        }
    }

    /// The sphere that each seems to need, as tense as this.
    pub fn m_seen(&self, tense: f32) -> Vec<f32> {
        self.m.iter().zip(&self.tense_d).map(|(m, tense_d)| m - tense * tense_d).collect()
    }

    pub fn best_log_mar(&self) -> &[f32] {
        &self.best_log_mar
    }
}

/// How many of the young prefer it so, and how much of a log MAR a dioptre of it then counts.
const BLACKER: f32 = 0.3;
const BLACKER_LOG_MAR: f32 = 0.12;

/// The weighted points.
#[derive(Debug, Clone, PartialEq)]
pub struct Cloud {
    person: Beforehand,
    points: Points,
    weights: Vec<f32>,
    summary: Summary,
}

impl Cloud {
    /// What is possible before anything is known but how somebody accommodates, in the light of this.
    pub fn laid_first(prior: &Prior, person: Beforehand, chart_d: f32, evidence: &[Evidence]) -> Self {
        let mut points = Points::default();
        let all: f32 = KINDS.iter().map(|(_, of)| of).sum();
        let mut log_weights = Vec::with_capacity(FIRST);
        let mut begin = 0.0;
        for (nth_kind, (kind, of)) in KINDS.iter().enumerate() {
            let end = begin + of / all;
            let first = points.len();
            for (nth, evenly) in EVENLY.iter().enumerate() {
                let turn = evenly[PARTS];
                if turn < begin || turn >= end {
                    continue;
                }
                let [a, b, c, ..] = *evenly;
                let share = (nth as f32 + 0.5) / FIRST as f32;
                // each other point as if strong needs were as common as weak ones, so that none is left out
                let ([m, j0, j45], log_widely) = prior.need(share, [a - 0.5, b - 0.5, c - 0.5], nth % 2 == 1);
                log_weights.push(-ln(0.5 + 0.5 * exp(log_widely)));
                let [.., best, pupil, amplitude, tension] = NORMAL[nth];
                let [mean, sd] = if nth % 20 == 7 { POOR_LOG_MAR } else { BEST_LOG_MAR };
                let parts =
                    [m + chart_d, j0, j45, mean + sd * best, PUPIL_SD * pupil, AMPLITUDE_SD * amplitude, tension];
                points.push(*kind, person, parts);
            }
            points.of_kind[nth_kind] = first..points.len();
            begin = end;
        }
        Self::weighed(person, points, log_weights, evidence)
    }

    fn weighed(person: Beforehand, points: Points, mut log_weights: Vec<f32>, evidence: &[Evidence]) -> Self {
        let mut likely = Vec::new();
        for evidence in evidence {
            likelihood(&points, person, evidence, &mut likely);
            for (log_weight, likely) in log_weights.iter_mut().zip(&likely) {
                *log_weight += ln(likely.max(1e-18));
            }
        }
        let most = log_weights.iter().copied().fold(f32::NEG_INFINITY, f32::max);
        let weights = log_weights.iter().map(|log_weight| exp(log_weight - most)).collect();
        let mut cloud = Self { person, points, weights, summary: Summary { mean: [0.0; 3], sd_m: 0.0, sd_j: 0.0 } };
        cloud.settle();
        cloud
    }

    /// Weights that add up to one, and what they come to.
    fn settle(&mut self) {
        let all: f32 = self.weights.iter().sum();
        let each = 1.0 / self.weights.len().max(1) as f32;
        for weight in &mut self.weights {
            *weight = if all > 0.0 { *weight / all } else { each };
            // dead
            if *weight < 1e-12 {
                *weight = 0.0;
            }
        }
        let mean = |part: &[f32]| -> f32 { part.iter().zip(&self.weights).map(|(at, weight)| at * weight).sum() };
        let spread = |part: &[f32], mean: f32| -> f32 {
            part.iter().zip(&self.weights).map(|(at, weight)| (at - mean) * (at - mean) * weight).sum()
        };
        let points = &self.points;
        let [m, j0, j45] = [mean(&points.m), mean(&points.j0), mean(&points.j45)];
        let cylinder = spread(&points.j0, j0) + spread(&points.j45, j45);
        self.summary = Summary { mean: [m, j0, j45], sd_m: spread(&points.m, m).sqrt(), sd_j: cylinder.sqrt() };
    }

    /// How many points carry the weight.
    fn carrying(&self) -> f32 {
        1.0 / self.weights.iter().map(|weight| weight * weight).sum::<f32>().max(1e-9)
    }

    /// Where the need lies, and how surely.
    pub fn summary(&self) -> Summary {
        self.summary
    }

    /// The standard deviation of the sphere that an eye as tense as this seems to need.
    pub fn sd_m_seen(&self, tense: f32) -> f32 {
        let seen = self.points.m_seen(tense);
        let mean: f32 = seen.iter().zip(&self.weights).map(|(m, weight)| m * weight).sum();
        seen.iter().zip(&self.weights).map(|(m, weight)| (m - mean) * (m - mean) * weight).sum::<f32>().sqrt()
    }

    /// How likely this was, by all that is believed.
    pub fn expects(&self, evidence: &Evidence) -> f32 {
        let mut likely = Vec::new();
        likelihood(&self.points, self.person, evidence, &mut likely);
        likely.iter().zip(&self.weights).map(|(likely, weight)| likely * weight).sum()
    }

    /// Takes in something new.
    pub fn takes(&mut self, new: &Evidence) {
        let mut likely = Vec::new();
        likelihood(&self.points, self.person, new, &mut likely);
        for (weight, likely) in self.weights.iter_mut().zip(&likely) {
            *weight *= likely;
        }
        self.settle();
    }

    /// Lays the points again, by all there is, until enough of them carry the weight.
    pub fn lays_again(&mut self, prior: &Prior, chart_d: f32, evidence: &[Evidence]) {
        for _ in 0..3 {
            if self.carrying() >= CARRYING * self.points.len() as f32 && self.points.len() <= LATER + KINDS.len() * IN {
                return;
            }
            if self.points.len() > LATER + KINDS.len() * IN && self.carrying() >= 400.0 {
                return;
            }
            *self = self.laid_around(prior, chart_d, evidence);
        }
    }

    fn laid_around(&self, prior: &Prior, chart_d: f32, evidence: &[Evidence]) -> Self {
        let (mean, lower) = self.shape();
        let all: f32 = KINDS.iter().map(|(_, of)| of).sum();
        let mut points = Points::default();
        let mut log_weights = Vec::with_capacity(LATER);
        let mut nth = 0;
        for (nth_kind, (kind, of)) in KINDS.iter().enumerate() {
            let believed: f32 = self.weights[self.points.of_kind[nth_kind].clone()].iter().sum();
            let prior_of_kind = of / all;
            let count = ((0.75 * believed + 0.25 * prior_of_kind) * LATER as f32).round().max(IN as f32) as usize;
            let first = points.len();
            // how much more a point of this kind weighs, since more or fewer of them were laid
            let of_kind = ln(prior_of_kind / count as f32);
            for in_kind in 0..count {
                let normal = NORMAL[nth % FIRST];
                nth += 1;
                let wide = if in_kind % IN == IN / 2 { WIDEST } else { WIDER };
                let mut parts = mean;
                for (row, part) in parts.iter_mut().enumerate() {
                    let along = (0..=row).map(|column| lower[row][column] * normal[column]).sum::<f32>();
                    *part += wide * along;
                }
                let square: f32 = wide * wide * normal.iter().map(|deviations| deviations * deviations).sum::<f32>();
                // how densely points lie here, of both widths
                let lies = |wide: f32| exp(-0.5 * square / (wide * wide)) / (0..PARTS).map(|_| wide).product::<f32>();
                let density = (1.0 - 1.0 / IN as f32) * lies(WIDER) + lies(WIDEST) / IN as f32;
                points.push(*kind, self.person, parts);
                log_weights.push(of_kind + log_prior(prior, chart_d, parts) - ln(density.max(1e-30)));
            }
            points.of_kind[nth_kind] = first..points.len();
        }
        Self::weighed(self.person, points, log_weights, evidence)
    }

    /// Mean and lower triangle (Cholesky) of the spread of all parts.
    fn shape(&self) -> ([f32; PARTS], [[f32; PARTS]; PARTS]) {
        let mut mean = [0.0_f64; PARTS];
        for (nth, weight) in self.weights.iter().enumerate() {
            for (mean, part) in mean.iter_mut().zip(self.points.parts(nth)) {
                *mean += f64::from(part * weight);
            }
        }
        let mut spread = [[0.0_f64; PARTS]; PARTS];
        for (nth, weight) in self.weights.iter().enumerate().filter(|(_, weight)| **weight > 1e-7) {
            let parts = self.points.parts(nth);
            let off: [f64; PARTS] = std::array::from_fn(|part| f64::from(parts[part]) - mean[part]);
            for row in 0..PARTS {
                for column in 0..=row {
                    spread[row][column] += f64::from(*weight) * off[row] * off[column];
                }
            }
        }
        // no part is ever surer than this
        let least = [0.05, 0.04, 0.04, 0.015, 0.05, 0.10, 0.20];
        let mut lower = [[0.0_f64; PARTS]; PARTS];
        for row in 0..PARTS {
            for column in 0..=row {
                let sum: f64 = (0..column).map(|k| lower[row][k] * lower[column][k]).sum();
                lower[row][column] = if row == column {
                    libm::sqrt((spread[row][row] - sum).max(least[row] * least[row] / 4.0))
                } else {
                    (spread[row][column] - sum) / lower[column][column]
                };
            }
        }
        (mean.map(|part| part as f32), lower.map(|row| row.map(|part| part as f32)))
    }

    /// So many points that weigh alike, for looking ahead.
    pub fn sample(&self, count: usize) -> Points {
        let mut sample = Points::default();
        let mut so_far = 0.0;
        let mut next = 0.5;
        for (nth_kind, (kind, _)) in KINDS.iter().enumerate() {
            let first = sample.len();
            for nth in self.points.of_kind[nth_kind].clone() {
                so_far += self.weights[nth] * count as f32;
                while so_far > next {
                    sample.push(*kind, self.person, self.points.parts(nth));
                    next += 1.0;
                }
            }
            sample.of_kind[nth_kind] = first..sample.len();
        }
        sample
    }

    /// How likely a letter is read of a chart with this top line through a sphere.
    pub fn letter_is_read(&self, sphere_d: f32, top_log_mar: f32, tense: f32) -> f32 {
        let none = Evidence::Read { before: [sphere_d, 0.0, 0.0], log_mar: None, top_log_mar, pinhole: false, tense };
        1.0 - self.expects(&none)
    }

    /// The share of the belief in which a need lies so.
    pub fn share(&self, lies: impl Fn([f32; 3]) -> bool) -> f32 {
        let weights = self.weights.iter().enumerate();
        weights.filter(|(nth, _)| lies(self.points.need(*nth))).map(|(_, weight)| weight).sum()
    }
}

fn log_prior(prior: &Prior, chart_d: f32, [m, j0, j45, best, pupil, amplitude, tension]: [f32; PARTS]) -> f32 {
    let normal = |[mean, sd]: [f32; 2]| bell((best - mean) / sd) / sd;
    let of_best = (1.0 - POOR) * normal(BEST_LOG_MAR) + POOR * normal(POOR_LOG_MAR);
    let (pupil, amplitude) = (pupil / PUPIL_SD, amplitude / AMPLITUDE_SD);
    prior.log_density([m - chart_d, j0, j45]) + ln(of_best.max(1e-30))
        - 0.5 * (pupil * pupil + amplitude * amplitude + tension * tension)
}

/// A line that is read surprises by the logarithm of how much less likely it is than the likeliest one, and by no more than this:
/// what is a slip is no more of one for being far off. What somebody would expect of it, and its variance, over the curve
/// of `people::reads`.
const MOST_SURPRISE: f32 = 6.0;
const OF_A_READING: [f32; 2] = [0.60, 0.92];

/// What somebody is surprised by beyond what was expected, and the variance of that.
fn beyond<const ANSWERS: usize>(chances: [f32; ANSWERS], now: usize) -> [f32; 2] {
    let surprise = chances.map(|chance| -ln(chance.max(1e-4)));
    let over = |of: &dyn Fn(f32) -> f32| chances.iter().zip(surprise).map(|(chance, of_it)| chance * of(of_it)).sum();
    let mean: f32 = over(&|of_it| of_it);
    [surprise[now] - mean, over(&|of_it| (of_it - mean) * (of_it - mean))]
}

impl Points {
    /// How much the answers surprise these people beyond what each of them, were it the one, would expect of them: in standard
    /// deviations. What chooses its questions well expects every answer about alike; only who looks back from what
    /// is believed in the end sees that they did not fit together.
    pub fn surprise(&self, person: Beforehand, evidence: &[Evidence]) -> f32 {
        let count = self.len();
        let (mut first, mut second) = (Vec::new(), Vec::new());
        let mut sums = vec![[0.0_f32; 2]; count];
        for evidence in evidence {
            let mut add = |nth: usize, [beyond, variance]: [f32; 2]| {
                sums[nth][0] += beyond;
                sums[nth][1] += variance;
            };
            match *evidence {
                Evidence::Read { before, log_mar, top_log_mar, pinhole, tense } => {
                    self.log_mar(before, pinhole, tense, &mut first);
                    for (nth, seen) in first.iter().enumerate() {
                        add(
                            nth,
                            if let Some(read) = log_mar {
                                let unlikely = ln(people::reads(*seen, *seen) / people::reads(*seen, read).max(1e-9));
                                [unlikely.min(MOST_SURPRISE) - OF_A_READING[0], OF_A_READING[1]]
                            } else {
                                let none = people::reads_no_letter(*seen, top_log_mar);
                                beyond([none, 1.0 - none], 0)
                            },
                        );
                    }
                }
                Evidence::Compared { first: one, second: other, said, tense } => {
                    self.log_mar(one, false, tense, &mut first);
                    self.log_mar(other, false, tense, &mut second);
                    let favour = Evidence::favours_blacker(person, one, other);
                    for nth in 0..count {
                        let chances = |favour: f32| {
                            people::compares(first[nth], second[nth], self.best_log_mar[nth], favour, person.slips)
                        };
                        let mut of = chances(0.0);
                        if let Some(favour) = favour {
                            let favoured = chances(favour);
                            of = std::array::from_fn(|said| (1.0 - BLACKER) * of[said] + BLACKER * favoured[said]);
                        }
                        add(nth, beyond(of, said as usize));
                    }
                }
                Evidence::Letters { first: one, second: other, more, tense } => {
                    self.log_mar(one, false, tense, &mut first);
                    self.log_mar(other, false, tense, &mut second);
                    for nth in 0..count {
                        let [yes, ..] =
                            people::compares(first[nth], second[nth], self.best_log_mar[nth], 0.0, person.slips);
                        add(nth, beyond([yes, 1.0 - yes], usize::from(!more)));
                    }
                }
                Evidence::Found { .. } | Evidence::Complains { .. } => {}
            }
        }
        let all = |part: usize| sums.iter().map(|sums| sums[part]).sum::<f32>() / count.max(1) as f32;
        all(0) / (all(1) + 1.0).sqrt()
    }
}

/// About a tenth of what is found in another way is of no use: so densely needs then lie in each cubic dioptre, against the height
/// of the curve around what was found.
const OF_NO_USE: f32 = 0.5;

/// What two looks and the best that is seen come to, for each point.
#[inline]
fn each([first, second, best]: [&Vec<f32>; 3], likely: &mut Vec<f32>, of: impl Fn(f32, f32, f32) -> f32) {
    likely.clear();
    likely.resize(first.len(), 0.0);
    let count = likely.len();
    let (first, second, best) = (&first[..count], &second[..count], &best[..count]);
    for (nth, likely) in likely.iter_mut().enumerate() {
        *likely = of(first[nth], second[nth], best[nth]);
    }
}

/// How likely evidence is to each point.
fn likelihood(points: &Points, person: Beforehand, evidence: &Evidence, likely: &mut Vec<f32>) {
    let (mut first, mut second) = (Vec::new(), Vec::new());
    likely.clear();
    match *evidence {
        Evidence::Read { before, log_mar, top_log_mar, pinhole, tense } => {
            points.log_mar(before, pinhole, tense, likely);
            match log_mar {
                Some(read) => likely.iter_mut().for_each(|seen| *seen = people::reads(*seen, read)),
                None => likely.iter_mut().for_each(|seen| *seen = people::reads_no_letter(*seen, top_log_mar)),
            }
        }
        Evidence::Compared { first: one, second: other, said, tense } => {
            points.log_mar(one, false, tense, &mut first);
            points.log_mar(other, false, tense, &mut second);
            let answers = |favour: f32, likely: &mut Vec<f32>| {
                let looks = [&first, &second, &points.best_log_mar];
                let with = |one, other, best| people::compares(one, other, best, favour, person.slips);
                // each answer is a loop of its own, without a choice in it
                match said {
                    Said::Clearer => each(looks, likely, |one, other, best| with(one, other, best)[0]),
                    Said::Same => each(looks, likely, |one, other, best| with(one, other, best)[1]),
                    Said::Worse => each(looks, likely, |one, other, best| with(one, other, best)[2]),
                }
            };
            answers(0.0, likely);
            if let Some(favour) = Evidence::favours_blacker(person, one, other) {
                let mut favoured = Vec::new();
                answers(favour, &mut favoured);
                for (likely, favoured) in likely.iter_mut().zip(&favoured) {
                    *likely = (1.0 - BLACKER) * *likely + BLACKER * favoured;
                }
            }
        }
        Evidence::Letters { first: one, second: other, more, tense } => {
            points.log_mar(one, false, tense, &mut first);
            points.log_mar(other, false, tense, &mut second);
            let looks = [&first, &second, &points.best_log_mar];
            each(looks, likely, |one, other, best| people::compares(one, other, best, 0.0, person.slips)[0]);
            if !more {
                for likely in likely.iter_mut() {
                    *likely = 1.0 - *likely;
                }
            }
        }
        Evidence::Found { power, sd_m, sd_j } => {
            likely.extend((0..points.len()).map(|nth| {
                let [m, j0, j45] = points.need(nth);
                let (m, j0, j45) = ((m - power[0]) / sd_m, (j0 - power[1]) / sd_j, (j45 - power[2]) / sd_j);
                // as surely as it is thought to lie near, as rarely is a need near it by chance
                OF_NO_USE * sd_m * sd_j * sd_j + bell(m) * bell((j0 * j0 + j45 * j45).sqrt())
            }));
        }
        Evidence::Complains { far, near } => {
            points.log_mar([0.0; 3], false, 0.0, &mut first);
            for ((kind, _), range) in KINDS.iter().zip(&points.of_kind) {
                likely.extend(range.clone().map(|nth| {
                    let of_far = people::complains_of_far(first[nth]);
                    let of_near = people::complains_of_near(*kind, points.traits(nth), points.need(nth));
                    let said = |likely: f32, said: bool| if said { likely } else { 1.0 - likely };
                    said(of_far, far) * said(of_near, near)
                }));
            }
        }
    }
}
