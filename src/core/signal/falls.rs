//! Falls of torque on the way: clicks, break-aways, slips, saw-teeth, blows.

use super::constants::{
    BREAK_LEAST, BREAK_MOST, BREAK_MOST_S, CLICK_LEAST, CLICK_MOST, CLICK_MOST_S, CLICK_RATE_HZ,
    FALL_NOISES, FALL_SHARE, GIVEN_NOISES, LEVEL_SLOPE_SHARE, ROUGH_FROM, SINKING_SPAN_S,
    TOOTH_LEAST, TOOTH_S, TOOTH_SAMPLES,
};
use super::description::{Give, GiveKind, LEVELS, Texture, twentieths};
use super::lanes::{WIDE, extremes, last_at_least, levers, wide};
use super::read::View;
use crate::core::units::Torque;
use fearless_simd::prelude::*;
use fearless_simd::{Simd, f32x16};

/// Falls kept; those beyond are only counted.
const KEPT: usize = 48;

#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Fall {
    pub from: usize,
    pub to: usize,
    /// Share of the torque at `from`.
    pub share: f64,
}

#[derive(Debug, Clone)]
pub(super) struct Falls {
    kept: [Fall; KEPT],
    len: usize,
    count: u32,
}

impl Falls {
    /// Every fall between rise and release from which torque came back.
    #[inline(always)]
    pub fn of(simd: impl Simd, view: &View<'_>) -> Self {
        let mut falls = Self { kept: [Fall::default(); KEPT], len: 0, count: 0 };
        let step = (FALL_SHARE * view.top).max(FALL_NOISES * view.noise) as f32;
        // What many samples at once must stay within: a thousandth is many times what rounding takes.
        let plain = step * 0.999;
        // The highest, and the lowest after it, each with a place from which on it is the first such.
        let mut high = (view.raw[view.first], view.first);
        let mut low: Option<(f32, usize)> = None;
        let mut at = view.first + 1;
        while at <= view.last {
            let (before, ahead) = (&view.raw[at - 1..view.last], &view.raw[at..=view.last]);
            if let (Some(before), Some(ahead)) = (before.first_chunk(), ahead.first_chunk()) {
                let goes_on = match &mut low {
                    None => {
                        let goes_on = high.0 - before[0] + down(simd, before, ahead) <= plain;
                        let highest = wide(simd, ahead).reduce_max();
                        if goes_on && highest > high.0 {
                            high = (highest, at);
                        }
                        goes_on
                    }
                    Some(low) => {
                        let goes_on = before[0] - low.0 + down(simd, ahead, before) <= plain;
                        let lowest = wide(simd, ahead).reduce_min();
                        if goes_on && lowest < low.0 {
                            *low = (lowest, at);
                        }
                        goes_on
                    }
                };
                if goes_on {
                    at += WIDE;
                    continue;
                }
            }
            let ahead = &ahead[..ahead.len().min(WIDE)];
            for (at, nm) in ahead.iter().enumerate().map(|(index, nm)| (at + index, *nm)) {
                match low {
                    None if nm > high.0 => high = (nm, at),
                    None if nm < high.0 - step => low = Some((nm, at)),
                    Some((lowest, _)) if nm < lowest => low = Some((nm, at)),
                    Some((lowest, from)) if nm > lowest + step => {
                        let first = |nm: f32, from: usize| {
                            let after = &view.raw[from..=view.last];
                            from + after.iter().position(|one| *one == nm).unwrap_or(0)
                        };
                        falls.add(view, first(high.0, high.1), first(lowest, from));
                        high = (nm, at);
                        low = None;
                    }
                    _ => {}
                }
            }
            at += ahead.len();
        }
        falls
    }

    fn add(&mut self, view: &View<'_>, from: usize, to: usize) {
        let high = view.raw_nm(from);
        if high <= 0.0 {
            return;
        }
        let share = 1.0 - view.raw_nm(to).max(0.0) / high;
        self.count += 1;
        if self.len < KEPT {
            self.kept[self.len] = Fall { from, to, share };
            self.len += 1;
        }
    }

    fn all(&self) -> &[Fall] {
        &self.kept[..self.len]
    }

    /// The largest fall, if it looks like one of a kind that is known.
    #[inline(always)]
    pub fn give(&self, simd: impl Simd, view: &View<'_>, sign: f64) -> Option<Give> {
        let fall = self.all().iter().max_by(|a, b| a.share.total_cmp(&b.share))?;
        let lasted = view.seconds(fall.to - fall.from);
        let torque = view.raw_nm(fall.from);
        let (_, again) = extremes(simd, &view.raw[fall.to..=view.last]);
        let comes_back = f64::from(again) > torque * (1.0 - fall.share / 2.0);
        let kind = if fall.share >= CLICK_LEAST
            && fall.share <= CLICK_MOST
            && lasted <= CLICK_MOST_S
            && view.dt <= 1.0 / CLICK_RATE_HZ
        {
            GiveKind::Click
        } else if fall.share >= BREAK_LEAST
            && fall.share <= BREAK_MOST
            && lasted <= BREAK_MOST_S
            && comes_back
        {
            GiveKind::BreakAway
        } else {
            return None;
        };
        let torque = Torque::from_nm(torque * sign);
        Some(Give { kind, torque, share: fall.share, fall_ms: lasted * 1e3 })
    }

    /// Falls as sudden as those of a thread that sticks and slips in turns, of at least this share.
    fn sudden(&self, view: &View<'_>, least: f64) -> u32 {
        let longest = view.samples(TOOTH_S).max(TOOTH_SAMPLES);
        let is_sudden = |fall: &&Fall| {
            let high = view.raw_nm(fall.from) > ROUGH_FROM * view.top;
            high && fall.share >= least && fall.to - fall.from <= longest
        };
        self.all().iter().filter(is_sudden).count() as u32
    }

    #[inline(always)]
    pub fn texture(&self, simd: impl Simd, view: &View<'_>) -> Texture {
        let all = self.all();
        let largest = all.iter().max_by(|a, b| a.share.total_cmp(&b.share));
        let usual = all.iter().map(|fall| fall.share).sum::<f64>() / all.len().max(1) as f64;
        let spaced = all.first().zip(all.last()).filter(|(first, last)| first.from < last.from);
        let falls_hz = spaced.map_or(0.0, |(first, last)| {
            (all.len() - 1) as f64 / view.seconds(last.from - first.from)
        });
        let (sinking_s, sunk) = sinking(view);
        let (plateau_slope, plateau_waver) = plateau(simd, view);
        let halves = top_halves(simd, view);
        let (roughness, given_back) = roughness(simd, view);
        Texture {
            falls: self.count,
            largest_fall: largest.map_or(0.0, |fall| fall.share),
            largest_fall_ms: largest.map_or(0.0, |fall| view.seconds(fall.to - fall.from) * 1e3),
            usual_fall: usual,
            falls_hz,
            teeth: self.sudden(view, TOOTH_LEAST),
            roughness,
            level_s: level(simd, view),
            sinking_s,
            sunk,
            sudden: self.sudden(view, 0.0),
            given_back,
            plateau_slope,
            plateau_waver,
            top_slope: halves.map(|(slope, _)| slope),
            top_waver: halves.map(|(_, waver)| waver),
        }
    }
}

/// How far it is down from each of these to its counterpart, all in all.
#[inline(always)]
fn down(simd: impl Simd, from: &[f32; WIDE], to: &[f32; WIDE]) -> f32 {
    (wide(simd, from) - wide(simd, to)).max(0.0).reduce_sum()
}

/// Root mean square of the second differences, and what torque fell from sample to sample, each as a share of the
/// peak and less what noise makes of it.
#[inline(always)]
fn roughness(simd: impl Simd, view: &View<'_>) -> (f64, f64) {
    let (least, noise) = ((ROUGH_FROM * view.top) as f32, (GIVEN_NOISES * view.noise) as f32);
    let from = view.reached[twentieths(8)].max(1);
    let to = view.release.min(view.raw.len() - 1);
    let Some(middle) = view.raw.get(from..to) else { return (0.0, 0.0) };
    let (before, after) = (&view.raw[from - 1..to - 1], &view.raw[from + 1..=to]);
    let ((before, before_rest), (middle, middle_rest), (after, after_rest)) =
        (before.as_chunks::<WIDE>(), middle.as_chunks::<WIDE>(), after.as_chunks::<WIDE>());
    let (none, one) = (f32x16::splat(simd, 0.0), f32x16::splat(simd, 1.0));
    let (mut bends, mut given, mut counts) = (none, none, none);
    for ((before, nm), after) in before.iter().zip(middle).zip(after) {
        let (before, nm, after) = (wide(simd, before), wide(simd, nm), wide(simd, after));
        let high = nm.simd_gt(least);
        let bend = high.select(after - nm * 2.0 + before, none);
        bends += bend * bend;
        given += high.select((nm - after - noise).max(none), none);
        counts += high.select(one, none);
    }
    let (mut bends, mut given) = (bends.reduce_sum(), given.reduce_sum());
    let mut count = counts.reduce_sum();
    for ((before, nm), after) in before_rest.iter().zip(middle_rest).zip(after_rest) {
        if *nm > least {
            let bend = after - 2.0 * nm + before;
            bends += bend * bend;
            given += (nm - after - noise).max(0.0);
            count += 1.0;
        }
    }
    let (bends, given, count) = (f64::from(bends), f64::from(given), f64::from(count));
    // Independent noise of three samples, with weights 1, 2 and 1.
    let noise = 6.0 * view.noise * view.noise;
    let rough = if count > 0.0 { (bends / count - noise).max(0.0).sqrt() } else { 0.0 };
    (rough / view.top, given / view.top)
}

/// Longest time that torque stood nearly still above half of the peak, seconds.
#[inline(always)]
fn level(simd: impl Simd, view: &View<'_>) -> f64 {
    let span = view.samples(SINKING_SPAN_S).max(1);
    let most = (LEVEL_SLOPE_SHARE * view.top * view.seconds(span)) as f32;
    let half = (0.5 * view.top) as f32;
    let (mut run, mut longest) = (0_usize, 0_usize);
    // Below half of the peak, nothing counts.
    let from = view.reached[twentieths(10)];
    let now = view.smooth.get(from..=view.release.saturating_sub(span)).unwrap_or_default();
    let then = &view.smooth[(from + span).min(view.last)..];
    let count = now.len().min(then.len());
    let (now, rest) = now[..count].as_chunks::<WIDE>();
    let (then, rest_then) = then[..count].as_chunks::<WIDE>();
    for (now, then) in now.iter().zip(then) {
        let still = standing(simd, now, then, most, half);
        if still.count_ones() as usize == WIDE {
            run += WIDE;
            longest = longest.max(run);
        } else if still == 0 {
            run = 0;
        } else {
            longest = longest.max(run + still.trailing_ones() as usize).max(longest_run(still));
            run = (still << (u64::BITS as usize - WIDE)).leading_ones() as usize;
        }
    }
    for (now, then) in rest.iter().zip(rest_then) {
        run = if (then - now).abs() < most && *now > half { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    if longest == 0 { 0.0 } else { view.seconds(longest + span) }
}

/// The most ones in a row.
#[inline(always)]
fn longest_run(mut bits: u64) -> usize {
    let mut longest = 0;
    while bits != 0 {
        bits &= bits << 1;
        longest += 1;
    }
    longest
}

/// Which of these torques are above `half`, and those after them nearer to them than `most`; the first in the
/// lowest bit.
#[inline(always)]
fn standing(simd: impl Simd, now: &[f32; WIDE], then: &[f32; WIDE], most: f32, half: f32) -> u64 {
    let (now, then) = (wide(simd, now), wide(simd, then));
    ((then - now).abs().simd_lt(most) & now.simd_gt(half)).to_bitmask()
}

/// Slope of the line through torque from 90 % of the peak to the release, in peaks a second, and the root
/// mean square of what is left, as a share of the peak.
#[inline(always)]
fn plateau(simd: impl Simd, view: &View<'_>) -> (f64, f64) {
    let from = view.reached[twentieths(18)];
    line(simd, view, view.smooth.get(from..=view.release).unwrap_or_default())
}

/// The same of the first and of the second half of the time above 95 % of the peak: a joint that yields
/// turns on and gains a little, a hand that holds gains nothing.
#[inline(always)]
fn top_halves(simd: impl Simd, view: &View<'_>) -> [(f64, f64); 2] {
    let from = view.reached[twentieths(19)];
    let until = view.smooth.get(from..=view.release).unwrap_or_default();
    let least = (LEVELS[twentieths(19)] * view.top) as f32;
    let to = last_at_least(simd, until, least).map_or(0, |last| last + 1);
    let (first, second) = until[..to].split_at(to / 2);
    [line(simd, view, first), line(simd, view, second)]
}

/// Slope of the line through this part of the torque, in peaks a second, and the root mean square of what
/// is left, as a share of the peak.
#[inline(always)]
fn line(simd: impl Simd, view: &View<'_>, part: &[f32]) -> (f64, f64) {
    let count = part.len() as f64;
    if part.len() < 3 {
        return (0.0, 0.0);
    }
    let (sum, squares, lever) = levers(simd, part, view.top as f32);
    // The sum of the squares of the places from their middle.
    let places = count * (count * count - 1.0) / 12.0;
    let slope = lever / places;
    let left = (squares - sum * sum / count - slope * lever).max(0.0) / count;
    (slope / view.dt / view.top, left.sqrt() / view.top)
}

/// How long, and by what share, torque sank between the peak and the release.
fn sinking(view: &View<'_>) -> (f64, f64) {
    let lasted = view.seconds(view.release - view.top_at);
    (lasted, (1.0 - view.smooth_nm(view.release) / view.top).clamp(0.0, 1.0))
}
