//! The stretch of samples under way, of which a zero may be taken.

use crate::core::signal::lanes::eight;
use fearless_simd::prelude::*;
use fearless_simd::{Simd, f64x8};

/// Samples worked on side by side.
pub(super) const LANES: usize = 8;

/// One figure a lane.
type Lanes = [f64; LANES];

/// The sum of all, in the same order wherever it is taken.
#[inline(always)]
pub(super) fn total(lanes: Lanes) -> f64 {
    let [one, two, three, four, five, six, seven, eight] = lanes;
    ((one + five) + (three + seven)) + ((two + six) + (four + eight))
}

/// Samples of the stretch under way.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Window {
    pub count: u32,
    pub sums: Lanes,
    pub squares: Lanes,
    /// Mean of the first half, once it is there.
    pub early: f64,
}

impl Window {
    pub fn add(&mut self, raw_nm: f64) {
        let lane = self.count as usize % LANES;
        self.sums[lane] += raw_nm;
        self.squares[lane] += raw_nm * raw_nm;
        self.count += 1;
    }

    /// The whole window of these samples, with the lowest and the highest of them, N·m: not a number, if any
    /// of them is odd. It is one pass from the first to the last: what is fetched ahead is what comes next.
    /// Each half has whole lanes.
    #[inline(always)]
    pub fn whole(simd: impl Simd, torque: &[f32]) -> (Self, f64, f64) {
        let half = torque.len() / 2;
        let (early, late) = torque.split_at(half);
        let none = f64x8::splat(simd, 0.0);
        let (mut early_sums, mut sums, mut squares) = (none, none, none);
        let (mut low, mut high) = (none + f64::INFINITY, none - f64::INFINITY);
        for part in [early, late] {
            early_sums = sums;
            for part in part.as_chunks::<LANES>().0 {
                let nm = eight(simd, part);
                sums += nm;
                squares += nm * nm;
                (low, high) = (low.min(nm), high.max(nm));
            }
        }
        let window = Self {
            count: torque.len() as u32,
            sums: sums.to_array(),
            squares: squares.to_array(),
            early: total(early_sums.to_array()) / half as f64,
        };
        let odd = total(window.squares) * 0.0;
        (window, low.reduce_min() + odd, high.reduce_max() + odd)
    }

    /// The window with all of these, each in the lane that its place gives it: the sums are the same
    /// however samples were cut.
    #[inline(always)]
    pub fn with(&self, simd: impl Simd, torque: &[f32]) -> Self {
        let mut with = *self;
        let to_lane = (LANES - self.count as usize % LANES) % LANES;
        let (head, body) = torque.split_at(to_lane.min(torque.len()));
        for torque in head {
            with.add(f64::from(*torque));
        }
        let (lanes, tail) = body.split_at(body.len() - body.len() % LANES);
        let (mut sums, mut squares) =
            (f64x8::load_array(simd, with.sums), f64x8::load_array(simd, with.squares));
        for part in lanes.as_chunks::<LANES>().0 {
            let nm = eight(simd, part);
            sums += nm;
            squares += nm * nm;
        }
        (with.sums, with.squares) = (sums.to_array(), squares.to_array());
        with.count += lanes.len() as u32;
        for torque in tail {
            with.add(f64::from(*torque));
        }
        with
    }
}
