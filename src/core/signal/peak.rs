//! The highest torque, freed of what noise adds to a maximum, with its uncertainty.
//!
//! A maximum of noisy samples is too high; an average over many is too low where the peak is sharp.
//! The width of a local parabola (Savitzky and Golay, 1964) is therefore grown as long as the wider
//! estimate agrees with every narrower one within its noise (Lepski's method).

use super::constants::{
    ADMITTED_SPREADS, CERTIFICATE_COVERAGE, MISSED_SHARE, NORMAL_95, PEAK_BAND, PEAK_BIAS,
    PEAK_INFLATION, PEAK_WIDEST_S,
};
use super::description::{AROUND, Peak};
use super::lanes::{first_at_least, highest_at, last_at_least, least_step};
use super::read::{Context, View};
use crate::core::time::Stamp;
use crate::core::units::Torque;
use fearless_simd::prelude::*;
use fearless_simd::{Simd, f64x8};

/// Shares of the peak within which [`Peak::within_s`] is taken: the first is what a missed peak is called by.
const WITHIN: [f64; 3] = [MISSED_SHARE, 0.05, 0.1];
/// Half-widths tried, samples.
const HALF_WIDTHS: [usize; 13] = [0, 2, 3, 4, 6, 8, 11, 15, 20, 28, 40, 56, WIDEST];
const WIDEST: usize = 80;
/// Parabolas worked out together.
const TOGETHER: usize = 8;

#[derive(Debug, Clone, Copy)]
struct Estimate {
    nm: f64,
    sd: f64,
    at: usize,
}

#[inline(always)]
pub(super) fn estimate(
    simd: impl Simd,
    view: &View<'_>,
    context: &Context,
    time: &impl Fn(f64) -> Stamp,
) -> Peak {
    let (chosen, half) = choose(simd, view);
    let missed = if half <= 3 { between_samples(view, chosen.at) } else { 0.0 };
    let nm = chosen.nm + missed * 0.5;
    let noise_nm = (chosen.sd * PEAK_INFLATION).hypot(quantum(simd, view) / 12.0_f64.sqrt());
    let rate_nm = missed / 12.0_f64.sqrt();
    let zero_nm = context.zero_sd_nm;
    let certificate_nm =
        context.source.accuracy_pct.unwrap_or(0.0) / 100.0 / CERTIFICATE_COVERAGE * nm;
    let sd = noise_nm.hypot(rate_nm).hypot(zero_nm).hypot(certificate_nm);
    let signed = |nm: f64| Torque::from_nm(nm * context.sign);
    let highest = view.first + highest_at(simd, &view.raw[view.first..=view.last]).0;
    let around_nm = around(view, highest);
    Peak {
        torque: signed(nm),
        at: time(chosen.at as f64),
        low: signed((nm - NORMAL_95 * sd).max(0.0)),
        high: signed(nm + NORMAL_95 * sd),
        beside_nm: [around_nm[AROUND / 2 - 1], around_nm[AROUND / 2]],
        around_nm,
        within_s: within(view, highest),
        noise_nm,
        rate_nm,
        zero_nm,
        certificate_nm,
    }
}

#[inline(always)]
fn choose(simd: impl Simd, view: &View<'_>) -> (Estimate, usize) {
    let band = view.top * (1.0 - PEAK_BAND) - 4.0 * view.noise;
    let part = &view.smooth[view.first..=view.last];
    let ends = first_at_least(simd, part, band).zip(last_at_least(simd, part, band));
    let ends =
        ends.map_or((view.top_at, view.top_at), |(from, to)| (view.first + from, view.first + to));
    // Narrower estimates bound where the wider ones may lie.
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut chosen = (Estimate { nm: view.top, sd: view.noise, at: view.top_at }, 0);
    for weights in &WEIGHTS {
        let half = weights.half;
        if half > 0 && view.seconds(2 * half) > PEAK_WIDEST_S || 2 * half >= view.raw.len() {
            break;
        }
        let wider = fit(simd, view, weights, ends, band);
        if wider.nm < low || wider.nm > high {
            break;
        }
        low = low.max(wider.nm - ADMITTED_SPREADS * wider.sd);
        high = high.min(wider.nm + ADMITTED_SPREADS * wider.sd);
        chosen = (wider, half);
    }
    chosen
}

/// The highest value of a local parabola of this half-width between these places, and its noise.
#[inline(always)]
fn fit(
    simd: impl Simd,
    view: &View<'_>,
    weights: &Weights,
    (first, last): (usize, usize),
    band: f64,
) -> Estimate {
    let half = weights.half;
    let sd = view.noise * weights.gain.sqrt();
    let weights = &weights.outwards[..=half];
    let from = first.max(half);
    let to = last.min(view.raw.len().saturating_sub(half + 1));
    let mut best = Estimate { nm: f64::NEG_INFINITY, sd, at: view.top_at };
    let smooth = view.smooth.get(from..=to).unwrap_or_default();
    if let Some(last) = smooth.len().checked_sub(TOGETHER) {
        let none = f64x8::splat(simd, f64::NEG_INFINITY);
        let mut places = f64x8::from_fn(simd, |lane| (from + lane) as f64);
        let (mut highs, mut ats) = (none, places);
        let mut at = 0;
        loop {
            let near = f64x8::from_slice(simd, &smooth[at..at + TOGETHER]).simd_ge(band);
            let nm = near.select(parabolas(simd, view.raw, from + at, weights), none);
            let higher = nm.simd_gt(highs);
            (highs, ats) = (higher.select(nm, highs), higher.select(places, ats));
            if at == last {
                break;
            }
            // The last of them meet some a second time, which changes nothing.
            let next = last.min(at + TOGETHER);
            places += (next - at) as f64;
            at = next;
        }
        best.nm = highs.reduce_max();
        let first = highs.simd_ge(best.nm).select(ats, -none).reduce_min();
        best.at = first as usize;
    } else {
        for (at, near) in (from..).zip(smooth) {
            let nm = parabola(view.raw, at, weights);
            if *near >= band && nm > best.nm {
                best = Estimate { nm, sd, at };
            }
        }
    }
    if best.nm == f64::NEG_INFINITY {
        best = Estimate { nm: view.raw[view.top_at], sd, at: view.top_at };
    }
    // How many independent values came within reach of the highest: that many had a chance.
    let least = best.nm - 2.0 * sd - view.smooth_noise;
    let near = smooth.iter().filter(|nm| **nm >= least).count();
    let rivals = (near as f64 / (half as f64 + 1.0)).max(1.0);
    best.nm -= sd * PEAK_BIAS * expected_maximum(rivals);
    best
}

/// Weights of a parabola.
#[derive(Debug, Clone, Copy)]
struct Weights {
    half: usize,
    /// From the middle outwards, up to the half-width.
    outwards: [f64; WIDEST + 1],
    /// The sum of their squares.
    gain: f64,
}

/// Those of each of [`HALF_WIDTHS`].
static WEIGHTS: [Weights; HALF_WIDTHS.len()] = {
    let mut all = [Weights::of(0); HALF_WIDTHS.len()];
    let mut at = 0;
    while at < all.len() {
        all[at] = Weights::of(HALF_WIDTHS[at]);
        at += 1;
    }
    all
};

impl Weights {
    const fn of(half: usize) -> Self {
        let mut outwards = [0.0; WIDEST + 1];
        if half < 2 {
            outwards[0] = 1.0;
            return Self { half, outwards, gain: 1.0 };
        }
        let h = half as f64;
        let scale = 1.0 / ((2.0 * h - 1.0) * (2.0 * h + 1.0) * (2.0 * h + 3.0));
        let level = 3.0 * (3.0 * h * h + 3.0 * h - 1.0);
        let mut off = 0;
        while off <= half {
            outwards[off] = (level - 15.0 * (off * off) as f64) * scale;
            off += 1;
        }
        Self { half, outwards, gain: level * scale }
    }
}

/// The parabolas around as many places from `at` on.
#[inline(always)]
fn parabolas<S: Simd>(simd: S, raw: &[f64], at: usize, weights: &[f64]) -> f64x8<S> {
    let near = |from: usize| f64x8::from_slice(simd, &raw[from..from + TOGETHER]);
    let mut sums = near(at) * weights[0];
    for (off, weight) in weights.iter().enumerate().skip(1) {
        sums += (near(at - off) + near(at + off)) * *weight;
    }
    sums
}

#[inline(always)]
fn parabola(raw: &[f64], at: usize, weights: &[f64]) -> f64 {
    let middle = raw[at] * weights[0];
    let beside = weights.iter().enumerate().skip(1);
    beside.fold(middle, |sum, (off, weight)| sum + weight * (raw[at - off] + raw[at + off]))
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

/// Seconds around the highest sample for which torque stays within each of [`WITHIN`] of it.
fn within(view: &View<'_>, highest: usize) -> [f64; WITHIN.len()] {
    let raw = view.raw;
    let (mut first, mut last) = (highest, highest);
    WITHIN.map(|share| {
        let level = raw[highest] * (1.0 - share);
        let part = |inside: f64, outside: Option<&f64>| match outside {
            Some(outside) => (inside - level) / (inside - outside).max(1e-9),
            None => 0.0,
        };
        while first > 0 && raw[first - 1] >= level {
            first -= 1;
        }
        while last + 1 < raw.len() && raw[last + 1] >= level {
            last += 1;
        }
        let edges = part(raw[first], first.checked_sub(1).map(|at| &raw[at]))
            + part(raw[last], raw.get(last + 1));
        ((last - first) as f64 + edges) * view.dt
    })
}

/// How far the samples before and after the highest lie below it, N·m, in order of time.
fn around(view: &View<'_>, highest: usize) -> [f64; AROUND] {
    let below = |nm: Option<&f64>| view.raw[highest] - nm.copied().unwrap_or(0.0);
    std::array::from_fn(|index| {
        let before = AROUND / 2;
        if index < before {
            below(highest.checked_sub(before - index).and_then(|at| view.raw.get(at)))
        } else {
            below(view.raw.get(highest + index + 1 - before))
        }
    })
}

/// Smallest step between neighbouring samples of the rise, N·m: what the adapter resolves.
#[inline(always)]
fn quantum(simd: impl Simd, view: &View<'_>) -> f64 {
    let least = least_step(simd, &view.raw[view.first..=view.top_at], 1e-9);
    if least.is_finite() { least.min(view.noise * 3.0) } else { 0.0 }
}
