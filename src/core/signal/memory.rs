//! The pulls before, as far as they help to read the next.

use super::constants::{ALIKE_LN, BEGAN_DEG, REMEMBERED, USUAL_LEAST, USUAL_SLOPE};
use super::description::{Among, Description};
use super::inputs;
use crate::core::time::Stamp;

/// The latest figures of one kind.
#[derive(Debug, Clone, Copy, Default)]
struct Latest {
    values: [f64; REMEMBERED],
    count: usize,
}

/// How fast one pull rose, and what it seemed to be.
#[derive(Debug, Clone, Copy, Default)]
struct Risen {
    ln_peak: f64,
    /// See [`inputs::upper_pace`].
    pace: f64,
    tight: f64,
}

#[derive(Debug, Clone, Default)]
pub(super) struct Memory {
    risen: [Risen; REMEMBERED],
    /// How many have risen in all.
    count: usize,
    slopes: Latest,
    peaks_nm: Latest,
    before: Option<(Stamp, f64)>,
}

impl Memory {
    pub fn forget(&mut self) {
        *self = Self::default();
    }

    /// How `pull` stands to those before it; then it is one of them. `tight` is the probability, by its
    /// own shape, that its fastener was already tight.
    pub fn place(&mut self, pull: &Description, tight: f64) -> Among {
        let peak = pull.peak.torque.nm();
        // Below that, the turn is noise, and the fastener was tight already.
        let upper_deg = pull.turned.map(|turned| turned.upper_deg).filter(|deg| *deg > BEGAN_DEG);
        let slope = upper_deg.map(|deg| 0.4 * peak.abs() / deg);
        let risen =
            Risen { ln_peak: peak.abs().max(0.1).ln(), pace: inputs::upper_pace(pull), tight };
        let (turning, seemed_turning) = self.usual_pace(&risen, |tight| 1.0 - tight);
        let (still, seemed_tight) = self.usual_pace(&risen, |tight| tight);
        let latest = self.count.checked_sub(1).map(|last| self.risen[last % REMEMBERED]);
        let among = Among {
            after_s: self.before.map(|(to, _)| pull.from - to),
            to_before: self.before.map(|(_, nm)| peak / nm).filter(|ratio| ratio.is_finite()),
            to_highest: self.peaks_nm.at(1.0, 1).map(|highest| peak.abs() / highest),
            to_usual_slope: slope
                .and_then(|slope| Some(slope / self.slopes.at(USUAL_SLOPE, USUAL_LEAST)?)),
            to_turning_pace: turning,
            to_tight_pace: still,
            seemed_turning,
            seemed_tight,
            before_tight: latest.map(|risen| risen.tight),
        };
        self.before = Some((pull.to, peak));
        if peak > 0.0 {
            self.risen[self.count % REMEMBERED] = risen;
            self.count += 1;
            self.peaks_nm.add(peak);
        }
        if let Some(slope) = slope {
            self.slopes.add(slope);
        }
        among
    }

    /// The pace of `one` as a ratio to the mean of those alike, each weighed by what it seemed to be;
    /// and the sum of those weights.
    fn usual_pace(&self, one: &Risen, seemed: impl Fn(f64) -> f64) -> (Option<f64>, f64) {
        let (mut paces, mut weights) = (0.0, 0.0);
        for before in &self.risen[..self.count.min(REMEMBERED)] {
            let off = (before.ln_peak - one.ln_peak) / ALIKE_LN;
            let weight = seemed(before.tight) * (-0.5 * off * off).exp();
            paces += weight * before.pace;
            weights += weight;
        }
        let ratio = (weights > 1e-6).then(|| (one.pace - paces / weights).exp());
        (ratio, weights)
    }
}

impl Latest {
    fn add(&mut self, value: f64) {
        self.values[self.count % REMEMBERED] = value;
        self.count += 1;
    }

    /// The value below which this share of them lies, if there are at least so many.
    fn at(&self, share: f64, least: usize) -> Option<f64> {
        let known = self.count.min(REMEMBERED);
        if known < least {
            return None;
        }
        let mut values = self.values;
        let values = &mut values[..known];
        values.sort_unstable_by(f64::total_cmp);
        Some(values[((known - 1) as f64 * share).round() as usize])
    }
}
