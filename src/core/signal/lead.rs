//! The last samples before a pull, so that its foot is not cut off.

use super::constants::{LEAD_SAMPLES, LEAD_STEADY_SAMPLES, LEAD_STEADY_SHARE, ZERO_BAND_SHARE};

#[derive(Debug, Clone)]
pub(super) struct Lead {
    ring: [(f64, i64); LEAD_SAMPLES],
    next: usize,
    len: usize,
}

impl Lead {
    pub fn new() -> Self {
        Self { ring: [(0.0, 0); LEAD_SAMPLES], next: 0, len: 0 }
    }

    pub fn clear(&mut self) {
        self.len = 0;
    }

    pub fn push(&mut self, raw_nm: f64, turned: i64) {
        self.ring[self.next] = (raw_nm, turned);
        self.next = (self.next + 1) % LEAD_SAMPLES;
        self.len = (self.len + 1).min(LEAD_SAMPLES);
    }

    fn oldest_first(&self) -> impl Iterator<Item = (f64, i64)> + use<'_> {
        let from = self.next + LEAD_SAMPLES - self.len;
        (from..from + self.len).map(|place| self.ring[place % LEAD_SAMPLES])
    }

    pub fn oldest_turned(&self) -> Option<i64> {
        self.oldest_first().next().map(|(_, turned)| turned)
    }

    pub fn drain(&mut self) -> impl Iterator<Item = (f64, i64)> + use<'_> {
        self.oldest_first()
    }

    /// Mean and standard error of the first half, if nothing seems to be loaded there.
    pub fn steady(&self, range_nm: f64) -> Option<(f64, f64)> {
        let half = self.len / 2;
        if half < LEAD_STEADY_SAMPLES {
            return None;
        }
        let count = half as f64;
        let mean = self.oldest_first().take(half).map(|(nm, _)| nm).sum::<f64>() / count;
        let squares =
            self.oldest_first().take(half).map(|(nm, _)| (nm - mean).powi(2)).sum::<f64>();
        let sd = (squares / count).sqrt();
        let steady = sd < range_nm * LEAD_STEADY_SHARE && mean.abs() < range_nm * ZERO_BAND_SHARE;
        steady.then_some((mean, sd / count.sqrt()))
    }
}
