//! Chance that comes out the same for a seed on every machine.

use libm::{cos, log};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A source of chance: one seed has many streams that know nothing of each other.
#[derive(Debug, Clone)]
pub struct Draws(ChaCha8Rng);

impl Draws {
    /// The stream of this number of a seed.
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(stream);
        Self(random)
    }

    /// Any number from 0 up to but not 1, all alike.
    pub fn share(&mut self) -> f64 {
        // the 53 bits that a float holds
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Any number from the least up to but not the most, all alike.
    pub fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.share()
    }

    /// Whether something happens that happens in this share of cases.
    pub fn happens(&mut self, share: f64) -> bool {
        self.share() < share
    }

    /// A normal deviate about 0 (Box and Muller, *Ann Math Stat* 1958;29:610).
    pub fn normal(&mut self, standard_deviation: f64) -> f64 {
        let (radius, turn) = (1.0 - self.share(), self.share());
        standard_deviation * (-2.0 * log(radius)).sqrt() * cos(std::f64::consts::TAU * turn)
    }
}
