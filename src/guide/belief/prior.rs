//! How common which need is, before anything is known of an eye: the public counts, smoothed, with a floor under them so that
//! no eye is impossible.

/// What is counted: sphere, minus cylinder, the axes among which its own lies in degrees (two stretches, each with half), and
/// how many eyes needed it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Sphere in dioptres.
    pub sphere_d: f64,
    /// Cylinder in dioptres, 0 or below.
    pub cylinder_d: f64,
    /// Stretches of axes in degrees, from and to.
    pub axes_deg: [[f64; 2]; 2],
    /// How many eyes.
    pub eyes: f64,
}

/// The grid of needs: its steps in dioptres and how many there are to either side of none.
const STEP_D: f32 = 0.25;
const LEAST_M_D: f32 = -22.0;
const MOST_M_D: f32 = 16.0;
const MOST_J_D: f32 = 3.5;
const ALONG_M: usize = ((MOST_M_D - LEAST_M_D) / STEP_D) as usize + 1;
const ALONG_J: usize = (2.0 * MOST_J_D / STEP_D) as usize + 1;

/// The share of all eyes that the counts say nothing of, and how wide those are spread, in dioptres.
const UNCOUNTED: f32 = 0.01;
const UNCOUNTED_M_D: f32 = 4.0;
const UNCOUNTED_J_D: f32 = 0.6;

/// Turns over which an axis class is spread, of each stretch.
const TURNS: usize = 8;

/// How common each need is.
#[derive(Debug)]
pub struct Prior {
    /// The natural logarithm of the density in each cell, less that of the commonest.
    log_density: Vec<f32>,
    /// The share of all eyes up to and with each cell.
    so_far: Vec<f32>,
    /// The same where strong needs are thought as common as weak ones.
    so_far_widely: Vec<f32>,
    /// How much commoner than by the counts each cell then is: the logarithm.
    log_widely: Vec<f32>,
}

fn index(m: usize, j0: usize, j45: usize) -> usize {
    (m * ALONG_J + j0) * ALONG_J + j45
}

/// The cell below, and how far beyond it, within the grid.
fn place(at: f32, least: f32, along: usize) -> (usize, f32) {
    let steps = ((at - least) / STEP_D).clamp(0.0, (along - 1) as f32 - 1e-3);
    (steps as usize, steps.fract())
}

fn smoothed(shares: &mut [f32], along: usize, stride: usize) {
    let before = shares.to_vec();
    for (at, share) in shares.iter_mut().enumerate() {
        let nth = at / stride % along;
        let below = if nth > 0 { before[at - stride] } else { 0.0 };
        let above = if nth + 1 < along { before[at + stride] } else { 0.0 };
        *share = 0.25 * below + 0.5 * before[at] + 0.25 * above;
    }
}

impl Prior {
    /// From counted rows.
    pub fn of(rows: impl Iterator<Item = Row>) -> Self {
        let mut shares = vec![0.0_f32; ALONG_M * ALONG_J * ALONG_J];
        for row in rows {
            let each = row.eyes / (2 * TURNS) as f64;
            for [from, to] in row.axes_deg {
                for turn in 0..TURNS {
                    let axis = from + (to - from) * (turn as f64 + 0.5) / TURNS as f64;
                    let (sin, cos) = libm::sincos((2.0 * axis).to_radians());
                    let half = -row.cylinder_d / 2.0;
                    let at = [row.sphere_d + row.cylinder_d / 2.0, half * cos, half * sin].map(|part| part as f32);
                    Self::spread(&mut shares, at, each as f32);
                }
            }
        }
        smoothed(&mut shares, ALONG_M, ALONG_J * ALONG_J);
        smoothed(&mut shares, ALONG_J, ALONG_J);
        smoothed(&mut shares, ALONG_J, 1);
        let counted: f32 = shares.iter().sum();
        let floor: Vec<f32> = Self::cells().map(Self::uncounted).collect();
        let all: f32 = floor.iter().sum();
        for (share, floor) in shares.iter_mut().zip(&floor) {
            *share = (1.0 - UNCOUNTED) * *share / counted.max(1.0) + UNCOUNTED * floor / all;
        }
        let most = shares.iter().copied().fold(0.0, f32::max);
        let log_density = shares.iter().map(|share| libm::logf(share / most)).collect();
        let widely: Vec<f32> = Self::cells().map(Self::widely).collect();
        let all: f32 = widely.iter().sum();
        let ratio = widely.iter().zip(&shares).map(|(widely, share)| libm::logf(widely / all / share));
        Self { log_density, log_widely: ratio.collect(), so_far: summed(&shares), so_far_widely: summed(&widely) }
    }

    fn cells() -> impl Iterator<Item = [f32; 3]> {
        let along = |count: usize, least: f32| (0..count).map(move |nth| least + STEP_D * nth as f32);
        along(ALONG_M, LEAST_M_D).flat_map(move |m| {
            along(ALONG_J, -MOST_J_D).flat_map(move |j0| along(ALONG_J, -MOST_J_D).map(move |j45| [m, j0, j45]))
        })
    }

    /// Falls off with the sphere as a wide curve, with the cylinder by halves.
    fn uncounted([m, j0, j45]: [f32; 3]) -> f32 {
        let sphere = 1.0 + (m / UNCOUNTED_M_D) * (m / UNCOUNTED_M_D);
        libm::expf(-libm::hypotf(j0, j45) / UNCOUNTED_J_D) / (sphere * sphere)
    }

    /// Every sphere from −18 to +14 alike, and beyond hardly any.
    fn widely([m, j0, j45]: [f32; 3]) -> f32 {
        let inside = if (-18.0..=14.0).contains(&m) { 1.0 } else { 0.05 };
        inside * libm::expf(-libm::hypotf(j0, j45) / UNCOUNTED_J_D)
    }

    /// Shares eyes out among the cells around a need.
    fn spread(shares: &mut [f32], [m, j0, j45]: [f32; 3], eyes: f32) {
        let (m, in_m) = place(m, LEAST_M_D, ALONG_M);
        let (j0, in_j0) = place(j0, -MOST_J_D, ALONG_J);
        let (j45, in_j45) = place(j45, -MOST_J_D, ALONG_J);
        for corner in 0..8 {
            let [a, b, c] = [corner & 1, corner >> 1 & 1, corner >> 2 & 1];
            let part = |inside: f32, upper: usize| if upper == 1 { inside } else { 1.0 - inside };
            shares[index(m + a, j0 + b, j45 + c)] += eyes * part(in_m, a) * part(in_j0, b) * part(in_j45, c);
        }
    }

    /// The natural logarithm of how common a need is beside the commonest.
    pub fn log_density(&self, [m, j0, j45]: [f32; 3]) -> f32 {
        let beyond = |at: f32, most: f32| (at.abs() - most).max(0.0);
        let outside = beyond(m - f32::midpoint(LEAST_M_D, MOST_M_D), (MOST_M_D - LEAST_M_D) / 2.0)
            + beyond(j0, MOST_J_D)
            + beyond(j45, MOST_J_D);
        let (m, in_m) = place(m, LEAST_M_D, ALONG_M);
        let (j0, in_j0) = place(j0, -MOST_J_D, ALONG_J);
        let (j45, in_j45) = place(j45, -MOST_J_D, ALONG_J);
        let at = |a: usize, b: usize, c: usize| self.log_density[index(m + a, j0 + b, j45 + c)];
        let along_j45 = |a, b| at(a, b, 0) + in_j45 * (at(a, b, 1) - at(a, b, 0));
        let along_j0 = |a| along_j45(a, 0) + in_j0 * (along_j45(a, 1) - along_j45(a, 0));
        along_j0(0) + in_m * (along_j0(1) - along_j0(0)) - 4.0 * outside
    }

    /// A need at this share of all eyes, displaced within its cell by shares of it from −½ to ½; `widely` where strong needs are
    /// thought as common as weak ones. With it how much commoner its cell is then: the logarithm.
    pub fn need(&self, share: f32, within: [f32; 3], widely: bool) -> ([f32; 3], f32) {
        let so_far = if widely { &self.so_far_widely } else { &self.so_far };
        let all = so_far.last().copied().unwrap_or(1.0);
        let at = so_far.partition_point(|so_far| *so_far <= share * all).min(so_far.len() - 1);
        let (m, j0, j45) = (at / (ALONG_J * ALONG_J), at / ALONG_J % ALONG_J, at % ALONG_J);
        let cell = |nth: usize, least: f32, within: f32| least + STEP_D * (nth as f32 + within);
        let need = [cell(m, LEAST_M_D, within[0]), cell(j0, -MOST_J_D, within[1]), cell(j45, -MOST_J_D, within[2])];
        (need, self.log_widely[at])
    }
}

fn summed(shares: &[f32]) -> Vec<f32> {
    let mut so_far = 0.0;
    let sums = shares.iter().map(|share| {
        so_far += share;
        so_far
    });
    sums.collect()
}
