//! What the adapter shows when nothing is on it, and how much that wavers.
//!
//! The zero is taken only from stretches in which nothing is loaded: steady to within what the
//! adapter has shown to be its own noise (a resting hand trembles more), and near the zero in use.

mod window;

use super::constants::{
    ABSURD_NM, NOISE_FLOOR_SHARE, STEADY_FACTOR, ZERO_BAND_SHARE, ZERO_FIRST_SHARE, ZERO_GAIN,
    ZERO_LEAST_SAMPLES, ZERO_WINDOW_S,
};
use super::lanes::{first_beyond, higher};
use fearless_simd::Simd;
use window::{LANES, Window, total};

#[derive(Debug, Clone)]
pub(super) struct Zero {
    range_nm: f64,
    window: Window,
    /// Samples of a whole window.
    needed: u32,
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

impl Zero {
    pub fn new(range_nm: f64) -> Self {
        Self {
            range_nm,
            window: Window::default(),
            needed: ZERO_LEAST_SAMPLES,
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

    /// The stream begins anew at this rate.
    pub fn begin(&mut self, rate_hz: f64) {
        // Whole lanes in each half, so that most samples meet their lane side by side.
        let needed = (rate_hz * ZERO_WINDOW_S) as u32;
        self.needed = needed.max(ZERO_LEAST_SAMPLES).next_multiple_of(2 * LANES as u32);
        self.disturb();
    }

    /// Samples until half or the whole of the window is there.
    pub fn room(&self) -> usize {
        let half = self.needed / 2;
        let next = if self.window.count < half { half } else { self.needed };
        (next - self.window.count) as usize
    }

    /// Samples until the whole of the window is there.
    pub fn left(&self) -> usize {
        (self.needed - self.window.count) as usize
    }

    /// Samples of a whole window.
    pub fn needed(&self) -> usize {
        self.needed as usize
    }

    /// Takes a whole window of these samples, if none is under way, there are as many, and all of them are
    /// nearer than `within_nm` to the zero in use. Tells whether a new zero was taken with it.
    #[inline(always)]
    pub fn rest_whole(&mut self, simd: impl Simd, torque: &[f32], within_nm: f64) -> Option<bool> {
        let torque = torque.get(..self.needed()).filter(|_| self.window.count == 0)?;
        let (window, low, high) = Window::whole(simd, torque);
        let near = high - self.nm < within_nm && self.nm - low < within_nm;
        (near && higher(high, -low) < ABSURD_NM).then(|| self.weigh(&window))
    }

    /// A sample while no pull is open. True if a new zero was taken with it.
    pub fn rest(&mut self, raw_nm: f64) -> bool {
        self.window.add(raw_nm);
        self.mark()
    }

    /// How many of these are nearer than `within_nm` to the zero in use, up to the first that is not.
    #[inline(always)]
    pub fn near(&self, simd: impl Simd, torque: &[f32], within_nm: f64) -> usize {
        if self.nm.abs() + within_nm > ABSURD_NM {
            return 0;
        }
        first_beyond(simd, torque, self.nm, within_nm)
    }

    /// The same as [`Self::rest`] of several, at most [`Self::room`] of them.
    #[inline(always)]
    pub fn rest_all(&mut self, simd: impl Simd, torque: &[f32]) -> bool {
        self.window = self.window.with(simd, torque);
        self.mark()
    }

    /// What half a window and a whole one are taken for.
    #[inline(always)]
    fn mark(&mut self) -> bool {
        let window = &mut self.window;
        if window.count == self.needed / 2 {
            window.early = total(window.sums) / f64::from(window.count);
        }
        if window.count < self.needed {
            return false;
        }
        let window = std::mem::take(window);
        self.weigh(&window)
    }

    #[inline(always)]
    fn weigh(&mut self, window: &Window) -> bool {
        let count = f64::from(window.count);
        let mean = total(window.sums) / count;
        let sd = (total(window.squares) / count - mean * mean).max(0.0).sqrt();
        let floor = self.range_nm * NOISE_FLOOR_SHARE;
        let slope = 2.0 * (mean - window.early).abs();
        let steady = if self.noise_nm > 0.0 { self.noise_nm * STEADY_FACTOR } else { floor * 40.0 };
        let near = (mean - self.nm).abs() < self.range_nm * ZERO_BAND_SHARE;
        if sd > steady.max(floor) || slope > steady.max(floor) || !near {
            return false;
        }
        self.noise_nm = if self.noise_nm > 0.0 { self.noise_nm * 0.8 + sd * 0.2 } else { sd };
        let own = sd / count.sqrt();
        if self.taken {
            let step = (mean - self.nm) * ZERO_GAIN;
            self.wander = self.wander * 0.9 + 0.1 * (mean - self.nm).powi(2);
            self.nm += step;
        } else {
            self.nm = mean;
            self.taken = true;
        }
        self.sd_nm = (own * own + self.wander).sqrt();
        true
    }
}
