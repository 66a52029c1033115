//! What the adapter shows when nothing is on it, and how much that wavers.
//!
//! The zero is taken only from stretches in which nothing is loaded: steady to within what the
//! adapter has shown to be its own noise (a resting hand trembles more), and near the zero in use.

use super::constants::{
    ABSURD_NM, NOISE_FLOOR_SHARE, STEADY_FACTOR, ZERO_BAND_SHARE, ZERO_FIRST_SHARE, ZERO_GAIN,
    ZERO_LEAST_SAMPLES, ZERO_WINDOW_S,
};
use super::lanes::{
    LANES, Lanes, NONE_HIGH, NONE_LOW, each, higher, highest, lower, lowest, total,
};
use crate::core::units::Torque;

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

/// Samples of the stretch under way, less its first.
#[derive(Debug, Clone, Copy, Default)]
struct Window {
    count: u32,
    first: f64,
    sums: Lanes,
    squares: Lanes,
    early: f64,
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

    /// A sample while no pull is open. True if a new zero was taken with it.
    pub fn rest(&mut self, raw_nm: f64) -> bool {
        self.window.add(raw_nm);
        self.mark()
    }

    /// The same of several, at most [`Self::room`] of them, if all are nearer than `within_nm` to the
    /// zero in use. Otherwise nothing is taken.
    pub fn rest_all(&mut self, torque: &[Torque], within_nm: f64) -> Option<bool> {
        let mut window = self.window;
        let (low, high) = window.add_all(torque);
        let near = high - self.nm < within_nm && self.nm - low < within_nm;
        let whole = window.sums.iter().all(|sum| sum.is_finite());
        if !near || !whole || higher(high, -low) >= ABSURD_NM {
            return None;
        }
        self.window = window;
        Some(self.mark())
    }

    /// What half a window and a whole one are taken for.
    fn mark(&mut self) -> bool {
        let window = &mut self.window;
        if window.count == self.needed / 2 {
            window.early = total(window.sums) / f64::from(window.count);
        }
        if window.count < self.needed {
            return false;
        }
        let whole = std::mem::take(window);
        self.weigh(&whole)
    }

    fn weigh(&mut self, window: &Window) -> bool {
        let count = f64::from(window.count);
        let mean = total(window.sums) / count;
        let sd = (total(window.squares) / count - mean * mean).max(0.0).sqrt();
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

impl Window {
    fn add(&mut self, raw_nm: f64) {
        if self.count == 0 {
            self.first = raw_nm;
        }
        let lane = self.count as usize % LANES;
        let off = raw_nm - self.first;
        self.sums[lane] += off;
        self.squares[lane] += off * off;
        self.count += 1;
    }

    /// Adds all, each to the lane that its place in the window gives it: the sums are the same however
    /// samples were cut. Lowest and highest of them; what is no number is left to the sums to show.
    fn add_all(&mut self, torque: &[Torque]) -> (f64, f64) {
        let to_lane = (LANES - self.count as usize % LANES) % LANES;
        let (head, body) = torque.split_at(to_lane.min(torque.len()));
        let (parts, tail) = body.as_chunks::<LANES>();
        let (mut low, mut high) = (NONE_LOW, NONE_HIGH);
        for torque in head {
            self.add(torque.nm());
        }
        if let (0, Some(first)) = (self.count, torque.first()) {
            self.first = first.nm();
        }
        let first = self.first;
        let (mut sums, mut squares) = (self.sums, self.squares);
        for part in parts {
            let nm = part.map(Torque::nm);
            let off = nm.map(|nm| nm - first);
            low = each(low, nm, lower);
            high = each(high, nm, higher);
            sums = each(sums, off, |sum, off| sum + off);
            squares = each(squares, off, |squares, off| squares + off * off);
        }
        (self.sums, self.squares) = (sums, squares);
        self.count += (parts.len() * LANES) as u32;
        for torque in tail {
            self.add(torque.nm());
        }
        let ends = (lowest(low), highest(high));
        head.iter()
            .chain(tail)
            .fold(ends, |(low, high), torque| (lower(low, torque.nm()), higher(high, torque.nm())))
    }
}
