//! Several pulls of one fastener form a tightening.

use super::constants::{
    JOIN_ALWAYS_S, JOIN_DOUBT, JOIN_NEVER_S, JOIN_PEAK_SHARE, JOIN_USUAL_S, READING_SLACK_S,
};
use super::description::{Description, Peak};
use crate::core::time::Stamp;
use serde::{Deserialize, Serialize};

/// Pulls that seem to have been on one fastener.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tightening {
    /// How many pulls.
    pub pulls: u32,
    /// When the first began and the last ended.
    pub from: Stamp,
    /// See `from`.
    pub to: Stamp,
    /// The highest peak: what over-torque is judged by.
    pub highest: Peak,
    /// The last peak: what under-torque is judged by.
    pub last: Peak,
    /// Probability that all of them were on one fastener, by this trace alone.
    pub together: f64,
    /// Probability that the pull after it is on another fastener; 1 at the end of the stream.
    pub apart: f64,
}

impl Tightening {
    /// True if time and shape alone say where it begins and ends. Otherwise only the plan, an
    /// operator's word or motion can.
    #[must_use]
    pub fn separable(&self) -> bool {
        self.together > 1.0 - JOIN_DOUBT && self.apart > 1.0 - JOIN_DOUBT
    }
}

/// Groups pulls as they come.
#[derive(Debug, Clone, Default)]
pub struct Tightenings {
    open: Option<(Tightening, Description)>,
}

impl Tightenings {
    /// Takes the next pull; gives the tightening that it does not belong to any more.
    pub fn push(&mut self, pull: &Description) -> Option<Tightening> {
        let Some((mut tightening, before)) = self.open.take() else {
            self.open = Some((begin(pull), *pull));
            return None;
        };
        let joined = joined(&before, pull);
        if joined < 0.5 {
            self.open = Some((begin(pull), *pull));
            tightening.apart = 1.0 - joined;
            return Some(tightening);
        }
        tightening.pulls += 1;
        tightening.to = pull.to;
        tightening.last = pull.peak;
        if pull.peak.torque.nm().abs() > tightening.highest.torque.nm().abs() {
            tightening.highest = pull.peak;
        }
        tightening.together *= joined;
        self.open = Some((tightening, *pull));
        None
    }

    /// The stream has ended.
    pub fn finish(&mut self) -> Option<Tightening> {
        self.open.take().map(|(tightening, _)| tightening)
    }
}

fn begin(pull: &Description) -> Tightening {
    Tightening {
        pulls: 1,
        from: pull.from,
        to: pull.to,
        highest: pull.peak,
        last: pull.peak,
        together: 1.0,
        apart: 1.0,
    }
}

/// Probability that `next` is on the fastener of `before`, from the time between them and from
/// whether `next` goes on where `before` stopped.
fn joined(before: &Description, next: &Description) -> f64 {
    let gap_s = next.from - before.to;
    if gap_s <= JOIN_ALWAYS_S {
        return 1.0 - JOIN_DOUBT / 4.0;
    }
    if gap_s >= JOIN_NEVER_S {
        return JOIN_DOUBT / 4.0;
    }
    let (had, has) = (before.peak.torque.nm(), next.peak.torque.nm());
    let turns_back = had * has < 0.0;
    // After a pull that stayed clearly below the next, the same nut was probably not yet done.
    let goes_on = !turns_back && had.abs() < has.abs() * JOIN_PEAK_SHARE;
    let usual = 1.0 / (1.0 + ((gap_s / JOIN_USUAL_S).ln() * 2.0).exp());
    if goes_on { 1.0 - (1.0 - usual) * 0.5 } else { usual * 0.6 }
}

/// True if a reading with its peak at `at`, held above a tenth of it for `duration_ms` in all, is the
/// pull that `description` was read from. `error_s` is how far `at` can be off.
#[must_use]
pub fn same_pull(description: &Description, at: Stamp, error_s: f64) -> bool {
    let slack = READING_SLACK_S + error_s.max(0.0);
    at - description.from >= -slack && description.to - at >= -slack
}
