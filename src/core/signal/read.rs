//! From the samples of one pull to what is said of it.

use super::acts;
use super::block::Source;
use super::constants::{
    KNOCK_S, LEAST_STARTS, LET_GO_S, REST_LEVEL_SHARE, REST_S, REST_SHARE_OF_RANGE, SMOOTH_S,
    STRETCH_SAMPLES, VALLEY_S, VALLEY_SHARE,
};
use super::description::{Among, Description, Flags, LEVELS, Seen, twentieths};
use super::falls::Falls;
use super::finder::Found;
use super::flags;
use super::judges::Judges;
use super::lanes::{WIDE, extremes, first_at_least, higher, highest_at, last_at_least, lower};
use super::memory::Memory;
use super::peak;
use super::rise;
use super::turning;
use crate::core::time::Stamp;
use crate::core::units::Torque;
use fearless_simd::prelude::*;
use fearless_simd::{Level, Simd, dispatch, f32x16};

/// What is known beside the samples.
#[derive(Debug, Clone, Copy)]
pub(super) struct Context {
    /// +1 for clockwise.
    pub sign: f64,
    pub rate_hz: f64,
    /// Time of the last sample.
    pub last_at: Stamp,
    pub source: Source,
    pub range_nm: f64,
    pub start_nm: f64,
    pub zero_nm: f64,
    pub zero_sd_nm: f64,
    pub noise_nm: f64,
    pub missing: u32,
    pub saturated: u32,
}

/// One pull, ready to be measured. Torque is along the pull, zero taken off.
#[derive(Debug, Clone, Copy)]
pub(super) struct View<'a> {
    pub raw: &'a [f32],
    /// The same, averaged over [`SMOOTH_S`].
    pub smooth: &'a [f32],
    pub turned: Option<&'a [f64]>,
    /// Seconds between samples.
    pub dt: f64,
    /// Noise of a raw and of a smooth sample, N·m.
    pub noise: f64,
    pub smooth_noise: f64,
    /// Highest smooth torque, and where it is.
    pub top: f64,
    pub top_at: usize,
    /// First and last place above a tenth of the top.
    pub first: usize,
    pub last: usize,
    /// First place at which each of [`LEVELS`] was reached.
    pub reached: [usize; LEVELS.len()],
    /// Where the final release begins.
    pub release: usize,
}

#[derive(Debug, Clone)]
pub(super) struct Reader {
    level: Level,
    smooth: Box<[f32]>,
    memory: Memory,
    judges: &'static Judges,
}

impl Reader {
    pub fn new() -> Self {
        Self {
            level: Level::new(),
            smooth: vec![0.0; STRETCH_SAMPLES].into_boxed_slice(),
            memory: Memory::default(),
            judges: Judges::fitted(),
        }
    }

    /// The stream begins anew: nothing before is of the same hand.
    pub fn forget(&mut self) {
        self.memory.forget();
    }

    pub fn read(
        &mut self,
        torque: &[f32],
        turned: Option<&[f64]>,
        context: &Context,
        found: &mut dyn FnMut(Found),
    ) {
        dispatch!(self.level, simd => self.read_all(simd, torque, turned, context, found));
    }

    #[inline(always)]
    fn read_all(
        &mut self,
        simd: impl Simd,
        torque: &[f32],
        turned: Option<&[f64]>,
        context: &Context,
        found: &mut dyn FnMut(Found),
    ) {
        let half = (SMOOTH_S * context.rate_hz / 2.0) as usize;
        smooth(simd, torque, half, &mut self.smooth[..torque.len()]);
        let mut from = 0;
        while from < torque.len() {
            let to = from + next_valley(simd, &self.smooth[from..torque.len()], context).max(1);
            let part = from..to;
            let after = torque.len() - to;
            let last_at = context.last_at + -(after as f64) / context.rate_hz;
            let context = Context { last_at, ..*context };
            let view = View::new(
                simd,
                &torque[part.clone()],
                &self.smooth[part.clone()],
                turned.map(|turned| &turned[part.clone()]),
                half,
                &context,
            );
            judge(simd, &view, &context, &mut self.memory, self.judges, found);
            from = to;
        }
    }
}

impl<'a> View<'a> {
    #[inline(always)]
    fn new(
        simd: impl Simd,
        raw: &'a [f32],
        smooth: &'a [f32],
        turned: Option<&'a [f64]>,
        half: usize,
        context: &Context,
    ) -> Self {
        let (top_at, top) = highest_at(simd, smooth);
        let top = f64::from(top);
        let tenth = (0.1 * top) as f32;
        let reached = rise::reached(simd, smooth, top_at, top);
        let last = last_at_least(simd, smooth, tenth).unwrap_or(0);
        let noise = context.noise_nm.max(1e-6);
        let dt = 1.0 / context.rate_hz;
        let mut view = Self {
            raw,
            smooth,
            turned,
            dt,
            noise,
            smooth_noise: noise / ((2 * half + 1) as f64).sqrt(),
            top,
            top_at,
            first: reached[twentieths(2)],
            last,
            reached,
            release: last,
        };
        view.release = rise::release(&view);
        view
    }

    /// What was measured, N·m.
    pub fn raw_nm(&self, at: usize) -> f64 {
        f64::from(self.raw[at])
    }

    /// What was measured around it, N·m.
    pub fn smooth_nm(&self, at: usize) -> f64 {
        f64::from(self.smooth[at])
    }

    pub fn seconds(&self, samples: usize) -> f64 {
        samples as f64 * self.dt
    }

    pub fn samples(&self, seconds: f64) -> usize {
        (seconds / self.dt).round() as usize
    }
}

#[inline(always)]
fn judge(
    simd: impl Simd,
    view: &View<'_>,
    context: &Context,
    memory: &mut Memory,
    judges: &Judges,
    found: &mut dyn FnMut(Found),
) {
    let time = |index: f64| {
        let back = (view.raw.len() as f64 - 1.0 - index) * view.dt;
        context.last_at + -back
    };
    if is_knock(view, context) {
        let torque = Torque::from_nm(view.top * context.sign);
        found(Found::Knock { at: time(view.top_at as f64), torque });
        return;
    }
    let falls = Falls::of(simd, view);
    let turns = turning::measure(view, context);
    let rise = rise::measure(simd, view, turns.as_ref());
    let peak = peak::estimate(simd, view, context, &time);
    let snug = rise::snug(simd, view, &time, context.sign);
    let mut pull = Description {
        from: time(view.first as f64),
        to: time(view.last as f64),
        peak,
        duration_ms: view.seconds(view.last - view.first) * 1e3,
        rotation_deg: view.turned.map(|deg| (deg[view.last] - deg[view.first]) * context.sign),
        rise,
        fallen_s: rise::fallen(simd, view),
        snug,
        prevailing: rise::prevailing(simd, view).map(|nm| Torque::from_nm(nm * context.sign)),
        give: falls.give(simd, view, context.sign),
        turned: turns,
        texture: falls.texture(simd, view),
        act: acts::UNKNOWN,
        flags: Flags::default(),
        seen: Seen {
            rate_hz: context.rate_hz,
            samples: (view.last - view.first + 1) as u32,
            missing: context.missing,
            saturated: context.saturated,
            range_nm: context.range_nm,
            zero_nm: context.zero_nm,
            noise_nm: context.noise_nm,
        },
        among: Among::default(),
    };
    let ln_shape = acts::by_shape(&pull);
    pull.among = memory.place(simd, &pull, acts::probability(ln_shape));
    let judged = judges.judge(simd, &pull, ln_shape);
    pull.flags = flags::judge(&pull, &judged);
    pull.act = acts::judge(simd, &pull, ln_shape, &judged, judges);
    found(Found::Pull(pull));
}

#[inline(always)]
fn is_knock(view: &View<'_>, context: &Context) -> bool {
    let lasted = view.seconds(view.last - view.first);
    if view.top < context.start_nm * LEAST_STARTS || lasted < KNOCK_S {
        return true;
    }
    if view.top >= context.range_nm * REST_SHARE_OF_RANGE {
        return false;
    }
    let standing = view.smooth.iter().filter(|nm| f64::from(**nm) > view.top * 0.75).count();
    let level = view.seconds(standing);
    level > REST_S && level > lasted * REST_LEVEL_SHARE
}

/// Where the next hump begins, or the end.
#[inline(always)]
fn next_valley(simd: impl Simd, smooth: &[f32], context: &Context) -> usize {
    // What comes before the first hump is its lead, and after the last one nothing follows.
    let (start_nm, hump_nm) = (context.start_nm as f32, (context.start_nm * LEAST_STARTS) as f32);
    let Some(ended) = last_at_least(simd, smooth, hump_nm.next_up()) else { return smooth.len() };
    let from = first_at_least(simd, &smooth[..=ended], start_nm).unwrap_or(ended);
    if !rises_again(simd, &smooth[from..=ended], hump_nm, start_nm) {
        return smooth.len();
    }
    let wide = (VALLEY_S * context.rate_hz) as usize;
    let let_go = (LET_GO_S * context.rate_hz) as usize;
    let (mut before, mut bottom) = (0.0_f32, (0, f32::INFINITY));
    // Samples since torque was last near the hump, until it was at the valley, and below half of it.
    let (mut since, mut fell, mut below) = (0, 0, 0);
    for (index, nm) in smooth[..=ended].iter().copied().enumerate().skip(from) {
        let deep = before > start_nm && bottom.1 < before * VALLEY;
        if deep && below >= wide && fell >= let_go {
            let hump = nm > bottom.1 / VALLEY && nm > hump_nm;
            if hump && nm > bottom.1 + start_nm {
                return bottom.0;
            }
        }
        since = if nm >= before * NEAR_HUMP { 0 } else { since + 1 };
        if nm >= before * 0.5 {
            before = before.max(nm);
            bottom = (index, f32::INFINITY);
            below = 0;
        } else {
            below += 1;
            if !deep {
                fell = since;
            }
            if nm < bottom.1 {
                bottom = (index, nm);
            }
        }
    }
    smooth.len()
}

/// False if torque plainly never rises again from as deep as a valley: most pulls have one hump.
#[inline(always)]
fn rises_again(simd: impl Simd, smooth: &[f32], hump_nm: f32, start_nm: f32) -> bool {
    let (mut most, mut bottom) = (0.0, f32::INFINITY);
    for part in smooth.chunks(WIDE) {
        let (low, high) = extremes(simd, part);
        let out_of = |bottom: f32, nm: f32| nm > hump_nm && nm > bottom + start_nm;
        if low >= higher(most, high) * VALLEY && !out_of(bottom, high) {
            most = higher(most, high);
            continue;
        }
        for nm in part {
            if out_of(bottom, *nm) && *nm > bottom / VALLEY {
                return true;
            }
            most = higher(most, *nm);
            if *nm < most * VALLEY {
                bottom = lower(bottom, *nm);
            }
        }
    }
    false
}

/// Share of a hump near which torque has not begun to fall.
const NEAR_HUMP: f32 = 0.8;
/// Share of it that a valley is below.
const VALLEY: f32 = VALLEY_SHARE as f32;

/// A centred average of `2 half + 1` values, narrower at the ends.
#[inline(always)]
fn smooth(simd: impl Simd, from: &[f32], half: usize, to: &mut [f32]) {
    match half {
        0 => to.copy_from_slice(from),
        1 => average::<1>(simd, from, to),
        2 => average::<2>(simd, from, to),
        3 => average::<3>(simd, from, to),
        4 => average::<4>(simd, from, to),
        5 => average::<5>(simd, from, to),
        6 => average::<6>(simd, from, to),
        7 => average::<7>(simd, from, to),
        8 => average::<8>(simd, from, to),
        // From here on, going on from the sum before is faster than adding anew.
        _ => slide(from, half, to),
    }
}

/// Averages worked out together.
const TOGETHER: usize = WIDE;

/// The same of a few values, each average by itself.
#[inline(always)]
fn average<const HALF: usize>(simd: impl Simd, from: &[f32], to: &mut [f32]) {
    let mut at = HALF.min(from.len());
    let single = |at: usize| {
        let part = &from[at.saturating_sub(HALF)..(at + HALF + 1).min(from.len())];
        part.iter().sum::<f32>() / part.len() as f32
    };
    for (at, average) in to[..at].iter_mut().enumerate() {
        *average = single(at);
    }
    while at + TOGETHER + HALF <= from.len() {
        averages::<HALF>(simd, from, at, to);
        at += TOGETHER;
    }
    // Those that are left, some of them once more.
    if let Some(first) = from.len().checked_sub(TOGETHER + HALF).filter(|first| *first >= HALF) {
        averages::<HALF>(simd, from, first, to);
        at = first + TOGETHER;
    }
    for (off, average) in to[at..].iter_mut().enumerate() {
        *average = single(at + off);
    }
}

/// As many averages as are worked out together, from this place on.
#[inline(always)]
fn averages<const HALF: usize>(simd: impl Simd, from: &[f32], at: usize, to: &mut [f32]) {
    let mut sums = f32x16::splat(simd, 0.0);
    for first in at - HALF..=at + HALF {
        sums += f32x16::from_slice(simd, &from[first..first + TOGETHER]);
    }
    (sums * (1.0 / (2 * HALF + 1) as f32)).store_slice(&mut to[at..at + TOGETHER]);
}

/// The same of many values, each sum from the one before.
fn slide(from: &[f32], half: usize, to: &mut [f32]) {
    let mut sum: f64 = from.iter().take(half).map(|nm| f64::from(*nm)).sum();
    let whole = 1.0 / (2 * half + 1) as f64;
    for (index, average) in to.iter_mut().enumerate() {
        if let Some(entering) = from.get(index + half) {
            sum += f64::from(*entering);
        }
        if let Some(leaving) = index.checked_sub(half + 1) {
            sum -= f64::from(from[leaving]);
        }
        let low = index.saturating_sub(half);
        let high = (index + half).min(from.len() - 1);
        let count = high - low;
        let share = if count == 2 * half { whole } else { 1.0 / (count + 1) as f64 };
        *average = (sum * share) as f32;
    }
}
