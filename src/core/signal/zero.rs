//! What the adapter shows when nothing is on it, and how much that wavers.
//!
//! The zero is taken only from stretches in which nothing is loaded: steady to within what the
//! adapter has shown to be its own noise (a resting hand trembles more), and near the zero in use.

use super::constants::{
    ABSURD_NM, NOISE_FLOOR_SHARE, STEADY_FACTOR, ZERO_BAND_SHARE, ZERO_FIRST_SHARE, ZERO_GAIN,
    ZERO_LEAST_SAMPLES, ZERO_WINDOW_S,
};
use super::lanes::{LANES, Lanes, first_beyond, four, higher, highest, lowest, span, total};
use crate::core::units::Torque;
use fearless_simd::prelude::*;
use fearless_simd::{Simd, f64x4};

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
    offs: Offs,
    /// Mean of the first half, once it is there.
    early: f64,
}

/// Sums, and sums of squares, of what samples differ from the first.
#[derive(Debug, Clone, Copy, Default)]
struct Offs {
    sums: Lanes,
    squares: Lanes,
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

    /// Takes the first of these, if they are a whole window, and all of them are nearer than `within_nm` to
    /// the zero in use. How many were taken, and whether a new zero was taken with them.
    #[inline(always)]
    pub fn rest_whole(
        &mut self,
        simd: impl Simd,
        torque: &[Torque],
        within_nm: f64,
    ) -> Option<(usize, bool)> {
        let needed = self.needed as usize;
        let (true, Some(whole)) = (self.window.count == 0, torque.get(..needed)) else {
            return None;
        };
        let (window, low, high) = Window::whole(simd, whole);
        let near = high - self.nm < within_nm && self.nm - low < within_nm;
        if !near || higher(high, -low) >= ABSURD_NM {
            return None;
        }
        Some((needed, self.weigh(&window)))
    }

    /// A sample while no pull is open. True if a new zero was taken with it.
    pub fn rest(&mut self, raw_nm: f64) -> bool {
        self.window.add(raw_nm);
        self.mark()
    }

    /// The same of several, at most [`Self::room`] of them, up to the first that is not nearer than
    /// `within_nm` to the zero in use. How many were taken, if any, and what came of it.
    #[inline(always)]
    pub fn rest_all(
        &mut self,
        simd: impl Simd,
        torque: &[Torque],
        within_nm: f64,
    ) -> Option<(usize, bool)> {
        let mut count = torque.len();
        let mut window = self.window.with(simd, torque);
        if !self.is_calm(&window, within_nm) && !self.is_near(simd, torque, within_nm) {
            count = first_beyond(simd, torque, self.nm, within_nm);
            let some = &torque[..count];
            if count == 0 || !self.is_near(simd, some, within_nm) {
                return None;
            }
            window = self.window.with(simd, some);
        }
        self.window = window;
        Some((count, self.mark()))
    }

    /// True if all of these are so near to the zero in use.
    #[inline(always)]
    fn is_near(&self, simd: impl Simd, torque: &[Torque], within_nm: f64) -> bool {
        let (low, high) = span(simd, torque);
        let near = high - self.nm < within_nm && self.nm - low < within_nm;
        near && higher(high, -low) < ABSURD_NM
    }

    /// True if the sum of its squares leaves no sample of the window room to be farther than that from
    /// the zero in use.
    #[inline(always)]
    fn is_calm(&self, window: &Window, within_nm: f64) -> bool {
        let room = within_nm - (window.first - self.nm).abs();
        // A thousandth is many times what rounding takes.
        let calm = total(window.offs.squares) < room * room * 0.999;
        calm && room > 0.1 * within_nm && window.first.abs() + room < ABSURD_NM
    }

    /// What half a window and a whole one are taken for.
    #[inline(always)]
    fn mark(&mut self) -> bool {
        let window = &mut self.window;
        if window.count == self.needed / 2 {
            window.early = total(window.offs.sums) / f64::from(window.count);
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
        let mean = total(window.offs.sums) / count;
        let sd = (total(window.offs.squares) / count - mean * mean).max(0.0).sqrt();
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
        self.offs.sums[lane] += off;
        self.offs.squares[lane] += off * off;
        self.count += 1;
    }

    /// The window of all of these: whole lanes in each half.
    #[inline(always)]
    fn whole(simd: impl Simd, torque: &[Torque]) -> (Self, f64, f64) {
        let first = torque.first().map_or(0.0, |torque| torque.nm());
        let (early, late) = torque.split_at(torque.len() / 2);
        let none = f64x4::splat(simd, 0.0);
        let (mut sums, mut squares) = (none, none);
        let (mut low, mut high) = (none + first, none + first);
        let mut mean = 0.0;
        for half in [early, late] {
            mean = total(sums.to_array()) / early.len() as f64;
            for part in half.as_chunks::<LANES>().0 {
                let nm = four(simd, part);
                (low, high) = (low.min(nm), high.max(nm));
                let off = nm - first;
                sums += off;
                squares += off * off;
            }
        }
        let offs = Offs { sums: sums.to_array(), squares: squares.to_array() };
        let odd = total(offs.squares) * 0.0;
        let (low, high) = (lowest(low.to_array()) + odd, highest(high.to_array()) + odd);
        (Self { count: torque.len() as u32, first, offs, early: mean }, low, high)
    }

    /// The window with all of these, each in the lane that its place gives it: the sums are the same
    /// however samples were cut.
    #[inline(always)]
    fn with(&self, simd: impl Simd, torque: &[Torque]) -> Self {
        let mut with = *self;
        let to_lane = (LANES - self.count as usize % LANES) % LANES;
        let (head, body) = torque.split_at(to_lane.min(torque.len()));
        for torque in head {
            with.add(torque.nm());
        }
        if let (0, Some(first)) = (with.count, torque.first()) {
            with.first = first.nm();
        }
        let (lanes, tail) = body.split_at(body.len() - body.len() % LANES);
        with.offs.add(simd, lanes, with.first);
        with.count += lanes.len() as u32;
        for torque in tail {
            with.add(torque.nm());
        }
        with
    }
}

impl Offs {
    /// Adds whole lanes.
    #[inline(always)]
    fn add(&mut self, simd: impl Simd, torque: &[Torque], first: f64) {
        let mut sums = f64x4::load_array(simd, self.sums);
        let mut squares = f64x4::load_array(simd, self.squares);
        for part in torque.as_chunks::<LANES>().0 {
            let off = four(simd, part) - first;
            sums += off;
            squares += off * off;
        }
        *self = Self { sums: sums.to_array(), squares: squares.to_array() };
    }
}
