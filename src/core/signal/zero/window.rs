//! The stretch of samples under way, of which a zero may be taken.

use crate::core::signal::lanes::{LANES, Lanes, four, highest, lowest, total};
use crate::core::units::Torque;
use fearless_simd::prelude::*;
use fearless_simd::{Simd, f64x4};

/// Samples of the stretch under way, less its first.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Window {
    pub count: u32,
    pub first: f64,
    pub offs: Offs,
    /// Mean of the first half, once it is there.
    pub early: f64,
}

/// Sums, and sums of squares, of what samples differ from the first.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Offs {
    pub sums: Lanes,
    pub squares: Lanes,
}

impl Window {
    pub fn add(&mut self, raw_nm: f64) {
        if self.count == 0 {
            self.first = raw_nm;
        }
        let lane = self.count as usize % LANES;
        let off = raw_nm - self.first;
        self.offs.sums[lane] += off;
        self.offs.squares[lane] += off * off;
        self.count += 1;
    }

    /// The whole window of these samples, with the lowest and the highest of them, N·m: not a number, if any
    /// of them is odd. It is one pass from the first to the last: what is fetched ahead is what comes next.
    /// Each half has whole lanes.
    #[inline(always)]
    pub fn whole(simd: impl Simd, torque: &[Torque]) -> (Self, f64, f64) {
        let first = torque.first().map_or(0.0, |torque| torque.nm());
        let half = torque.len() / 2;
        let (early, late) = torque.split_at(half);
        let none = f64x4::splat(simd, 0.0);
        let (mut early_sums, mut sums, mut squares) = (none, none, none);
        let (mut low, mut high) = (none + first, none + first);
        for part in [early, late] {
            early_sums = sums;
            for part in part.as_chunks::<LANES>().0 {
                let nm = four(simd, part);
                let off = nm - first;
                sums += off;
                squares += off * off;
                (low, high) = (low.min(nm), high.max(nm));
            }
        }
        let window = Self {
            count: torque.len() as u32,
            first,
            offs: Offs { sums: sums.to_array(), squares: squares.to_array() },
            early: total(early_sums.to_array()) / half as f64,
        };
        let odd = total(window.offs.squares) * 0.0;
        (window, lowest(low.to_array()) + odd, highest(high.to_array()) + odd)
    }

    /// The window with all of these, each in the lane that its place gives it: the sums are the same
    /// however samples were cut.
    #[inline(always)]
    pub fn with(&self, simd: impl Simd, torque: &[Torque]) -> Self {
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
