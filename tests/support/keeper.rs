//! An invented keeper who holds lenses of a box together, some of which are off their mark.

use dioptray::keeping::held_together::law::{HAND_NOISE_D, MISMARKED_SHARE, STILL_WITHIN_D, together_d};
use dioptray::keeping::held_together::{Beliefs, Look, Suspect, choosing, suspects};
use dioptray::kit::{Motion, Piece, Stock};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

/// What came of one box.
pub struct Held {
    /// The pieces that were off.
    pub off: Vec<Piece>,
    /// The lenses that were named.
    pub named: Vec<Suspect>,
    /// In how many looks.
    pub looks: usize,
}

/// Goes through a box of which some lenses are off by so much, in dioptres, either way.
pub fn go_through(stock: &Stock, off_by_d: f64, seed: u64) -> Held {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut beliefs = Beliefs::of(stock, &[]);
    let off: Vec<f64> = beliefs
        .candidates()
        .iter()
        .map(|lens| {
            if lens.is_free && rng.random_bool(MISMARKED_SHARE) {
                off_by_d * if rng.random_bool(0.5) { 1.0 } else { -1.0 }
            } else {
                0.0
            }
        })
        .collect();
    let mut looks = 0;
    while let Some(held) = choosing::next(&beliefs) {
        let power = |lens: usize| beliefs.candidates()[lens].power_d + off[lens];
        let powers: Vec<f64> = held.iter().map(|lens| power(*lens)).collect();
        // the law's own noise, drawn here: the polar form of Box and Muller
        let (one, other): (f64, f64) = (rng.random_range(1e-12..1.0), rng.random());
        let noise = HAND_NOISE_D * (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos();
        let left = together_d(&powers) + noise;
        let seen = if left < -STILL_WITHIN_D {
            Motion::With
        } else if left > STILL_WITHIN_D {
            Motion::Against
        } else {
            Motion::Still
        };
        let pieces = held.iter().map(|lens| beliefs.candidates()[*lens].piece.clone()).collect();
        beliefs.learn(&Look { pieces, seen });
        looks += 1;
    }
    let piece = |lens: usize| beliefs.candidates()[lens].piece.clone();
    let is_off = |lens: &usize| off[*lens] != 0.0;
    Held {
        off: (0..off.len()).filter(is_off).map(piece).collect(),
        named: suspects(&beliefs).into_iter().filter(Suspect::is_named).collect(),
        looks,
    }
}
