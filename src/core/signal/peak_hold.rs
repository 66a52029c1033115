//! A threshold peak-hold with hysteresis.

use crate::core::time::Stamp;
use crate::core::units::Torque;

/// Torque at which a pull begins, N·m: above pawl drag (0.2 to 1 N·m) and hand tremor.
const START_FLOOR_NM: f64 = 2.0;
/// The same as a share of the adapter's largest torque, for coarse adapters.
const START_SHARE_OF_RANGE: f64 = 0.01;
/// A pull ends below this share of the torque at which it began.
const END_SHARE_OF_START: f64 = 0.5;
/// A pull also ends below this share of its peak, so that a hand resting on the handle ends it.
const END_SHARE_OF_PEAK: f64 = 0.1;
/// A hand resting on the handle begins a new pull only above this multiple of its torque.
const RESTING_FACTOR: f64 = 1.5;
/// How long torque must stay below the end before the pull is over, seconds.
const QUIET_S: f64 = 0.08;
/// A pause between samples that ends a pull, seconds: nothing is known of what happened in it.
const BLIND_S: f64 = 1.0;
/// Rotation and duration count while torque stands above this share of the peak.
const COUNTED_SHARE: f64 = 0.1;
/// Ratio between neighbouring rungs of the ladder that remembers when the torque first rose past a level.
const RUNG_RATIO: f64 = 1.1;
/// Rungs: from the start floor up by `RUNG_RATIO` each, past 100 kN·m.
const RUNGS: usize = 128;

/// One pull found in a stream of samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// When the peak was.
    pub at: Stamp,
    /// The highest torque, signed.
    pub peak: Torque,
    /// How far the drive turned while torque stood above 10 % of the peak, degrees, if it was told.
    pub rotation_deg: Option<f64>,
    /// How long torque stood above 10 % of the peak, milliseconds.
    pub duration_ms: f64,
}

#[derive(Debug, Clone, Copy)]
struct Moment {
    at: Stamp,
    deg: Option<f64>,
}

#[derive(Debug, Clone)]
struct Stroke {
    sign: f64,
    peak: f64,
    peak_at: Stamp,
    first_above: [Option<Moment>; RUNGS],
    last_above: Moment,
    quiet_since: Option<Stamp>,
}

/// Finds pulls in a stream of torque samples.
#[derive(Debug, Clone)]
pub struct PeakHold {
    start_nm: f64,
    stroke: Option<Stroke>,
    /// Torque on the handle when the last pull ended, while it has not gone away.
    resting_nm: f64,
    last_at: Option<Stamp>,
}

impl PeakHold {
    /// A finder for an adapter whose largest torque is `range_max`, if known.
    #[must_use]
    pub fn new(range_max: Option<Torque>) -> Self {
        let share = range_max.map_or(0.0, |max| max.nm().abs() * START_SHARE_OF_RANGE);
        Self { start_nm: START_FLOOR_NM.max(share), stroke: None, resting_nm: 0.0, last_at: None }
    }

    /// True while a pull is under way.
    #[must_use]
    pub fn pulling(&self) -> bool {
        self.stroke.is_some()
    }

    /// Takes the next sample: its time, torque, and how far the drive has turned in all, if known.
    /// Gives the pull that this sample ended, if it ended one.
    ///
    /// A sample that is not a number, or that is not later than the one before, is passed over.
    pub fn push(&mut self, at: Stamp, torque: Torque, turned_deg: Option<f64>) -> Option<Pull> {
        let nm = torque.nm();
        if !nm.is_finite() || self.last_at.is_some_and(|last| at <= last) {
            return None;
        }
        let blind = self.last_at.is_some_and(|last| at - last > BLIND_S);
        self.last_at = Some(at);
        let ended = if blind { self.finish() } else { None };
        let moment = Moment { at, deg: turned_deg.filter(|deg| deg.is_finite()) };
        let ended = ended.or_else(|| self.advance(moment, nm));
        if nm.abs() < self.start_nm * END_SHARE_OF_START {
            self.resting_nm = 0.0;
        }
        if self.stroke.is_none() && nm.abs() >= self.start_nm + self.resting_nm * RESTING_FACTOR {
            self.stroke = Some(Stroke::begin(moment, nm, self.start_nm));
        }
        ended
    }

    /// Ends the pull under way, if any: the stream has stopped.
    pub fn finish(&mut self) -> Option<Pull> {
        self.stroke.take().map(|stroke| stroke.pull(self.start_nm))
    }

    fn advance(&mut self, moment: Moment, nm: f64) -> Option<Pull> {
        let stroke = self.stroke.as_mut()?;
        let pulled = nm * stroke.sign;
        if -pulled >= self.start_nm {
            return self.finish();
        }
        let end = (self.start_nm * END_SHARE_OF_START).max(stroke.peak * END_SHARE_OF_PEAK);
        if pulled < end {
            let since = *stroke.quiet_since.get_or_insert(moment.at);
            if moment.at - since < QUIET_S {
                return None;
            }
            self.resting_nm = pulled.max(0.0);
            return self.finish();
        }
        stroke.quiet_since = None;
        stroke.rise(moment, pulled, self.start_nm);
        None
    }
}

impl Stroke {
    fn begin(moment: Moment, nm: f64, start_nm: f64) -> Self {
        let mut stroke = Self {
            sign: nm.signum(),
            peak: 0.0,
            peak_at: moment.at,
            first_above: [None; RUNGS],
            last_above: moment,
            quiet_since: None,
        };
        stroke.rise(moment, nm.abs(), start_nm);
        stroke
    }

    fn rise(&mut self, moment: Moment, pulled: f64, start_nm: f64) {
        if pulled > self.peak {
            for seen in &mut self.first_above[rung(self.peak, start_nm)..=rung(pulled, start_nm)] {
                seen.get_or_insert(moment);
            }
            self.peak = pulled;
            self.peak_at = moment.at;
        }
        if pulled >= self.peak * COUNTED_SHARE {
            self.last_above = moment;
        }
    }

    fn pull(self, start_nm: f64) -> Pull {
        let level = rung(self.peak * COUNTED_SHARE, start_nm);
        let first = self.first_above[level].unwrap_or(self.last_above);
        let rotation_deg = first.deg.zip(self.last_above.deg).map(|(from, to)| to - from);
        Pull {
            at: self.peak_at,
            peak: Torque::from_nm(self.peak * self.sign),
            rotation_deg,
            duration_ms: (self.last_above.at - first.at) * 1e3,
        }
    }
}

/// The highest rung at or below `nm`.
fn rung(nm: f64, start_nm: f64) -> usize {
    let steps = (nm / start_nm).ln() / RUNG_RATIO.ln();
    (steps.max(0.0) as usize).min(RUNGS - 1)
}

#[cfg(test)]
mod tests {
    use super::{PeakHold, Pull};
    use crate::core::time::Stamp;
    use crate::core::units::Torque;

    fn pulls(rate_hz: f64, range_max: Option<f64>, samples: &[f64]) -> Vec<Pull> {
        let mut hold = PeakHold::new(range_max.map(Torque::from_nm));
        let mut found = Vec::new();
        for (index, nm) in samples.iter().enumerate() {
            let at = Stamp::from_seconds(index as f64 / rate_hz);
            found.extend(hold.push(at, Torque::from_nm(*nm), Some(nm.abs() / 2.0)));
        }
        found.extend(hold.finish());
        found
    }

    fn hump(peak: f64, count: usize) -> Vec<f64> {
        (0..=count).map(|i| peak * (std::f64::consts::PI * i as f64 / count as f64).sin()).collect()
    }

    fn peaks(found: &[Pull]) -> Vec<f64> {
        found.iter().map(|pull| (pull.peak.nm() * 10.0).round() / 10.0).collect()
    }

    #[test]
    fn two_humps_with_a_pause_between_them_are_two_pulls() {
        let samples = [hump(120.0, 80), vec![0.0; 40], hump(165.0, 80), vec![0.0; 40]].concat();
        assert_eq!(peaks(&pulls(100.0, Some(280.0), &samples)), [120.0, 165.0]);
    }

    #[test]
    fn pawl_drag_and_tremor_below_the_start_are_no_pull() {
        let samples: Vec<f64> = (0..400).map(|i| if i % 7 == 0 { 1.4 } else { -0.9 }).collect();
        assert_eq!(pulls(100.0, Some(60.0), &samples), []);
    }

    #[test]
    fn a_short_dip_does_not_cut_a_pull_in_two() {
        let samples = [vec![50.0; 20], vec![0.0; 4], vec![60.0; 20], vec![0.0; 20]].concat();
        assert_eq!(peaks(&pulls(100.0, None, &samples)), [60.0]);
    }

    #[test]
    fn a_hand_resting_on_the_handle_ends_the_pull() {
        let samples = [hump(100.0, 50), vec![4.0; 50], hump(110.0, 50), vec![4.0; 50]].concat();
        assert_eq!(peaks(&pulls(100.0, None, &samples)), [100.0, 110.0]);
    }

    #[test]
    fn loosening_has_a_negative_peak_of_its_own() {
        let samples = [hump(90.0, 50), hump(-70.0, 50), vec![0.0; 20]].concat();
        assert_eq!(peaks(&pulls(100.0, None, &samples)), [90.0, -70.0]);
    }

    #[test]
    fn rotation_and_duration_count_only_above_a_tenth_of_the_peak() {
        let ramp: Vec<f64> = (0..=100).map(f64::from).chain(vec![0.0; 20]).collect();
        let found = pulls(100.0, None, &ramp);
        let [pull] = found[..] else { panic!("one pull, but found {found:?}") };
        assert!((pull.rotation_deg.unwrap() - 45.0).abs() <= 1.0, "{pull:?}");
        assert!((pull.duration_ms - 900.0).abs() <= 20.0, "{pull:?}");
    }

    #[test]
    fn nonsense_samples_and_time_running_backwards_are_passed_over() {
        let mut hold = PeakHold::new(None);
        let at = |seconds: f64| Stamp::from_seconds(seconds);
        for (seconds, nm) in [
            (0.0, 50.0),
            (0.1, f64::NAN),
            (0.2, 60.0),
            (0.15, 900.0),
            (0.25, f64::INFINITY),
            (0.3, 80.0),
        ] {
            assert_eq!(hold.push(at(seconds), Torque::from_nm(nm), None), None);
        }
        assert_eq!(hold.finish().map(|pull| pull.peak.nm()), Some(80.0));
    }
}
