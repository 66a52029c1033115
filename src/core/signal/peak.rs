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
use super::lanes::{
    counts_at_least, first_at_least, first_below, highest_at, last_at_least, last_below, least_step,
};
use super::read::{Context, View};
use super::rough::Rough;
use crate::core::time::Stamp;
use crate::core::units::Torque;
use fearless_simd::prelude::*;
use fearless_simd::{Simd, f32x16};
use std::ops::Range;

/// Shares of the peak within which [`Peak::within_s`] is taken: the first is what a missed peak is called by.
const WITHIN: [f64; 3] = [MISSED_SHARE, 0.05, 0.1];
/// Steps that a peak is told in, 1 a N·m: what samples of seven digits cannot tell is not told.
const STEPS: f64 = 10_000.0;
/// Half-widths tried, samples.
const HALF_WIDTHS: [usize; 7] = [0, 2, 4, 8, 15, 28, 56];
/// Parabolas worked out together, in so many vectors.
const TOGETHER: usize = LANES * VECTORS;
const LANES: usize = 16;
const VECTORS: usize = 2;

#[derive(Debug, Clone, Copy)]
struct Estimate {
    nm: f64,
    sd: f64,
}

#[inline(always)]
pub(super) fn estimate(
    simd: impl Simd,
    view: &View<'_>,
    context: &Context,
    time: &impl Fn(f64) -> Stamp,
) -> Peak {
    let (chosen, half, at) = choose(simd, view);
    let missed = if half <= 3 { between_samples(view, at) } else { 0.0 };
    let nm = chosen.nm + missed * 0.5;
    let noise_nm = root([chosen.sd * PEAK_INFLATION, quantum(simd, view) / 12.0_f64.sqrt()]);
    let rate_nm = missed / 12.0_f64.sqrt();
    let zero_nm = context.zero_sd_nm;
    let certificate_nm =
        context.source.accuracy_pct.unwrap_or(0.0) / 100.0 / CERTIFICATE_COVERAGE * nm;
    let sd = root([noise_nm, rate_nm, zero_nm, certificate_nm]);
    let signed = |nm: f64| Torque::from_nm((nm * context.sign * STEPS).round() / STEPS);
    let highest = view.first + highest_at(simd, &view.raw[view.first..=view.last]).0;
    let around_nm = around(view, highest);
    Peak {
        torque: signed(nm),
        at: time(at as f64),
        low: signed((nm - NORMAL_95 * sd).max(0.0)),
        high: signed(nm + NORMAL_95 * sd),
        beside_nm: [around_nm[AROUND / 2 - 1], around_nm[AROUND / 2]],
        around_nm,
        within_s: within(simd, view, highest),
        noise_nm,
        rate_nm,
        zero_nm,
        certificate_nm,
    }
}

/// The root of the sum of the squares: none of these is so large or small that more care is needed.
fn root<const N: usize>(parts: [f64; N]) -> f64 {
    parts.iter().map(|part| part * part).sum::<f64>().sqrt()
}

/// The widest estimate that agrees with the narrower ones, its half-width, and where it is.
#[inline(always)]
fn choose(simd: impl Simd, view: &View<'_>) -> (Estimate, usize, usize) {
    let band = view.top * (1.0 - PEAK_BAND) - 4.0 * view.noise;
    let band = band as f32;
    let part = &view.smooth[view.first..=view.last];
    let ends = first_at_least(simd, part, band).zip(last_at_least(simd, part, band));
    let ends =
        ends.map_or((view.top_at, view.top_at), |(from, to)| (view.first + from, view.first + to));
    let smooth = &view.smooth[ends.0..=ends.1];
    let Some(places) = places(ends) else {
        let (at, highest) = highest_at(simd, &view.raw[ends.0..=ends.1]);
        let one = (view.noise, f64::from(highest));
        let [near] = counts_at_least(simd, smooth, &[rival(view, one)]);
        return (unbiased(&WEIGHTS[0], one, near), 0, ends.0 + at);
    };
    let widths = widths(view, &places);
    let highest = highest(simd, view, widths, places.clone(), band);
    let mut all = [(0.0, 0.0); HALF_WIDTHS.len()];
    let mut least = [f32::INFINITY; HALF_WIDTHS.len()];
    for (index, (weights, highest)) in widths.iter().zip(highest).enumerate() {
        let highest = if highest.is_finite() { highest } else { view.raw[view.top_at] };
        all[index] = (weights.sd(view), f64::from(highest));
        least[index] = rival(view, all[index]);
    }
    let near = counts_at_least(simd, smooth, &least);
    // Narrower estimates bound where the wider ones may lie.
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut chosen = (Estimate { nm: view.top, sd: view.noise }, &WEIGHTS[0], view.top as f32);
    for ((weights, one), near) in widths.iter().zip(all).zip(near) {
        let wider = unbiased(weights, one, near);
        if wider.nm < low || wider.nm > high {
            break;
        }
        low = low.max(wider.nm - ADMITTED_SPREADS * wider.sd);
        high = high.min(wider.nm + ADMITTED_SPREADS * wider.sd);
        chosen = (wider, weights, one.1 as f32);
    }
    let (estimate, weights, highest) = chosen;
    let at = place(simd, view, weights, places, band, highest).unwrap_or(view.top_at);
    (estimate, weights.half, at)
}

/// The places from the first to the last of these, and as many before them as make whole vectors, if there are
/// as many.
fn places((first, last): (usize, usize)) -> Option<Range<usize>> {
    let count = (last + 1 - first).next_multiple_of(TOGETHER);
    Some((last + 1).checked_sub(count)?..last + 1)
}

/// Those of the widths for which there are samples on either side of these places.
fn widths(view: &View<'_>, places: &Range<usize>) -> &'static [Weights] {
    let room = places.start.min(view.raw.len() - places.end);
    let fits = |half: usize| half <= room && view.seconds(2 * half) <= PEAK_WIDEST_S;
    let count = WEIGHTS.iter().take_while(|weights| weights.half == 0 || fits(weights.half));
    &WEIGHTS[..count.count()]
}

/// The highest value of a local parabola of each of these widths.
#[inline(always)]
fn highest(
    simd: impl Simd,
    view: &View<'_>,
    widths: &[Weights],
    places: Range<usize>,
    band: f32,
) -> [f32; HALF_WIDTHS.len()] {
    let none = f32x16::splat(simd, f32::NEG_INFINITY);
    let mut highest = [none; HALF_WIDTHS.len()];
    let (parts, _) = view.smooth[places.clone()].as_chunks::<TOGETHER>();
    for (at, part) in places.step_by(TOGETHER).zip(parts) {
        let near = vectors(simd, part).map(
            #[inline(always)]
            |nm| nm.simd_ge(band),
        );
        parabolas(
            simd,
            view.raw,
            at,
            widths,
            #[inline(always)]
            |width, values| {
                for (near, nm) in near.iter().zip(values) {
                    highest[width] = highest[width].max(near.select(nm, none));
                }
            },
        );
    }
    let mut all = [f32::NEG_INFINITY; HALF_WIDTHS.len()];
    for (one, highest) in all.iter_mut().zip(highest).take(widths.len()) {
        *one = highest.reduce_max();
    }
    all
}

/// From what torque on a sample has had a chance of being as high as the highest parabola of a width, whose spread
/// from noise comes before it.
fn rival(view: &View<'_>, (sd, highest): (f64, f64)) -> f32 {
    (highest - 2.0 * sd - view.smooth_noise) as f32
}

/// The highest value of a local parabola of this width, less what noise adds to it where so many samples have had a
/// chance.
fn unbiased(weights: &Weights, (sd, highest): (f64, f64), near: usize) -> Estimate {
    // As many of them were independent.
    let rivals = (near as f64 / (weights.half as f64 + 1.0)).max(1.0);
    Estimate { nm: highest - sd * PEAK_BIAS * expected_maximum(rivals), sd }
}

/// The first of these places at which a local parabola is as high as this.
#[inline(always)]
fn place(
    simd: impl Simd,
    view: &View<'_>,
    weights: &Weights,
    places: Range<usize>,
    band: f32,
    highest: f32,
) -> Option<usize> {
    let (parts, _) = view.smooth[places.clone()].as_chunks::<TOGETHER>();
    for (at, part) in places.step_by(TOGETHER).zip(parts) {
        let mut found = [0; VECTORS];
        parabolas(
            simd,
            view.raw,
            at,
            std::slice::from_ref(weights),
            #[inline(always)]
            |_, values| {
                for ((found, nm), smooth) in found.iter_mut().zip(values).zip(vectors(simd, part)) {
                    *found = (smooth.simd_ge(band) & nm.simd_ge(highest)).to_bitmask();
                }
            },
        );
        if let Some(vector) = found.iter().position(|found| *found != 0) {
            return Some(at + vector * LANES + found[vector].trailing_zeros() as usize);
        }
    }
    None
}

/// Tells `what` of the parabolas of each of these widths around as many places from `at` on: the sum of the
/// samples around each, and of them times the squares of how far off they are, grow with the width.
#[inline(always)]
fn parabolas<S: Simd>(
    simd: S,
    raw: &[f32],
    at: usize,
    widths: &[Weights],
    mut what: impl FnMut(usize, [f32x16<S>; VECTORS]),
) {
    let near = |from: usize| raw[from..].first_chunk().map(|near| vectors(simd, near));
    let Some(mut sums) = near(at) else { return };
    let mut squares = [f32x16::splat(simd, 0.0); VECTORS];
    let mut off = 0;
    for (width, weights) in widths.iter().enumerate() {
        while off < weights.half {
            off += 1;
            let Some((before, after)) = near(at - off).zip(near(at + off)) else { return };
            let square = (off * off) as f32;
            for vector in 0..VECTORS {
                let both = before[vector] + after[vector];
                sums[vector] += both;
                squares[vector] += both * square;
            }
        }
        let mut values = sums;
        for (value, squares) in values.iter_mut().zip(squares) {
            *value = *value * weights.level as f32 - squares * weights.bend as f32;
        }
        what(width, values);
    }
}

/// So many samples, in vectors.
#[inline(always)]
fn vectors<S: Simd>(simd: S, values: &[f32; TOGETHER]) -> [f32x16<S>; VECTORS] {
    let (vectors, _) = values.as_chunks::<LANES>();
    std::array::from_fn(
        #[inline(always)]
        |vector| f32x16::load_array_ref(simd, &vectors[vector]),
    )
}

/// What the value of a parabola is made of.
#[derive(Debug, Clone, Copy)]
struct Weights {
    half: usize,
    /// Weight of the sum of the samples.
    level: f64,
    /// Weight that is taken off: of the sum of the samples times the squares of how far off they are.
    bend: f64,
    /// The sum of the squares of what each sample weighs in all.
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
    /// Spread from noise, N·m.
    fn sd(&self, view: &View<'_>) -> f64 {
        view.noise * self.gain.sqrt()
    }

    const fn of(half: usize) -> Self {
        if half < 2 {
            return Self { half, level: 1.0, bend: 0.0, gain: 1.0 };
        }
        let h = half as f64;
        let scale = 1.0 / ((2.0 * h - 1.0) * (2.0 * h + 1.0) * (2.0 * h + 3.0));
        let level = 3.0 * (3.0 * h * h + 3.0 * h - 1.0) * scale;
        Self { half, level, bend: 15.0 * scale, gain: level }
    }
}

/// Expected maximum of so many standard normal values, to about 0.03 (after Blom, 1958).
fn expected_maximum(values: f64) -> f64 {
    if values <= 1.0 {
        return 0.0;
    }
    let p = (values - 0.375) / (values + 0.25);
    let t = (-2.0 * (1.0 - p).rough_ln()).sqrt();
    // Abramowitz and Stegun, 26.2.23.
    t - (2.515_517 + t * (0.802_853 + t * 0.010_328))
        / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308)))
}

/// How much higher torque may have been between the samples beside the highest, N·m: up to where the
/// lines of both sides meet.
fn between_samples(view: &View<'_>, at: usize) -> f64 {
    if at < 2 || at + 2 >= view.raw.len() {
        return 0.0;
    }
    let rising = view.raw_nm(at - 1) - view.raw_nm(at - 2);
    let falling = view.raw_nm(at + 1) - view.raw_nm(at + 2);
    let least = 4.0 * view.noise;
    if rising < least && falling < least {
        return 0.0;
    }
    let (rising, falling) = (rising.max(0.0), falling.max(0.0));
    // The lines raw[at-1] + rising·x and raw[at+1] - falling·(x-2) meet here; x in samples after at-1.
    if rising + falling <= 0.0 {
        return 0.0;
    }
    let x = ((view.raw_nm(at + 1) - view.raw_nm(at - 1) + 2.0 * falling) / (rising + falling))
        .clamp(0.0, 2.0);
    let meets = view.raw_nm(at - 1) + rising * x;
    (meets - view.raw_nm(at)).clamp(0.0, rising.max(falling))
}

/// Seconds around the highest sample for which torque stays within each of [`WITHIN`] of it.
#[inline(always)]
fn within(simd: impl Simd, view: &View<'_>, highest: usize) -> [f64; WITHIN.len()] {
    let raw = view.raw;
    let (mut first, mut last) = (highest, highest);
    let mut within = [0.0; WITHIN.len()];
    for (share, within) in WITHIN.iter().zip(&mut within) {
        let level = raw[highest] * (1.0 - share) as f32;
        let part = |inside: f32, outside: Option<&f32>| match outside {
            Some(outside) => (inside - level) / (inside - outside).max(1e-9),
            None => 0.0,
        };
        first = last_below(simd, &raw[..first], level).map_or(0, |below| below + 1);
        let after = &raw[last + 1..];
        last += first_below(simd, after, level).unwrap_or(after.len());
        let edges = part(raw[first], first.checked_sub(1).map(|at| &raw[at]))
            + part(raw[last], raw.get(last + 1));
        *within = ((last - first) as f64 + f64::from(edges)) * view.dt;
    }
    within
}

/// How far the samples before and after the highest lie below it, N·m, in order of time.
#[inline(always)]
fn around(view: &View<'_>, highest: usize) -> [f64; AROUND] {
    let mut below = [view.raw_nm(highest); AROUND];
    for (index, below) in below.iter_mut().enumerate() {
        // The highest itself lies between.
        let after = highest + index + usize::from(index >= AROUND / 2);
        let at = after.checked_sub(AROUND / 2);
        *below -= at.and_then(|at| view.raw.get(at)).copied().map_or(0.0, f64::from);
    }
    below
}

/// Smallest step between neighbouring samples of the rise, N·m: what the adapter resolves.
#[inline(always)]
fn quantum(simd: impl Simd, view: &View<'_>) -> f64 {
    let least = f64::from(least_step(simd, &view.raw[view.first..=view.top_at], 1e-9));
    if least.is_finite() { least.min(view.noise * 3.0) } else { 0.0 }
}
