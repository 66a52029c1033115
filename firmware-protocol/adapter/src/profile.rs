//! The torque of one pull over time: it rises, is held, and is let go.

/// Torque below which a pull has not begun, as a share of its peak: 10 %.
const THRESHOLD: i64 = 10;

/// The course of one pull, made from its peak and its duration.
///
/// It stands above 10 % of the peak for the duration: it rises for half of it, is held at the peak, and
/// falls within a fifth of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Profile {
    peak: i32,
    rise_ms: u32,
    hold_ms: u32,
    fall_ms: u32,
}

impl Profile {
    /// Shortest duration, in milliseconds: below it the hold would fall between two live samples.
    pub const SHORTEST_MS: u32 = 200;

    /// A pull to `peak` (0.01 N·m, clockwise positive) that lasts `duration_ms`; shorter ones are
    /// lengthened to [`Self::SHORTEST_MS`].
    #[must_use]
    pub fn new(peak: i32, duration_ms: u32) -> Self {
        let duration_ms = duration_ms.max(Self::SHORTEST_MS);
        // Above the threshold: 0.9 of the rise and of the fall, and all of the hold.
        let rise_ms = duration_ms / 2;
        let fall_ms = duration_ms / 5;
        let hold_ms = duration_ms - (rise_ms + fall_ms) * 9 / 10;
        Self { peak, rise_ms, hold_ms, fall_ms }
    }

    /// Time from no torque to no torque, in milliseconds.
    #[must_use]
    pub fn length_ms(&self) -> u32 {
        self.rise_ms + self.hold_ms + self.fall_ms
    }

    /// Time from no torque to the middle of the hold, in milliseconds: where the peak counts as reached.
    #[must_use]
    pub fn peak_ms(&self) -> u32 {
        self.rise_ms + self.hold_ms / 2
    }

    /// Torque in 0.01 N·m, `at_ms` milliseconds after the pull began.
    #[must_use]
    pub fn torque_at(&self, at_ms: u32) -> i32 {
        self.torque_at_us(u64::from(at_ms) * 1_000)
    }

    /// Torque in 0.01 N·m, `at_us` microseconds after the pull began.
    #[must_use]
    pub fn torque_at_us(&self, at_us: u64) -> i32 {
        let us = |ms: u32| u64::from(ms) * 1_000;
        let part = |of_us: u64, us: u64| {
            let torque = i128::from(self.peak) * i128::from(of_us) / i128::from(us.max(1));
            i32::try_from(torque).unwrap_or(self.peak)
        };
        if at_us < us(self.rise_ms) {
            part(at_us, us(self.rise_ms))
        } else if at_us <= us(self.rise_ms + self.hold_ms) {
            self.peak
        } else {
            part(us(self.length_ms()).saturating_sub(at_us), us(self.fall_ms))
        }
    }

    /// How far the drive has turned `at_us` microseconds after the pull began, of `rotation` in all, in the
    /// same unit: with the torque, from 10 % of the peak to the peak, and nothing springs back.
    #[must_use]
    pub fn turned_at_us(&self, at_us: u64, rotation: i16) -> i16 {
        if at_us >= u64::from(self.rise_ms) * 1_000 {
            return rotation;
        }
        let peak = i64::from(self.peak).abs();
        let risen = (i64::from(self.torque_at_us(at_us)).abs() * 100 - peak * THRESHOLD).max(0);
        let turned = i64::from(rotation) * risen / (peak * (100 - THRESHOLD)).max(1);
        i16::try_from(turned).unwrap_or(rotation)
    }

    /// True while the torque stands above 10 % of the peak.
    #[must_use]
    pub fn stands_at(&self, at_ms: u32) -> bool {
        i64::from(self.torque_at(at_ms)).abs() * 100 > i64::from(self.peak).abs() * THRESHOLD
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pull_reaches_its_peak_and_stands_for_its_duration() {
        for (peak, duration) in
            [(16_520, 1_400), (-9_000, 800), (2_100, 10), (i32::MAX - 1, 60_000)]
        {
            let profile = Profile::new(peak, duration);
            let sampled: std::vec::Vec<i32> =
                (0..=profile.length_ms()).step_by(20).map(|ms| profile.torque_at(ms)).collect();
            let highest = sampled.iter().max_by_key(|t| t.unsigned_abs());
            assert_eq!(highest, Some(&peak), "samples at 20 ms miss the peak {peak}");
            let stands = (0..=profile.length_ms()).filter(|&ms| profile.stands_at(ms)).count();
            let expected = duration.max(Profile::SHORTEST_MS);
            assert!(
                u32::try_from(stands).expect("fits").abs_diff(expected) <= expected / 50 + 2,
                "stands {stands} ms, expected {expected}"
            );
            assert_eq!(profile.torque_at(profile.length_ms() + 100), 0);
            assert_eq!(profile.torque_at(0), 0);
        }
    }

    #[test]
    fn the_drive_turns_while_the_torque_rises_and_stays_where_it_is() {
        for (peak, rotation) in [(16_520, 310), (-9_000, -1_800), (12_000, -50), (0, 90)] {
            let profile = Profile::new(peak, 1_000);
            let turned: std::vec::Vec<i16> =
                (0..1_500).map(|ms| profile.turned_at_us(ms * 1_000, rotation)).collect();
            let grows = turned.is_sorted_by_key(|turned| turned.abs());
            assert!(grows && turned.last() == Some(&rotation), "{peak}: {turned:?}");
            let last_at_rest = (0..1_500).rev().find(|&ms| turned[ms as usize] == 0);
            let stands_from = (0..1_500).find(|&ms| profile.stands_at(ms));
            if let (Some(rest), Some(stands)) = (last_at_rest, stands_from) {
                assert!(rest + 1 >= stands && rest <= stands + 10, "turned from {rest} ms on");
            }
            // Halfway between 10 % and 100 % of the peak, half of it is done.
            assert!(peak == 0 || (turned[275] - rotation / 2).abs() <= 1, "{}", turned[275]);
        }
    }
}
