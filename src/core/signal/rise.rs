//! How torque rose, and where it was let go.

use super::constants::{
    LEVEL_SLOPE_SHARE, PREVAILING_MOST, PREVAILING_S, PREVAILING_SPREAD, RELEASE_S, SLOPE_SPAN_S,
};
use super::description::{FALLEN, LEVELS, Rise, Snug, Turned, twentieths};
use super::read::View;
use crate::core::time::Stamp;
use crate::core::units::Torque;

/// Where the final release begins: going back from its end while torque falls as fast as a hand lets go.
pub(super) fn release(view: &View<'_>) -> usize {
    let span = view.samples(SLOPE_SPAN_S).max(1);
    let least = view.top / RELEASE_S * view.seconds(span);
    let mut at = view.last;
    while at > view.top_at && at >= span && view.smooth[at - span] - view.smooth[at] > least {
        at -= 1;
    }
    at.max(view.top_at)
}

pub(super) fn measure(view: &View<'_>, turned: Option<&Turned>) -> Rise {
    let reached = reached(view);
    let mut reached_s = [0.0; LEVELS.len()];
    for (level, seconds) in reached_s.iter_mut().enumerate() {
        *seconds = (view.top_at as f64 - crossing(view, reached[level], LEVELS[level])) * view.dt;
    }
    let span = view.samples(SLOPE_SPAN_S).max(1);
    let mut steepest: f64 = 0.0;
    for at in reached[twentieths(2)]..(view.top_at + 1).saturating_sub(span) {
        steepest = steepest.max(view.smooth[at + span] - view.smooth[at]);
    }
    Rise {
        reached_s,
        slope_nm_per_s: steepest / view.seconds(span),
        slope_nm_per_deg: slope_by_angle(view, &reached),
        snug_to_peak_s: reached_s[twentieths(2)],
        snug_to_peak_deg: turned.map(|turned| turned.deg),
    }
}

/// Seconds after the peak at which torque was last at each of [`FALLEN`].
pub(super) fn fallen(view: &View<'_>) -> [f64; FALLEN.len()] {
    FALLEN.map(|share| {
        let nm = share * view.top;
        let last = view.smooth.iter().rposition(|above| *above >= nm).unwrap_or(view.top_at);
        let after = view.smooth.get(last + 1).filter(|after| **after < nm);
        let part =
            after.map_or(0.0, |after| (view.smooth[last] - nm) / (view.smooth[last] - after));
        ((last - view.top_at) as f64 + part) * view.dt
    })
}

/// First place at which each level was reached.
pub(super) fn reached(view: &View<'_>) -> [usize; LEVELS.len()] {
    let mut places = [view.top_at; LEVELS.len()];
    let mut level = 0;
    for (at, nm) in view.smooth[..=view.top_at].iter().enumerate() {
        while level < LEVELS.len() && *nm >= LEVELS[level] * view.top {
            places[level] = at;
            level += 1;
        }
    }
    places
}

/// Where between two samples a level was crossed.
fn crossing(view: &View<'_>, at: usize, level: f64) -> f64 {
    let nm = level * view.top;
    let before = at.checked_sub(1).map(|before| view.smooth[before]);
    match before.filter(|before| *before < nm && view.smooth[at] > *before) {
        Some(before) => at as f64 - (view.smooth[at] - nm) / (view.smooth[at] - before),
        None => at as f64,
    }
}

/// Torque a degree between half and nine tenths of the peak, N·m.
fn slope_by_angle(view: &View<'_>, reached: &[usize; LEVELS.len()]) -> Option<f64> {
    let turned = view.turned?;
    let (from, to) = (reached[twentieths(10)], reached[twentieths(18)]);
    let deg = turned[to] - turned[from];
    let nm = view.smooth[to] - view.smooth[from];
    (deg > 0.2 && nm > 0.0).then(|| nm / deg)
}

/// The place from which torque rises in earnest: the farthest below the line from foot to half peak.
pub(super) fn snug(view: &View<'_>, time: &impl Fn(f64) -> Stamp, sign: f64) -> Option<Snug> {
    let reached = reached(view);
    let (from, to) = (reached[twentieths(1)], reached[twentieths(12)]);
    if to <= from + 4 {
        return None;
    }
    let (low, high) = (view.smooth[from], view.smooth[to]);
    let line = |at: usize| low + (high - low) * (at - from) as f64 / (to - from) as f64;
    let depth = |at: usize| line(at) - view.smooth[at];
    let at = (from..to).max_by(|a, b| depth(*a).total_cmp(&depth(*b)))?;
    let deep = depth(at) > (0.08 * view.top).max(4.0 * view.smooth_noise);
    deep.then(|| Snug { at: time(at as f64), torque: Torque::from_nm(view.smooth[at] * sign) })
}

/// Mean of a level part well below the peak, N·m.
pub(super) fn prevailing(view: &View<'_>) -> Option<f64> {
    let span = view.samples(PREVAILING_S).max(3);
    let highest = PREVAILING_MOST * view.top;
    let mut best: Option<f64> = None;
    let mut at = view.first.saturating_sub(span);
    while at + span < view.top_at {
        let part = &view.smooth[at..at + span];
        let mean = part.iter().sum::<f64>() / span as f64;
        let spread = (part.iter().map(|nm| (nm - mean).powi(2)).sum::<f64>() / span as f64).sqrt();
        let half = span / 2;
        let early = part[..half].iter().sum::<f64>() / half as f64;
        let late = part[span - half..].iter().sum::<f64>() / half as f64;
        let slope = 2.0 * (late - early).abs() / view.seconds(span);
        let level = slope < LEVEL_SLOPE_SHARE * view.top && spread < PREVAILING_SPREAD * mean;
        if level && mean < highest && mean > 4.0 * view.noise && mean > 0.02 * view.top {
            best = Some(best.map_or(mean, |other: f64| other.min(mean)));
        }
        at += (span / 4).max(1);
    }
    best
}
