//! The samples of the pull under way: room taken once, halved in resolution when a pull outlasts it.

use super::constants::STRETCH_SAMPLES;
use super::turns::Turns;

#[derive(Debug, Clone)]
pub(super) struct Stretch {
    /// Torque along the pull, zero taken off, N·m.
    torque: Box<[f32]>,
    /// Turned along the pull since its first sample, degrees; only if `has_turned`.
    turned: Box<[f64]>,
    len: usize,
    /// Samples that one kept sample stands for.
    stride: u32,
    /// Sum and count of samples not yet kept.
    pending: (f64, u32),
    has_turned: bool,
}

impl Stretch {
    pub fn new() -> Self {
        Self {
            torque: vec![0.0; STRETCH_SAMPLES].into_boxed_slice(),
            turned: vec![0.0; STRETCH_SAMPLES].into_boxed_slice(),
            len: 0,
            stride: 1,
            pending: (0.0, 0),
            has_turned: false,
        }
    }

    pub fn begin(&mut self, has_turned: bool) {
        self.len = 0;
        self.stride = 1;
        self.pending = (0.0, 0);
        self.has_turned = has_turned;
    }

    pub fn push(&mut self, torque: f64, turned: f64) {
        if self.has_room(1) {
            self.keep(torque, turned);
            return;
        }
        self.pending = (self.pending.0 + torque, self.pending.1 + 1);
        if self.pending.1 < self.stride {
            return;
        }
        if self.len == self.torque.len() {
            self.halve();
            // Half of the next kept sample is already there.
            if self.pending.1 < self.stride {
                return;
            }
        }
        self.keep(self.pending.0 / f64::from(self.pending.1), turned);
        self.pending = (0.0, 0);
    }

    fn keep(&mut self, torque: f64, turned: f64) {
        self.torque[self.len] = torque as f32;
        self.turned[self.len] = turned;
        self.len += 1;
    }

    fn has_room(&self, more: usize) -> bool {
        self.stride == 1 && self.len + more <= self.torque.len()
    }

    /// Where so many more samples are put, if they are kept as they are.
    #[inline(always)]
    pub fn room(&mut self, more: usize) -> Option<&mut [f32]> {
        let free = self.len..self.len + more;
        self.torque.get_mut(free).filter(|_| self.stride == 1)
    }

    /// Keeps the first `count` of what was put into the room.
    #[inline(always)]
    pub fn extend(&mut self, count: usize, turns: Turns<'_>, turned_along: impl Fn(i64) -> f64) {
        if self.has_turned {
            turns.copy(&mut self.turned[self.len..self.len + count], turned_along);
        }
        self.len += count;
    }

    fn halve(&mut self) {
        for kept in 0..self.len / 2 {
            self.torque[kept] = 0.5 * (self.torque[2 * kept] + self.torque[2 * kept + 1]);
            self.turned[kept] = self.turned[2 * kept + 1];
        }
        self.len /= 2;
        self.stride *= 2;
    }

    pub fn torque(&self) -> &[f32] {
        &self.torque[..self.len]
    }

    pub fn turned(&self) -> Option<&[f64]> {
        self.has_turned.then(|| &self.turned[..self.len])
    }

    pub fn stride(&self) -> u32 {
        self.stride
    }
}
