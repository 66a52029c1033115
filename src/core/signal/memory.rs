//! The pulls before, as far as they help to read the next.

use super::constants::{
    ALIKE_LN, BEGAN_DEG, NEAR_LN, REMEMBERED, USUAL_FASTEST, USUAL_LEAST, USUAL_SLOPE,
};
use super::description::{Alike, Among, Description};
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
    /// See [`inputs::upper_pace`], [`inputs::fastest_pace`] and [`inputs::slowest_pace`].
    pace: f64,
    fastest: f64,
    slowest: f64,
    tight: f64,
}

#[derive(Debug, Clone, Default)]
pub(super) struct Memory {
    risen: [Risen; REMEMBERED],
    /// How many have risen in all.
    count: usize,
    slopes: Latest,
    /// Paces of the fastest quarter of the peak.
    fastest: Latest,
    peaks_nm: Latest,
    before: Option<Before>,
}

/// The pull before, whichever way it went.
#[derive(Debug, Clone, Copy)]
struct Before {
    to: Stamp,
    nm: f64,
    level_s: f64,
    late_deg: Option<f64>,
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
        let risen = Risen {
            ln_peak: peak.abs().max(0.1).ln(),
            pace: inputs::upper_pace(pull),
            fastest: inputs::fastest_pace(pull),
            slowest: inputs::slowest_pace(pull),
            tight,
        };
        let [(turning, seemed_turning), (still, seemed_tight)] = self.usual_paces(&risen);
        if peak > 0.0 {
            self.fastest.add(risen.fastest);
        }
        let fastest = self.fastest.at(USUAL_FASTEST, 1);
        let latest = self.count.checked_sub(1).map(|last| self.risen[last % REMEMBERED]);
        let among = Among {
            after_s: self.before.map(|before| pull.from - before.to),
            to_before: self.before.map(|before| peak / before.nm).filter(|ratio| ratio.is_finite()),
            to_highest: self.peaks_nm.at(1.0, 1).map(|highest| peak.abs() / highest),
            to_usual_slope: slope
                .and_then(|slope| Some(slope / self.slopes.at(USUAL_SLOPE, USUAL_LEAST)?)),
            to_turning_pace: turning,
            to_tight_pace: still,
            to_fastest_pace: fastest.map(|fastest| (risen.pace - fastest).exp()),
            seemed_turning,
            seemed_tight,
            before_tight: latest.map(|risen| risen.tight),
            before_level_s: self.before.map(|before| before.level_s),
            before_late_deg: self.before.and_then(|before| before.late_deg),
            alike: self.alike(&risen),
        };
        self.before = Some(Before {
            to: pull.to,
            nm: peak,
            level_s: pull.texture.level_s,
            late_deg: pull.turned.map(|turned| turned.late_deg),
        });
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

    /// How `one` stands to the pulls to about the same torque.
    fn alike(&self, one: &Risen) -> Option<Alike> {
        let known = &self.risen[..self.count.min(REMEMBERED)];
        let near = |before: &&Risen| (before.ln_peak - one.ln_peak).abs() < NEAR_LN;
        let count = known.iter().filter(near).count();
        let last = count.checked_sub(1)?;
        let ratios = |ln: fn(&Risen) -> f64| {
            let mut theirs = [0.0; REMEMBERED];
            for (to, before) in theirs.iter_mut().zip(known.iter().filter(near)) {
                *to = ln(before);
            }
            theirs[..count].sort_unstable_by(f64::total_cmp);
            [0, last / 2, last].map(|at| (ln(one) - theirs[at]).exp())
        };
        let [_, peak_middle, peak_highest] = ratios(|risen| risen.ln_peak);
        let [fastest_shortest, fastest_middle, _] = ratios(|risen| risen.fastest);
        let [_, slowest_middle, slowest_longest] = ratios(|risen| risen.slowest);
        Some(Alike {
            count: count as u32,
            peak: [peak_middle, peak_highest],
            upper: ratios(|risen| risen.pace),
            fastest: [fastest_shortest, fastest_middle],
            slowest: [slowest_middle, slowest_longest],
        })
    }

    /// The pace of `one` as a ratio to the mean of those alike that seemed to turn their fastener, and of
    /// those that seemed not to, with the sum of their weights.
    fn usual_paces(&self, one: &Risen) -> [(Option<f64>, f64); 2] {
        let mut sums = [(0.0, 0.0); 2];
        for before in &self.risen[..self.count.min(REMEMBERED)] {
            let off = (before.ln_peak - one.ln_peak) / ALIKE_LN;
            let alike = (-0.5 * off * off).exp();
            for ((paces, weights), seemed) in
                sums.iter_mut().zip([1.0 - before.tight, before.tight])
            {
                let weight = seemed * alike;
                *paces += weight * before.pace;
                *weights += weight;
            }
        }
        sums.map(|(paces, weights)| {
            let ratio = (weights > 1e-6).then(|| (one.pace - paces / weights).exp());
            (ratio, weights)
        })
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
