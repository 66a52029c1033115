//! Falls of torque on the way: clicks, break-aways, slips, saw-teeth, blows.

use super::constants::{
    BREAK_LEAST, BREAK_MOST, BREAK_MOST_S, CLICK_LEAST, CLICK_MOST, CLICK_MOST_S, CLICK_RATE_HZ,
    FALL_NOISES, FALL_SHARE, LEVEL_SLOPE_SHARE, ROUGH_FROM, SINKING_SPAN_S, TOOTH_LEAST, TOOTH_S,
    TOOTH_SAMPLES,
};
use super::description::{Give, GiveKind, Texture};
use super::read::View;
use crate::core::units::Torque;

/// Falls kept; those beyond are only counted.
const KEPT: usize = 48;

#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Fall {
    pub from: usize,
    pub to: usize,
    /// Share of the torque at `from`.
    pub share: f64,
    /// Highest torque after it, before the next fall.
    pub again: f64,
}

#[derive(Debug, Clone)]
pub(super) struct Falls {
    kept: [Fall; KEPT],
    len: usize,
    count: u32,
}

impl Falls {
    /// Every fall between rise and release from which torque came back.
    pub fn of(view: &View<'_>) -> Self {
        let mut falls = Self { kept: [Fall::default(); KEPT], len: 0, count: 0 };
        let step = (FALL_SHARE * view.top).max(FALL_NOISES * view.noise);
        let mut high = view.first;
        let mut low: Option<usize> = None;
        for at in view.first..=view.last {
            let nm = view.raw[at];
            match low {
                None if nm > view.raw[high] => high = at,
                None if nm < view.raw[high] - step => low = Some(at),
                Some(lowest) if nm < view.raw[lowest] => low = Some(at),
                Some(lowest) if nm > view.raw[lowest] + step => {
                    falls.add(view, high, lowest);
                    high = at;
                    low = None;
                }
                _ => {}
            }
        }
        falls
    }

    fn add(&mut self, view: &View<'_>, from: usize, to: usize) {
        let high = view.raw[from];
        if high <= 0.0 {
            return;
        }
        let share = 1.0 - view.raw[to].max(0.0) / high;
        self.count += 1;
        if self.len < KEPT {
            let after = &view.raw[to..=view.last];
            let again = after.iter().copied().fold(0.0, f64::max);
            self.kept[self.len] = Fall { from, to, share, again };
            self.len += 1;
        }
    }

    fn all(&self) -> &[Fall] {
        &self.kept[..self.len]
    }

    /// The largest fall, if it looks like one of a kind that is known.
    pub fn give(&self, view: &View<'_>, sign: f64) -> Option<Give> {
        let fall = self.all().iter().max_by(|a, b| a.share.total_cmp(&b.share))?;
        let lasted = view.seconds(fall.to - fall.from);
        let torque = view.raw[fall.from];
        let comes_back = fall.again > torque * (1.0 - fall.share / 2.0);
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

    /// Falls of a thread that sticks and slips in turns.
    fn teeth(&self, view: &View<'_>) -> u32 {
        let longest = view.samples(TOOTH_S).max(TOOTH_SAMPLES);
        let is_tooth = |fall: &&Fall| {
            let high = view.raw[fall.from] > ROUGH_FROM * view.top;
            high && fall.share >= TOOTH_LEAST && fall.to - fall.from <= longest
        };
        self.all().iter().filter(is_tooth).count() as u32
    }

    pub fn texture(&self, view: &View<'_>) -> Texture {
        let all = self.all();
        let largest = all.iter().max_by(|a, b| a.share.total_cmp(&b.share));
        let usual = all.iter().map(|fall| fall.share).sum::<f64>() / all.len().max(1) as f64;
        let spaced = all.first().zip(all.last()).filter(|(first, last)| first.from < last.from);
        let falls_hz = spaced.map_or(0.0, |(first, last)| {
            (all.len() - 1) as f64 / view.seconds(last.from - first.from)
        });
        let (sinking_s, sunk) = sinking(view);
        Texture {
            falls: self.count,
            largest_fall: largest.map_or(0.0, |fall| fall.share),
            largest_fall_ms: largest.map_or(0.0, |fall| view.seconds(fall.to - fall.from) * 1e3),
            usual_fall: usual,
            falls_hz,
            teeth: self.teeth(view),
            roughness: roughness(view),
            level_s: level(view),
            sinking_s,
            sunk,
        }
    }
}

/// Root mean square of the second differences, as a share of the peak, less what noise makes of it.
fn roughness(view: &View<'_>) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for at in view.first.max(1)..view.release.min(view.raw.len() - 1) {
        if view.raw[at] > ROUGH_FROM * view.top {
            sum += (view.raw[at + 1] - 2.0 * view.raw[at] + view.raw[at - 1]).powi(2);
            count += 1.0;
        }
    }
    // Independent noise of three samples, with weights 1, 2 and 1.
    let noise = 6.0 * view.noise * view.noise;
    if count > 0.0 { (sum / count - noise).max(0.0).sqrt() / view.top } else { 0.0 }
}

/// Longest time that torque stood nearly still above half of the peak, seconds.
fn level(view: &View<'_>) -> f64 {
    let span = view.samples(SINKING_SPAN_S).max(1);
    let most = LEVEL_SLOPE_SHARE * view.top * view.seconds(span);
    let (mut run, mut longest) = (0_usize, 0_usize);
    for at in view.first..=view.release.saturating_sub(span) {
        let still = (view.smooth[(at + span).min(view.last)] - view.smooth[at]).abs() < most;
        run = if still && view.smooth[at] > 0.5 * view.top { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    if longest == 0 { 0.0 } else { view.seconds(longest + span) }
}

/// How long, and by what share, torque sank between the peak and the release.
fn sinking(view: &View<'_>) -> (f64, f64) {
    let lasted = view.seconds(view.release - view.top_at);
    (lasted, (1.0 - view.smooth[view.release] / view.top).clamp(0.0, 1.0))
}
