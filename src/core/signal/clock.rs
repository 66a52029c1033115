//! When each sample was taken, the same however the samples are cut into blocks.

use super::block::{Block, LEAST_RATE_HZ, MOST_RATE_HZ, Nonsense};
use super::constants::{CLOCK_SLACK_S, RESTART_S};
use crate::core::time::Stamp;

/// How a block follows the one before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Follows {
    /// Without a hole.
    On,
    /// After a hole of so many samples.
    After(u64),
    /// Nothing came before, or nothing that this could follow.
    Anew,
    /// It cannot be read.
    Never(Nonsense),
}

#[derive(Debug, Clone)]
pub(super) struct Clock {
    anchor: Stamp,
    rate_hz: f64,
    /// Samples since the anchor, holes included.
    count: u64,
    /// First and last start of the blocks that lay before what was already read.
    behind: Option<(Stamp, Stamp)>,
}

impl Clock {
    pub fn new() -> Self {
        Self { anchor: Stamp::default(), rate_hz: 0.0, count: 0, behind: None }
    }

    pub fn rate_hz(&self) -> f64 {
        self.rate_hz
    }

    /// When the next sample is due.
    pub fn now(&self) -> Stamp {
        self.back(0.0)
    }

    /// The time of `samples` before the next one.
    pub fn back(&self, samples: f64) -> Stamp {
        if self.rate_hz > 0.0 {
            self.anchor + (self.count as f64 - samples) / self.rate_hz
        } else {
            self.anchor
        }
    }

    /// So many more samples have been read.
    pub fn step(&mut self, samples: u64) {
        self.count += samples;
    }

    pub fn follow(&mut self, block: &Block<'_>) -> Follows {
        let rate_hz = block.rate_hz;
        if !(LEAST_RATE_HZ..=MOST_RATE_HZ).contains(&rate_hz) {
            return Follows::Never(Nonsense::Rate { rate_hz });
        }
        if self.rate_hz == 0.0 {
            return self.restart(block);
        }
        let expected = self.now();
        let late_s = block.start - expected;
        let slack_s = (1.5 / rate_hz).max(CLOCK_SLACK_S);
        if late_s < -slack_s {
            return self.lies_behind(block, expected);
        }
        self.behind = None;
        // A rate that differs by less than the slack over the longest pull is the same rate restated.
        if (rate_hz / self.rate_hz - 1.0).abs() > 1e-3 {
            return self.restart(block);
        }
        if late_s.abs() <= 0.5 / self.rate_hz {
            return Follows::On;
        }
        if late_s <= slack_s {
            self.anchor = self.anchor + late_s;
            return Follows::On;
        }
        let missing = (late_s * self.rate_hz).round() as u64;
        self.count = self.count.saturating_add(missing);
        Follows::After(missing)
    }

    fn lies_behind(&mut self, block: &Block<'_>, expected: Stamp) -> Follows {
        let first = self.behind.filter(|(_, last)| block.start >= *last).map(|(first, _)| first);
        let first = first.unwrap_or(block.start);
        if block.start - first > RESTART_S {
            return self.restart(block);
        }
        self.behind = Some((first, block.start));
        Follows::Never(Nonsense::Backwards { expected, found: block.start })
    }

    fn restart(&mut self, block: &Block<'_>) -> Follows {
        *self = Self { anchor: block.start, rate_hz: block.rate_hz, count: 0, behind: None };
        Follows::Anew
    }
}
