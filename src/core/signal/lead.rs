//! The last samples before a pull, so that its foot is not cut off.

use super::constants::{
    LEAD_LEAST_SAMPLES, LEAD_S, LEAD_SAMPLES, LEAD_STEADY_SAMPLES, LEAD_STEADY_SHARE,
    ZERO_BAND_SHARE,
};
use super::turns::Turns;

#[derive(Debug, Clone)]
pub(super) struct Lead {
    nm: [f32; LEAD_SAMPLES],
    turned: [i64; LEAD_SAMPLES],
    next: usize,
    len: usize,
    /// As many are kept.
    most: usize,
}

impl Lead {
    pub fn new() -> Self {
        Self {
            nm: [0.0; LEAD_SAMPLES],
            turned: [0; LEAD_SAMPLES],
            next: 0,
            len: 0,
            most: LEAD_SAMPLES,
        }
    }

    /// The stream begins anew at this rate.
    pub fn begin(&mut self, rate_hz: f64) {
        self.most = ((LEAD_S * rate_hz) as usize).clamp(LEAD_LEAST_SAMPLES, LEAD_SAMPLES);
        self.clear();
    }

    pub fn clear(&mut self) {
        self.len = 0;
    }

    pub fn push(&mut self, raw_nm: f64, turned: i64) {
        self.nm[self.next] = raw_nm as f32;
        self.turned[self.next] = turned;
        self.moved(1);
    }

    /// Takes all.
    #[inline(always)]
    pub fn push_all(&mut self, mut torque: &[f32], mut turns: Turns<'_>) {
        let beyond = torque.len().saturating_sub(self.most);
        (torque, turns) = (&torque[beyond..], turns.after(beyond));
        while !torque.is_empty() {
            let count = torque.len().min(LEAD_SAMPLES - self.next);
            let places = self.next..self.next + count;
            self.nm[places.clone()].copy_from_slice(&torque[..count]);
            turns.copy(&mut self.turned[places], |turned| turned);
            self.moved(count);
            (torque, turns) = (&torque[count..], turns.after(count));
        }
    }

    fn moved(&mut self, count: usize) {
        self.next = (self.next + count) % LEAD_SAMPLES;
        self.len = (self.len + count).min(self.most);
    }

    /// Torque and turn, oldest first, in two parts.
    pub fn parts(&self) -> [(&[f32], &[i64]); 2] {
        let from = (self.next + LEAD_SAMPLES - self.len) % LEAD_SAMPLES;
        let early = from..(from + self.len).min(LEAD_SAMPLES);
        let late = 0..self.len - early.len();
        [early, late].map(|places| (&self.nm[places.clone()], &self.turned[places]))
    }

    pub fn oldest_turned(&self) -> Option<i64> {
        self.parts()[0].1.first().copied()
    }

    /// Mean and standard error of the first half, if nothing seems to be loaded there.
    pub fn steady(&self, range_nm: f64) -> Option<(f64, f64)> {
        let half = self.len / 2;
        if half < LEAD_STEADY_SAMPLES {
            return None;
        }
        let count = half as f64;
        let first_half =
            || self.parts().into_iter().flat_map(|(nm, _)| nm).take(half).copied().map(f64::from);
        let mean = first_half().sum::<f64>() / count;
        let squares = first_half().map(|nm: f64| (nm - mean).powi(2)).sum::<f64>();
        let sd = (squares / count).sqrt();
        let steady = sd < range_nm * LEAD_STEADY_SHARE && mean.abs() < range_nm * ZERO_BAND_SHARE;
        steady.then_some((mean, sd / count.sqrt()))
    }
}
