//! What the adapter shows when nothing is on it, and how much that wavers.
//!
//! The zero is taken only from stretches in which nothing is loaded: steady to within what the
//! adapter has shown to be its own noise (a resting hand trembles more), and near the zero in use.

use super::constants::{
    NOISE_FLOOR_SHARE, STEADY_FACTOR, ZERO_BAND_SHARE, ZERO_FIRST_SHARE, ZERO_GAIN,
    ZERO_LEAST_SAMPLES, ZERO_WINDOW_S,
};

#[derive(Debug, Clone)]
pub(super) struct Zero {
    range_nm: f64,
    window: Window,
    /// In use, N·m.
    pub nm: f64,
    /// True once taken from samples.
    pub taken: bool,
    /// One standard uncertainty of it, N·m.
    pub sd_nm: f64,
    /// Noise of one sample, N·m; 0 while not known.
    pub noise_nm: f64,
    /// Mean square of the steps of the zero, N·m²: how fast it wanders.
    wander: f64,
}

#[derive(Debug, Clone, Copy, Default)]
struct Window {
    count: u32,
    first: f64,
    sum: f64,
    squares: f64,
    early: f64,
}

impl Zero {
    pub fn new(range_nm: f64) -> Self {
        Self {
            range_nm,
            window: Window::default(),
            nm: 0.0,
            taken: false,
            sd_nm: range_nm * ZERO_FIRST_SHARE,
            noise_nm: 0.0,
            wander: (range_nm * ZERO_FIRST_SHARE * 0.1).powi(2),
        }
    }

    /// Takes over what a steady stretch too short for a zero of its own has shown.
    pub fn lend(&mut self, nm: f64, sd_nm: f64) {
        self.nm = nm;
        self.sd_nm = (sd_nm * sd_nm + self.wander).sqrt();
    }

    /// Something is loaded, or a sample is missing: the stretch under way tells nothing.
    pub fn disturb(&mut self) {
        self.window = Window::default();
    }

    /// A sample while no pull is open. True if a new zero was taken with it.
    pub fn rest(&mut self, raw_nm: f64, rate_hz: f64) -> bool {
        let window = &mut self.window;
        if window.count == 0 {
            window.first = raw_nm;
        }
        let off = raw_nm - window.first;
        window.count += 1;
        window.sum += off;
        window.squares += off * off;
        let needed = ((rate_hz * ZERO_WINDOW_S) as u32).max(ZERO_LEAST_SAMPLES);
        if window.count == needed / 2 {
            window.early = window.sum / f64::from(window.count);
        }
        if window.count < needed {
            return false;
        }
        let whole = std::mem::take(&mut self.window);
        self.weigh(&whole)
    }

    fn weigh(&mut self, window: &Window) -> bool {
        let count = f64::from(window.count);
        let mean = window.sum / count;
        let sd = (window.squares / count - mean * mean).max(0.0).sqrt();
        let floor = self.range_nm * NOISE_FLOOR_SHARE;
        let slope = 2.0 * (mean - window.early).abs();
        let steady = if self.noise_nm > 0.0 { self.noise_nm * STEADY_FACTOR } else { floor * 40.0 };
        let at_nm = window.first + mean;
        let near = (at_nm - self.nm).abs() < self.range_nm * ZERO_BAND_SHARE;
        if sd > steady.max(floor) || slope > steady.max(floor) || !near {
            return false;
        }
        self.noise_nm = if self.noise_nm > 0.0 { self.noise_nm * 0.8 + sd * 0.2 } else { sd };
        let own = sd / count.sqrt();
        if self.taken {
            let step = (at_nm - self.nm) * ZERO_GAIN;
            self.wander = self.wander * 0.9 + 0.1 * (at_nm - self.nm).powi(2);
            self.nm += step;
        } else {
            self.nm = at_nm;
            self.taken = true;
        }
        self.sd_nm = (own * own + self.wander).sqrt();
        true
    }
}
