//! The samples of the pull under way: room taken once, halved in resolution when a pull outlasts it.

use super::constants::STRETCH_SAMPLES;

#[derive(Debug, Clone)]
pub(super) struct Stretch {
    /// Torque along the pull, zero taken off, N·m.
    torque: Box<[f64]>,
    /// Turned along the pull since its first sample, degrees.
    turned: Box<[f64]>,
    len: usize,
    /// Samples that one kept sample stands for.
    stride: u32,
    /// Sum and count of samples not yet kept.
    pending: (f64, u32),
    pub has_turned: bool,
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

    pub fn clear(&mut self) {
        self.len = 0;
        self.stride = 1;
        self.pending = (0.0, 0);
        self.has_turned = false;
    }

    pub fn push(&mut self, torque: f64, turned: f64) {
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
        self.torque[self.len] = self.pending.0 / f64::from(self.pending.1);
        self.turned[self.len] = turned;
        self.len += 1;
        self.pending = (0.0, 0);
    }

    fn halve(&mut self) {
        for kept in 0..self.len / 2 {
            self.torque[kept] = 0.5 * (self.torque[2 * kept] + self.torque[2 * kept + 1]);
            self.turned[kept] = self.turned[2 * kept + 1];
        }
        self.len /= 2;
        self.stride *= 2;
    }

    pub fn torque(&self) -> &[f64] {
        &self.torque[..self.len]
    }

    pub fn turned(&self) -> Option<&[f64]> {
        self.has_turned.then(|| &self.turned[..self.len])
    }

    pub fn stride(&self) -> u32 {
        self.stride
    }
}
