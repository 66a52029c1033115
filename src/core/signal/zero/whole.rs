//! Whole windows, two side by side: while a sum of the one waits for its last step, the other takes its own.

use super::window::{Offs, Window};
use crate::core::signal::lanes::{LANES, Lanes, four, highest, lowest, total};
use crate::core::units::Torque;
use fearless_simd::prelude::*;
use fearless_simd::{Simd, f64x4, f64x8};

/// A whole window, and the lowest and the highest of its samples, N·m: not a number, if any of them is odd.
#[derive(Debug, Clone, Copy)]
pub(in crate::core::signal) struct Whole {
    pub(super) window: Window,
    pub(super) low_nm: f64,
    pub(super) high_nm: f64,
}

impl Whole {
    /// Two windows, one after the other. Each half of both has whole lanes.
    #[inline(always)]
    pub fn pair(simd: impl Simd, torque: &[Torque]) -> [Self; 2] {
        let (one, other) = torque.split_at(torque.len() / 2);
        let (one_early, one_late) = one.split_at(one.len() / 2);
        let (other_early, other_late) = other.split_at(other.len() / 2);
        let first = |window: &[Torque]| window.first().map_or(0.0, |torque| torque.nm());
        let firsts = f64x4::splat(simd, first(one)).combine(f64x4::splat(simd, first(other)));
        let none = f64x8::splat(simd, 0.0);
        let (mut sums, mut squares, mut low, mut high) = (none, none, firsts, firsts);
        let mut early = none;
        for (ones, others) in [(one_early, other_early), (one_late, other_late)] {
            early = sums;
            let (ones, others) = (ones.as_chunks::<LANES>().0, others.as_chunks::<LANES>().0);
            for (one, other) in ones.iter().zip(others) {
                let nm = four(simd, one).combine(four(simd, other));
                let off = nm - firsts;
                sums += off;
                squares += off * off;
                (low, high) = (low.min(nm), high.max(nm));
            }
        }
        let (early, sums, squares) = (apart(early), apart(sums), apart(squares));
        let (low, high) = (apart(low), apart(high));
        let half = one_early.len() as f64;
        let whole = |which: usize, window: &[Torque]| {
            let odd = total(squares[which]) * 0.0;
            Self {
                window: Window {
                    count: window.len() as u32,
                    first: first(window),
                    offs: Offs { sums: sums[which], squares: squares[which] },
                    early: total(early[which]) / half,
                },
                low_nm: lowest(low[which]) + odd,
                high_nm: highest(high[which]) + odd,
            }
        };
        [whole(0, one), whole(1, other)]
    }
}

/// The lanes of each window.
#[inline(always)]
fn apart<S: Simd>(both: f64x8<S>) -> [Lanes; 2] {
    let (one, other) = both.split();
    [one.to_array(), other.to_array()]
}
