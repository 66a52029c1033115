//! How torque rose, and where it was let go.

use super::constants::{
    LEVEL_SLOPE_SHARE, PREVAILING_MOST, PREVAILING_S, PREVAILING_SPREAD, RELEASE_S, SLOPE_SPAN_S,
};
use super::description::{FALLEN, LEVELS, Rise, Snug, Turned, twentieths};
use super::lanes::{deepest, last_at_least, soon_at_least, steepest, sums};
use super::read::View;
use crate::core::time::Stamp;
use crate::core::units::Torque;
use fearless_simd::Simd;

/// Where the final release begins: going back from its end while torque falls as fast as a hand lets go.
#[inline(always)]
pub(super) fn release(view: &View<'_>) -> usize {
    let span = view.samples(SLOPE_SPAN_S).max(1);
    let least = view.top / RELEASE_S * view.seconds(span);
    let mut at = view.last;
    while at > view.top_at && at >= span && view.smooth_nm(at - span) - view.smooth_nm(at) > least {
        at -= 1;
    }
    at.max(view.top_at)
}

#[inline(always)]
pub(super) fn measure(simd: impl Simd, view: &View<'_>, turned: Option<&Turned>) -> Rise {
    let reached = &view.reached;
    let mut reached_s = [0.0; LEVELS.len()];
    for (level, seconds) in reached_s.iter_mut().enumerate() {
        *seconds = (view.top_at as f64 - crossing(view, reached[level], LEVELS[level])) * view.dt;
    }
    let span = view.samples(SLOPE_SPAN_S).max(1);
    let rise = &view.smooth[reached[twentieths(2)]..=view.top_at];
    Rise {
        reached_s,
        slope_nm_per_s: f64::from(steepest(simd, rise, span)) / view.seconds(span),
        slope_nm_per_deg: slope_by_angle(view),
        snug_to_peak_s: reached_s[twentieths(2)],
        snug_to_peak_deg: turned.map(|turned| turned.deg),
    }
}

/// Seconds after the peak at which torque was last at each of [`FALLEN`].
#[inline(always)]
pub(super) fn fallen(simd: impl Simd, view: &View<'_>) -> [f64; FALLEN.len()] {
    let mut seconds = [0.0; FALLEN.len()];
    let mut last = view.smooth.len().saturating_sub(1);
    // The lower a level, the later torque was last at it.
    for (share, seconds) in FALLEN.iter().zip(&mut seconds).rev() {
        let nm = share * view.top;
        let fall = &view.smooth[view.top_at..=last.max(view.top_at)];
        last = view.top_at + last_at_least(simd, fall, nm as f32).unwrap_or(0);
        let after = view.smooth.get(last + 1).map(|after| f64::from(*after));
        let after = after.filter(|after| *after < nm);
        let part =
            after.map_or(0.0, |after| (view.smooth_nm(last) - nm) / (view.smooth_nm(last) - after));
        *seconds = (last as f64 - view.top_at as f64 + part) * view.dt;
    }
    seconds
}

/// First place at which each level was reached.
#[inline(always)]
pub(super) fn reached(
    simd: impl Simd,
    smooth: &[f32],
    top_at: usize,
    top: f64,
) -> [usize; LEVELS.len()] {
    let mut places = [top_at; LEVELS.len()];
    let mut at = 0;
    for (level, place) in LEVELS.iter().zip(&mut places) {
        let more = soon_at_least(simd, &smooth[at..], (level * top) as f32);
        at = more.map_or(top_at, |more| top_at.min(at + more));
        *place = at;
    }
    places
}

/// Where between two samples a level was crossed.
fn crossing(view: &View<'_>, at: usize, level: f64) -> f64 {
    let nm = level * view.top;
    let before = at.checked_sub(1).map(|before| view.smooth_nm(before));
    match before.filter(|before| *before < nm && view.smooth_nm(at) > *before) {
        Some(before) => at as f64 - (view.smooth_nm(at) - nm) / (view.smooth_nm(at) - before),
        None => at as f64,
    }
}

/// Torque a degree between half and nine tenths of the peak, N·m.
fn slope_by_angle(view: &View<'_>) -> Option<f64> {
    let turned = view.turned?;
    let (from, to) = (view.reached[twentieths(10)], view.reached[twentieths(18)]);
    let deg = turned[to] - turned[from];
    let nm = view.smooth_nm(to) - view.smooth_nm(from);
    (deg > 0.2 && nm > 0.0).then(|| nm / deg)
}

/// The place from which torque rises in earnest: the farthest below the line from foot to half peak.
#[inline(always)]
pub(super) fn snug(
    simd: impl Simd,
    view: &View<'_>,
    time: &impl Fn(f64) -> Stamp,
    sign: f64,
) -> Option<Snug> {
    let (from, to) = (view.reached[twentieths(1)], view.reached[twentieths(12)]);
    if to <= from + 4 {
        return None;
    }
    let (low, high) = (view.smooth_nm(from), view.smooth_nm(to));
    let slope = (high - low) / (to - from) as f64;
    let (deepest, at) = deepest(simd, &view.smooth[from..to], low as f32, slope as f32);
    let at = from + at;
    let deep = f64::from(deepest) > (0.08 * view.top).max(4.0 * view.smooth_noise);
    deep.then(|| Snug { at: time(at as f64), torque: Torque::from_nm(view.smooth_nm(at) * sign) })
}

/// Mean of a level part well below the peak, N·m.
#[inline(always)]
pub(super) fn prevailing(simd: impl Simd, view: &View<'_>) -> Option<f64> {
    let quarter = (view.samples(PREVAILING_S) / QUARTERS).max(1);
    let span = quarter * QUARTERS;
    let highest = PREVAILING_MOST * view.top;
    let lowest = (4.0 * view.noise).max(0.02 * view.top);
    let from = view.first.saturating_sub(span);
    let mut best: Option<f64> = None;
    let mut quarters = [(0.0, 0.0); QUARTERS];
    let parts = view.smooth[from..view.top_at.max(from)].chunks_exact(quarter);
    for (index, part) in parts.enumerate() {
        quarters.rotate_left(1);
        let (sum, squares) = sums(simd, part);
        quarters[QUARTERS - 1] = (f64::from(sum), f64::from(squares));
        if index + 1 < QUARTERS {
            continue;
        }
        let count = span as f64;
        let [first, second, third, fourth] = quarters.map(|(sum, _)| sum);
        let mean = (first + second + third + fourth) / count;
        if mean >= highest || mean <= lowest {
            continue;
        }
        let squares: f64 = quarters.iter().map(|(_, squares)| squares).sum();
        let spread = (squares / count - mean * mean).max(0.0).sqrt();
        let grown = (third + fourth - first - second) / (count / 2.0);
        let slope = 2.0 * grown.abs() / view.seconds(span);
        if slope < LEVEL_SLOPE_SHARE * view.top && spread < PREVAILING_SPREAD * mean {
            best = Some(best.map_or(mean, |other: f64| other.min(mean)));
        }
    }
    best
}

/// Parts of the time that a prevailing torque lasts at least.
const QUARTERS: usize = 4;
