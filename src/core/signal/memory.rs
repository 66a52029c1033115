//! The pulls before, as far as they help to read the next.

use super::constants::{LEAST_S, REMEMBERED, USUAL_LEAST, USUAL_RISE, USUAL_SLOPE};
use super::description::{Among, Description, twentieths};
use crate::core::time::Stamp;

/// The latest figures of one kind.
#[derive(Debug, Clone, Copy, Default)]
struct Latest {
    values: [f64; REMEMBERED],
    count: usize,
}

#[derive(Debug, Clone, Default)]
pub(super) struct Memory {
    rises_s: Latest,
    slopes: Latest,
    peaks_nm: Latest,
    before: Option<(Stamp, f64)>,
}

impl Memory {
    pub fn forget(&mut self) {
        *self = Self::default();
    }

    /// How `pull` stands to those before it; then it is one of them.
    pub fn place(&mut self, pull: &Description) -> Among {
        let rise_s = &pull.rise.reached_s;
        let rise_s = (rise_s[twentieths(4)] - rise_s[twentieths(18)]).max(LEAST_S);
        let peak = pull.peak.torque.nm();
        let slope = pull.rise.slope_nm_per_deg.filter(|slope| *slope > 0.0);
        let among = Among {
            after_s: self.before.map(|(to, _)| pull.from - to),
            to_before: self.before.map(|(_, nm)| peak / nm).filter(|ratio| ratio.is_finite()),
            to_highest: self.peaks_nm.at(1.0, 1).map(|highest| peak.abs() / highest),
            to_usual_slope: slope
                .and_then(|slope| Some(slope / self.slopes.at(USUAL_SLOPE, USUAL_LEAST)?)),
            to_usual_rise: self.rises_s.at(USUAL_RISE, USUAL_LEAST).map(|usual| rise_s / usual),
        };
        self.before = Some((pull.to, peak));
        if peak > 0.0 {
            self.rises_s.add(rise_s);
            self.peaks_nm.add(peak);
        }
        if let Some(slope) = slope {
            self.slopes.add(slope);
        }
        among
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
