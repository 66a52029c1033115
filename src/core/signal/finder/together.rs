//! Many samples at once where nothing happens: most of an evening, and most of a pull.
//!
//! What is taken at once leaves the same behind as if taken one after the other, to the bit.

use super::{Found, PullFinder, Sample, degrees};
use crate::core::signal::lanes::{WIDE, along, higher};
use crate::core::signal::turns::Turns;
use crate::core::units::Torque;
use fearless_simd::Simd;

/// Samples of a pull that are taken together, if nothing happens in them.
const FAR: usize = 4 * WIDE;
/// Samples taken one after the other where something may happen.
const SINGLY: usize = 8;

impl PullFinder {
    /// Takes every sample: many at once where nothing happens, one after the other where something may.
    #[inline(always)]
    pub(super) fn take_all(
        &mut self,
        simd: impl Simd,
        torque: &[Torque],
        turns: Turns<'_>,
        found: &mut dyn FnMut(Found),
    ) {
        let mut at = 0;
        while at < torque.len() {
            at += self.take_plain(simd, &torque[at..], turns.after(at), found);
            let to = (at + SINGLY).min(torque.len());
            for (index, torque) in torque.iter().enumerate().take(to).skip(at) {
                self.turned = turns.at(index);
                self.take(torque.nm(), found);
            }
            at = to;
        }
    }

    /// How many of the first of these were taken at once.
    #[inline(always)]
    fn take_plain(
        &mut self,
        simd: impl Simd,
        torque: &[Torque],
        turns: Turns<'_>,
        found: &mut dyn FnMut(Found),
    ) -> usize {
        if self.missing > 0 {
            return 0;
        }
        let count = if self.open.is_some() {
            self.pull_on(simd, torque, turns)
        } else if self.resting_nm > 0.0 {
            0
        } else {
            self.rest(simd, torque, turns, found)
        };
        if let Some(last) = count.checked_sub(1) {
            self.last = Sample { raw_nm: torque[last].nm(), turned: turns.at(last) };
            self.turned = self.last.turned;
        }
        count
    }

    /// Takes samples up to the first that is not near the zero.
    #[inline(always)]
    fn rest(
        &mut self,
        simd: impl Simd,
        torque: &[Torque],
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
            let ahead = &torque[at..(at + self.zero.room()).min(torque.len())];
            let Some((count, zeroed)) = self.zero.rest_all(simd, ahead, self.start_nm) else {
                break;
            };
            at += count;
            self.clock.step(count as u64);
            if zeroed {
                self.zeroed(self.clock.back(1.0), found);
            }
            if count < ahead.len() {
                break;
            }
        }
        self.lead.push_all(&torque[..at], turns);
        at
    }

    /// Takes samples of the pull under way up to the one with which it is over, or to an odd one.
    #[inline(always)]
    fn pull_on(&mut self, simd: impl Simd, torque: &[Torque], turns: Turns<'_>) -> usize {
        let mut at = 0;
        for far in torque.chunks(FAR) {
            if self.goes_on_plainly(simd, far, turns.after(at)) {
                at += far.len();
                continue;
            }
            let before = at;
            for ahead in far.chunks(WIDE) {
                let taken = self.goes_on(simd, ahead, turns.after(at));
                at += taken;
                if taken < ahead.len() {
                    break;
                }
            }
            if at < before + far.len() {
                break;
            }
        }
        self.clock.step(at as u64);
        at
    }

    /// Takes all of these, if the pull under way plainly goes on in them.
    #[inline(always)]
    fn goes_on_plainly(&mut self, simd: impl Simd, torque: &[Torque], turns: Turns<'_>) -> bool {
        let Some((least, most)) = self.put_along(simd, torque) else { return false };
        let Some(open) = &mut self.open else { return false };
        let goes_on = open.add_all(least, most, torque.len(), self.start_nm);
        if goes_on {
            self.keep(torque.len(), turns);
        }
        goes_on
    }

    /// Takes these, if none of them is odd, as long as the pull under way goes on in them; how many.
    #[inline(always)]
    fn goes_on(&mut self, simd: impl Simd, torque: &[Torque], turns: Turns<'_>) -> usize {
        let Some((least, most)) = self.put_along(simd, torque) else { return 0 };
        let Some(open) = &mut self.open else { return 0 };
        let (zero, sign) = (self.zero.nm, open.sign);
        let count = if open.add_all(least, most, torque.len(), self.start_nm) {
            torque.len()
        } else {
            let pulled = torque.iter().map(|torque| (torque.nm() - zero) * sign);
            open.add_each(pulled, self.start_nm)
        };
        self.keep(count, turns);
        count
    }

    /// Puts these where they may be kept with the pull under way, and tells the lowest and the highest of them along
    /// it, if none of them is odd and all can be kept.
    #[inline(always)]
    fn put_along(&mut self, simd: impl Simd, torque: &[Torque]) -> Option<(f64, f64)> {
        let (zero, sign) = (self.zero.nm, self.open.as_ref()?.sign);
        let (low, high) = along(simd, torque, (zero, sign), self.stretch.room(torque.len())?);
        let inside = higher(high, -low) < self.range_nm;
        let ends = if sign > 0.0 { (low - zero, high - zero) } else { (zero - high, zero - low) };
        inside.then_some(ends)
    }

    /// Keeps so many of those that were put there.
    #[inline(always)]
    fn keep(&mut self, count: usize, turns: Turns<'_>) {
        let Some(open) = &self.open else { return };
        let (sign, start) = (open.sign, open.turned_at_start);
        self.stretch.extend(count, turns, |at| degrees(at - start) * sign);
    }
}
