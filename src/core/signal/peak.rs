//! The highest torque, freed of what noise adds to a maximum, with its uncertainty.
//!
//! A maximum of noisy samples is too high; an average over many is too low where the peak is sharp.
//! The width of a local parabola (Savitzky and Golay, 1964) is therefore grown as long as the wider
//! estimate agrees with every narrower one within its noise (Lepski's method).

use super::constants::{
    ADMITTED_SPREADS, CERTIFICATE_COVERAGE, MISSED_SHARE, NORMAL_95, PEAK_BAND, PEAK_BIAS,
    PEAK_INFLATION, PEAK_WIDEST_S,
};
use super::description::Peak;
use super::read::{Context, View};
use crate::core::time::Stamp;
use crate::core::units::Torque;

/// Shares of the peak within which [`Peak::within_s`] is taken: the first is what a missed peak is called by.
const WITHIN: [f64; 3] = [MISSED_SHARE, 0.05, 0.1];
/// Half-widths tried, samples.
const HALF_WIDTHS: [usize; 13] = [0, 2, 3, 4, 6, 8, 11, 15, 20, 28, 40, 56, 80];

#[derive(Debug, Clone, Copy)]
struct Estimate {
    nm: f64,
    sd: f64,
    at: usize,
}

pub(super) fn estimate(view: &View<'_>, context: &Context, time: &impl Fn(f64) -> Stamp) -> Peak {
    let (chosen, half) = choose(view);
    let missed = if half <= 3 { between_samples(view, chosen.at) } else { 0.0 };
    let nm = chosen.nm + missed * 0.5;
    let noise_nm = (chosen.sd * PEAK_INFLATION).hypot(quantum(view) / 12.0_f64.sqrt());
    let rate_nm = missed / 12.0_f64.sqrt();
    let zero_nm = context.zero_sd_nm;
    let certificate_nm =
        context.source.accuracy_pct.unwrap_or(0.0) / 100.0 / CERTIFICATE_COVERAGE * nm;
    let sd = noise_nm.hypot(rate_nm).hypot(zero_nm).hypot(certificate_nm);
    let signed = |nm: f64| Torque::from_nm(nm * context.sign);
    Peak {
        torque: signed(nm),
        at: time(chosen.at as f64),
        low: signed((nm - NORMAL_95 * sd).max(0.0)),
        high: signed(nm + NORMAL_95 * sd),
        beside_nm: beside(view),
        within_s: WITHIN.map(|share| within(view, share)),
        noise_nm,
        rate_nm,
        zero_nm,
        certificate_nm,
    }
}

fn choose(view: &View<'_>) -> (Estimate, usize) {
    // Narrower estimates bound where the wider ones may lie.
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut chosen = (fit(view, 0), 0);
    for half in HALF_WIDTHS {
        if half > 0 && view.seconds(2 * half) > PEAK_WIDEST_S || 2 * half >= view.raw.len() {
            break;
        }
        let wider = fit(view, half);
        if wider.nm < low || wider.nm > high {
            break;
        }
        low = low.max(wider.nm - ADMITTED_SPREADS * wider.sd);
        high = high.min(wider.nm + ADMITTED_SPREADS * wider.sd);
        chosen = (wider, half);
    }
    chosen
}

/// The highest value of a local parabola of this half-width, and its noise.
fn fit(view: &View<'_>, half: usize) -> Estimate {
    let h = half as f64;
    let (scale, gain) = if half < 2 {
        (0.0, 1.0)
    } else {
        let scale = (2.0 * h - 1.0) * (2.0 * h + 1.0) * (2.0 * h + 3.0);
        (scale, 3.0 * (3.0 * h * h + 3.0 * h - 1.0) / scale)
    };
    let sd = view.noise * gain.sqrt();
    let value = |at: usize| {
        if half < 2 {
            return view.raw[at];
        }
        let level = 3.0 * (3.0 * h * h + 3.0 * h - 1.0);
        let part = &view.raw[at - half..=at + half];
        let sum = |(index, nm): (usize, &f64)| {
            let off = index as f64 - h;
            (level - 15.0 * off * off) / scale * nm
        };
        part.iter().enumerate().map(sum).sum()
    };
    let band = view.top * (1.0 - PEAK_BAND) - 4.0 * view.noise;
    let from = view.first.max(half);
    let to = view.last.min(view.raw.len().saturating_sub(half + 1));
    let mut best = Estimate { nm: view.raw[view.top_at], sd, at: view.top_at };
    let mut found = false;
    for at in from..=to {
        if view.smooth[at] < band {
            continue;
        }
        let nm = value(at);
        if !found || nm > best.nm {
            best = Estimate { nm, sd, at };
            found = true;
        }
    }
    // How many independent values came within reach of the highest: that many had a chance.
    let near = (from..=to).filter(|at| view.smooth[*at] >= best.nm - 2.0 * sd - view.smooth_noise);
    let rivals = (near.count() as f64 / (h + 1.0)).max(1.0);
    best.nm -= sd * PEAK_BIAS * expected_maximum(rivals);
    best
}

/// Expected maximum of so many standard normal values, to about 0.03 (after Blom, 1958).
fn expected_maximum(values: f64) -> f64 {
    if values <= 1.0 {
        return 0.0;
    }
    let p = (values - 0.375) / (values + 0.25);
    let t = (-2.0 * (1.0 - p).ln()).sqrt();
    // Abramowitz and Stegun, 26.2.23.
    t - (2.515_517 + t * (0.802_853 + t * 0.010_328))
        / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308)))
}

/// How much higher torque may have been between the samples beside the highest, N·m: up to where the
/// lines of both sides meet.
fn between_samples(view: &View<'_>, at: usize) -> f64 {
    let raw = view.raw;
    if at < 2 || at + 2 >= raw.len() {
        return 0.0;
    }
    let rising = raw[at - 1] - raw[at - 2];
    let falling = raw[at + 1] - raw[at + 2];
    let least = 4.0 * view.noise;
    if rising < least && falling < least {
        return 0.0;
    }
    let (rising, falling) = (rising.max(0.0), falling.max(0.0));
    // The lines raw[at-1] + rising·x and raw[at+1] - falling·(x-2) meet here; x in samples after at-1.
    if rising + falling <= 0.0 {
        return 0.0;
    }
    let x = ((raw[at + 1] - raw[at - 1] + 2.0 * falling) / (rising + falling)).clamp(0.0, 2.0);
    let meets = raw[at - 1] + rising * x;
    (meets - raw[at]).clamp(0.0, rising.max(falling))
}

fn highest_sample(view: &View<'_>) -> usize {
    let mut at = view.first;
    for place in view.first..=view.last {
        if view.raw[place] > view.raw[at] {
            at = place;
        }
    }
    at
}

/// Seconds around the highest sample for which torque stays within `share` of it.
fn within(view: &View<'_>, share: f64) -> f64 {
    let raw = view.raw;
    let at = highest_sample(view);
    let level = raw[at] * (1.0 - share);
    let part = |inside: f64, outside: Option<&f64>| match outside {
        Some(outside) => (inside - level) / (inside - outside).max(1e-9),
        None => 0.0,
    };
    let before = raw[..at].iter().rev().take_while(|nm| **nm >= level).count();
    let after = raw[at + 1..].iter().take_while(|nm| **nm >= level).count();
    let (first, last) = (at - before, at + after);
    let edges = part(raw[first], first.checked_sub(1).map(|at| &raw[at]))
        + part(raw[last], raw.get(last + 1));
    ((before + after) as f64 + edges) * view.dt
}

fn beside(view: &View<'_>) -> [f64; 2] {
    let at = highest_sample(view);
    let below = |place: Option<usize>| {
        let nm = place.and_then(|place| view.raw.get(place)).copied().unwrap_or(0.0);
        view.raw[at] - nm
    };
    [below(at.checked_sub(1)), below(Some(at + 1))]
}

/// Smallest step between neighbouring samples of the rise, N·m: what the adapter resolves.
fn quantum(view: &View<'_>) -> f64 {
    let steps = view.raw[view.first..=view.top_at].windows(2).map(|pair| (pair[1] - pair[0]).abs());
    let least = steps.filter(|step| *step > 1e-9).fold(f64::INFINITY, f64::min);
    if least.is_finite() { least.min(view.noise * 3.0) } else { 0.0 }
}
