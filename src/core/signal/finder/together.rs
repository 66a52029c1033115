//! Many samples at once where nothing happens: most of an evening, and most of a pull.
//!
//! What is taken at once leaves the same behind as if taken one after the other, to the bit.

use super::{Found, PullFinder, Sample, degrees};
use crate::core::signal::constants::END_SHARE_OF_START;
use crate::core::signal::lanes::{WIDE, along, extremes, higher};
use crate::core::signal::turns::Turns;
use fearless_simd::Simd;

/// Samples of a pull that are taken together, if nothing happens in them.
const FAR: usize = 8 * WIDE;

impl PullFinder {
    /// Takes every sample: many at once where nothing happens, one after the other where something may.
    #[inline(always)]
    pub(super) fn take_all(
        &mut self,
        simd: impl Simd,
        torque: &[f32],
        turns: Turns<'_>,
        found: &mut dyn FnMut(Found),
    ) {
        let mut at = 0;
        while at < torque.len() {
            at += self.take_plain(simd, &torque[at..], turns.after(at), found);
            if let Some(next) = torque.get(at) {
                self.turned = turns.at(at);
                self.take(f64::from(*next), found);
                at += 1;
            }
        }
    }

    /// How many of the first of these were taken at once.
    #[inline(always)]
    fn take_plain(
        &mut self,
        simd: impl Simd,
        torque: &[f32],
        turns: Turns<'_>,
        found: &mut dyn FnMut(Found),
    ) -> usize {
        if self.missing > 0 {
            return 0;
        }
        let count = if self.open.is_some() {
            self.pull_on(simd, torque, turns)
        } else if self.still_rests_on(torque) {
            0
        } else {
            self.resting_nm = 0.0;
            self.rest(simd, torque, turns, found)
        };
        if let Some(last) = count.checked_sub(1) {
            self.last = Sample { raw_nm: f64::from(torque[last]), turned: turns.at(last) };
            self.turned = self.last.turned;
        }
        count
    }

    /// True if a hand was resting on the handle, and is with the first of these.
    #[inline(always)]
    fn still_rests_on(&self, torque: &[f32]) -> bool {
        let let_go = |nm: f64| (nm - self.zero.nm).abs() < self.start_nm * END_SHARE_OF_START;
        self.resting_nm > 0.0 && !torque.first().is_some_and(|torque| let_go(f64::from(*torque)))
    }

    /// Takes samples up to the first that is not near the zero.
    #[inline(always)]
    fn rest(
        &mut self,
        simd: impl Simd,
        torque: &[f32],
        turns: Turns<'_>,
        found: &mut dyn FnMut(Found),
    ) -> usize {
        let mut at = 0;
        while at < torque.len() {
            if let Some(zeroed) = self.zero.rest_whole(simd, &torque[at..], self.start_nm) {
                at += self.zero.needed();
                self.clock.step(self.zero.needed() as u64);
                if zeroed {
                    self.zeroed(self.clock.back(1.0), found);
                }
                continue;
            }
            let ahead = &torque[at..(at + self.zero.left()).min(torque.len())];
            let near = self.zero.near(simd, ahead, self.start_nm);
            if near < ahead.len() {
                // What is not near begins a pull or is odd: the window under way comes to nothing.
                at += near;
                self.clock.step(near as u64);
                break;
            }
            let ahead = &ahead[..self.zero.room().min(near)];
            at += ahead.len();
            self.clock.step(ahead.len() as u64);
            if self.zero.rest_all(simd, ahead) {
                self.zeroed(self.clock.back(1.0), found);
            }
        }
        self.lead.push_all(&torque[..at], turns);
        at
    }

    /// Takes samples of the pull under way up to the one with which it is over, or to an odd one.
    #[inline(always)]
    fn pull_on(&mut self, simd: impl Simd, torque: &[f32], turns: Turns<'_>) -> usize {
        let mut at = 0;
        for far in torque.chunks(FAR) {
            let Some(ends) = self.put_along(simd, far) else { break };
            let plainly = self.goes_on(ends, far.len());
            let mut taken = 0;
            if plainly {
                taken = far.len();
                self.keep(taken, turns.after(at));
            }
            while taken < far.len() {
                let count = WIDE.min(far.len() - taken);
                let more = self.as_far_as_it_goes(simd, count);
                self.keep(more, turns.after(at + taken));
                taken += more;
                if more < count {
                    break;
                }
            }
            at += taken;
            if taken < far.len() {
                break;
            }
        }
        self.clock.step(at as u64);
        at
    }

    /// True if the pull under way plainly goes on in so many samples between these ends.
    #[inline(always)]
    fn goes_on(&mut self, (low, high): (f32, f32), count: usize) -> bool {
        let Some(open) = &mut self.open else { return false };
        open.add_all(f64::from(low), f64::from(high), count, self.start_nm)
    }

    /// In how many of the next `count` that were put there the pull under way goes on.
    #[inline(always)]
    fn as_far_as_it_goes(&mut self, simd: impl Simd, count: usize) -> usize {
        let Some(put) = self.stretch.room(count) else { return 0 };
        let Some(open) = &mut self.open else { return 0 };
        let (low, high) = extremes(simd, put);
        if open.add_all(f64::from(low), f64::from(high), count, self.start_nm) {
            return count;
        }
        open.add_each(put.iter().copied().map(f64::from), self.start_nm)
    }

    /// Puts these where they may be kept with the pull under way, and tells the lowest and the highest of what was
    /// put there, if none of them is odd and all can be kept.
    #[inline(always)]
    fn put_along(&mut self, simd: impl Simd, torque: &[f32]) -> Option<(f32, f32)> {
        let (zero, sign) = (self.zero.nm, self.open.as_ref()?.sign);
        let (low, high) = along(simd, torque, (zero, sign), self.stretch.room(torque.len())?);
        // A millionth is many times what rounding takes.
        let inside = f64::from(higher(high, -low)) + zero.abs() < self.range_nm * 0.999_999;
        inside.then_some((low, high))
    }

    /// Keeps so many of those that were put there.
    #[inline(always)]
    fn keep(&mut self, count: usize, turns: Turns<'_>) {
        let Some(open) = &self.open else { return };
        let (sign, start) = (open.sign, open.turned_at_start);
        self.stretch.extend(count, turns, |at| degrees(at - start) * sign);
    }
}
