//! Seeded draws: the same seed and stream give the same numbers on any number of threads.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::stats::normal_quantile;

/// A stream of draws.
#[derive(Clone, Debug)]
pub struct Draws(ChaCha8Rng);

impl Draws {
    /// A stream of a seed: each stream is independent of the others.
    #[must_use]
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(stream);
        Self(random)
    }
    /// Evenly distributed between 0 and 1, neither included.
    pub fn even(&mut self) -> f64 {
        loop {
            let u: f64 = self.0.random();
            if u > 0.0 {
                return u;
            }
        }
    }
    /// Standard normal.
    pub fn normal(&mut self) -> f64 {
        normal_quantile(self.even())
    }
    /// Whole number from 0 to below `count` (0 where `count` is 0).
    pub fn below(&mut self, count: usize) -> usize {
        if count == 0 { 0 } else { self.0.random_range(0..count) }
    }
}
