//! The adapter: it samples, adds noise, drifts, rounds, clips, loses samples.

use super::random::Chance;

#[derive(Debug, Clone)]
pub struct Adapter {
    pub range_nm: f64,
    pub rate_hz: f64,
    pub accuracy_pct: f64,
    pub gain: f64,
    pub noise_nm: f64,
    pub quantum_nm: f64,
    pub zero_nm: f64,
    /// Drift of the zero, N·m a square root of a minute.
    pub drift_nm: f64,
    pub rotation: Option<Gyro>,
    /// Share of samples that begin a hole.
    pub holes: f64,
}

/// How it tells rotation.
#[derive(Debug, Clone)]
pub struct Gyro {
    pub noise_deg: f64,
    pub drift_deg_s: f64,
    pub quantum_deg: f64,
    /// It counts only forward turns, as through a ratchet.
    pub forward_only: bool,
}

impl Adapter {
    pub fn any(rotation: bool, wide: bool, chance: &mut Chance) -> Self {
        let range_nm = chance.one_of(&[60.0, 135.0, 200.0, 280.0, 340.0]);
        let stretch = if wide { 2.0 } else { 1.0 };
        let accuracy_pct = chance.one_of(&[0.5, 1.0, 1.0, 2.0]);
        Self {
            range_nm,
            rate_hz: chance
                .one_of(&[50.0, 80.0, 100.0, 200.0, 200.0, 250.0, 320.0, 400.0, 500.0, 500.0]),
            accuracy_pct,
            gain: 1.0 + chance.normal() * accuracy_pct / 200.0,
            noise_nm: range_nm * chance.ratio(0.000_2, 0.001 * stretch),
            quantum_nm: chance.one_of(&[0.01, 0.01, 0.05, 0.1]),
            zero_nm: range_nm * 0.002 * chance.normal(),
            drift_nm: range_nm * chance.ratio(0.000_05, 0.000_5 * stretch),
            rotation: rotation.then(|| Gyro {
                noise_deg: chance.ratio(0.03, 0.12 * stretch),
                drift_deg_s: chance.normal() * 0.05 * stretch,
                quantum_deg: 0.1,
                forward_only: chance.happens(0.3),
            }),
            holes: if chance.happens(0.1) { 0.000_5 } else { 0.0 },
        }
    }

    pub fn round(&self, nm: f64) -> f64 {
        let limit = self.range_nm * 1.25;
        (nm.clamp(-limit, limit) / self.quantum_nm).round() * self.quantum_nm
    }
}
