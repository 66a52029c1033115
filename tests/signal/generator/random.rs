//! Seeded chance.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

/// A stream of chance that a seed repeats.
#[derive(Debug)]
pub struct Chance(StdRng);

impl Chance {
    pub fn seeded(seed: u64) -> Self {
        Self(StdRng::seed_from_u64(seed))
    }

    /// Evenly between `low` and `high`.
    pub fn even(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.random::<f64>()
    }

    /// Evenly in the logarithm.
    pub fn ratio(&mut self, low: f64, high: f64) -> f64 {
        self.even(low.ln(), high.ln()).exp()
    }

    /// Standard normal (Box and Muller, 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.even(0.0, 1.0)).ln()).sqrt();
        radius * (self.even(0.0, 1.0) * std::f64::consts::TAU).cos()
    }

    /// Around `middle`, log-normal with this spread of the logarithm, within three spreads.
    pub fn around(&mut self, middle: f64, spread: f64) -> f64 {
        middle * (self.normal().clamp(-3.0, 3.0) * spread).exp()
    }

    /// True with this probability.
    pub fn happens(&mut self, share: f64) -> bool {
        self.even(0.0, 1.0) < share
    }

    pub fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[(self.even(0.0, 1.0) * choices.len() as f64) as usize % choices.len()]
    }
}
