//! Many samples at once where nothing happens: most of an evening, and most of a pull.
//!
//! What is taken at once leaves the same behind as if taken one after the other, to the bit.

use super::{Found, PullFinder, Sample, degrees};
use crate::core::signal::lanes;
use crate::core::units::Torque;

/// Samples that are looked at together while nothing is loaded: many, for most of them lie there.
pub(super) const IDLE: usize = 64;
/// The same while something is: few, for it changes.
const LOADED: usize = 16;

impl PullFinder {
    /// Takes a sample for each place that the drive stood at: many at once where nothing happens, one
    /// after the other where something may.
    pub(super) fn take_all(
        &mut self,
        torque: &[Torque],
        turned: &[i64],
        found: &mut impl FnMut(Found),
    ) {
        let mut at = 0;
        while at < torque.len() {
            let taken = self.take_plain(&torque[at..], &turned[at..], found);
            if taken > 0 {
                at += taken;
                continue;
            }
            let to = (at + LOADED).min(torque.len());
            for (torque, turned) in torque[at..to].iter().zip(&turned[at..to]) {
                self.turned = *turned;
                self.take(torque.nm(), found);
            }
            at = to;
        }
    }

    /// How many of these were taken at once: none, if something may happen in them.
    fn take_plain(
        &mut self,
        torque: &[Torque],
        turned: &[i64],
        found: &mut impl FnMut(Found),
    ) -> usize {
        if self.missing > 0 {
            return 0;
        }
        let count = if self.open.is_some() { LOADED } else { self.zero.room() };
        let count = count.min(torque.len());
        let (torque, turned) = (&torque[..count], &turned[..count]);
        let mut zeroed = false;
        if self.open.is_some() {
            if !self.goes_on(torque, turned) {
                return 0;
            }
        } else if self.resting_nm > 0.0 {
            return 0;
        } else {
            let Some(taken) = self.zero.rest_all(torque, self.start_nm) else { return 0 };
            zeroed = taken;
            self.lead.push_all(torque, turned);
        }
        if let Some((torque, turned)) = torque.last().zip(turned.last()) {
            self.last = Sample { raw_nm: torque.nm(), turned: *turned };
            self.turned = *turned;
        }
        self.clock.step(count as u64);
        if zeroed {
            self.zeroed(self.clock.back(1.0), found);
        }
        count
    }

    /// Takes samples of the pull under way, if it plainly goes on in all of them.
    fn goes_on(&mut self, torque: &[Torque], turned: &[i64]) -> bool {
        let Some(open) = &mut self.open else { return false };
        let (low, high) = lanes::span(torque);
        let (zero, sign) = (self.zero.nm, open.sign);
        let inside = lanes::higher(high, -low) < self.range_nm;
        let (least, most) =
            if sign > 0.0 { (low - zero, high - zero) } else { (zero - high, zero - low) };
        if !inside || !self.stretch.has_room(torque.len()) {
            return false;
        }
        let goes_on = open.add_all(least, most, torque.len(), self.start_nm);
        if goes_on {
            let start = open.turned_at_start;
            let along = |torque: &Torque| (torque.nm() - zero) * sign;
            self.stretch.extend(torque, along, turned, |at| degrees(at - start) * sign);
        }
        goes_on
    }
}
