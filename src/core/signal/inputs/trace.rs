//! What may be wrong with a pull shows in many figures; trees choose among them.

use super::row::Row;
use super::{fastest_pace, resolved_s, slowest_pace, took, upper_pace};
use crate::core::signal::constants::MISSED_SHARE;
use crate::core::signal::description::{Description, twentieths};

/// How many inputs tell what may be wrong with a pull by torque over time alone.
pub const TRACE: usize = OWN + HAND + CONTEXT;
/// The same with rotation: the former, and more.
pub const TRACE_TURNED: usize = TRACE + 22;

/// How many of them are of the pull itself, of how it stands to the hand's usual pace, and of what came before.
pub(super) const OWN: usize = 75;
pub(super) const HAND: usize = 3 + ALIKE;
const CONTEXT: usize = 6 + BEFORE;

/// Where a figure of a pull before is not known.
const UNTOLD: f64 = -1e3;

/// Bounds of the parts of a rise, in twentieths of the peak.
const PARTS: [usize; 14] = [1, 2, 3, 4, 6, 8, 10, 12, 14, 16, 17, 18, 19, 20];

/// Everything that may tell what is wrong with a pull. Trees ask only whether a figure is above a value:
/// logarithms would change nothing.
#[must_use]
pub fn trace(pull: &Description) -> [f64; TRACE] {
    let mut row = Row::<TRACE>::new();
    row.add(own(pull));
    row.add(hand(pull));
    row.add(context(pull));
    row.figures
}

/// What the pull itself shows.
pub(super) fn own(pull: &Description) -> [f64; OWN] {
    let (texture, seen) = (&pull.texture, &pull.seen);
    let peak = pull.peak.torque.nm().abs().max(0.1);
    let resolved = resolved_s(pull);
    let reached = &pull.rise.reached_s;
    let [high95, _, high80, _, half, tenth] = pull.fallen_s;
    let mut row = Row::<OWN>::new();
    row.add([
        texture.largest_fall,
        texture.largest_fall_ms,
        f64::from(texture.falls),
        texture.falls_hz,
        texture.usual_fall,
        f64::from(texture.teeth),
        f64::from(texture.sudden),
        texture.given_back,
        texture.roughness,
        texture.level_s,
        texture.sinking_s,
        texture.sunk,
        texture.plateau_slope,
        texture.plateau_waver,
        pull.duration_ms,
        seen.rate_hz,
        seen.noise_nm / peak,
        peak / seen.range_nm,
        pull.prevailing.map_or(0.0, |torque| torque.nm().abs() / peak),
    ]);
    // How long torque stood high, and where in that time the peak was.
    let above = |level: usize, fallen: f64| reached[twentieths(level)] + fallen;
    row.add([
        high80 - high95,
        half - high80,
        tenth - half,
        reached[twentieths(20)],
        reached[twentieths(19)],
        above(19, high95),
        above(18, pull.fallen_s[1]),
        above(16, high80),
        above(10, half),
        reached[twentieths(18)] / (above(18, pull.fallen_s[1]) + resolved),
        took(pull, 1, 18),
    ]);
    // The pace of each part of the rise, set against the whole.
    let whole = (took(pull, 4, 18) + resolved) / 14.0;
    let mut paces = [0.0; PARTS.len() - 1];
    for (pace, part) in paces.iter_mut().zip(PARTS.windows(2)) {
        let levels = if part[1] == 20 { 0.6 } else { (part[1] - part[0]) as f64 };
        *pace = (took(pull, part[0], part[1]) + resolved) / levels / whole;
    }
    row.add([whole]);
    row.add(paces);
    row.add(sharpest_bends(pull, resolved));
    row.add(top(pull, took(pull, 8, 16)));
    row.add(near_peak(pull, peak));
    row.figures
}

fn untold(figure: Option<f64>) -> f64 {
    figure.unwrap_or(UNTOLD)
}

/// Its pace beside what is usual of this hand.
pub(super) fn hand(pull: &Description) -> [f64; HAND] {
    let among = &pull.among;
    let mut row = Row::<HAND>::new();
    row.add([
        untold(among.to_turning_pace),
        untold(among.to_tight_pace),
        untold(among.to_fastest_pace),
    ]);
    row.add(alike(pull));
    row.figures
}

/// What came before it, and when.
fn context(pull: &Description) -> [f64; CONTEXT] {
    let among = &pull.among;
    let mut row = Row::<CONTEXT>::new();
    row.add([
        untold(among.to_highest),
        untold(among.after_s),
        untold(among.to_before),
        among.seemed_turning,
        among.seemed_tight,
        untold(among.before_tight),
    ]);
    row.add(before(pull));
    row.figures
}

/// How many of them tell of the pull before.
const BEFORE: usize = 12;

/// The pull before, which may have been on the same fastener.
fn before(pull: &Description) -> [f64; BEFORE] {
    let Some(before) = pull.among.before else { return [UNTOLD; BEFORE] };
    let [foot, upper, top, fastest, slowest] = before.paces;
    [
        foot,
        upper,
        top,
        fastest,
        slowest,
        before.held_s,
        before.level_s,
        before.sinking_s,
        before.plateau_slope,
        before.plateau_waver,
        before.roughness,
        before.given_back,
    ]
}

/// How many of them tell of the pulls before to about the same torque.
const ALIKE: usize = 21;

/// What is usual of the hand against this kind of joint: its pace where they turned and where they did not.
fn alike(pull: &Description) -> [f64; ALIKE] {
    let Some(alike) = pull.among.alike else { return [UNTOLD; ALIKE] };
    let (upper, fastest, slowest) = (upper_pace(pull), fastest_pace(pull), slowest_pace(pull));
    let [to_shortest, to_middle, to_longest] = alike.upper;
    let [fastest_to_shortest, fastest_to_middle] = alike.fastest;
    let [slowest_to_middle, slowest_to_longest] = alike.slowest;
    let [foot_to_shortest, foot_to_middle, foot_to_longest] = alike.foot;
    let [top_to_middle, top_to_longest] = alike.top;
    let [held_to_middle, held_to_longest] = alike.held;
    [
        f64::from(alike.count),
        alike.peak[0],
        alike.peak[1],
        to_shortest,
        to_middle,
        to_longest,
        fastest_to_shortest,
        fastest_to_middle,
        slowest_to_middle,
        slowest_to_longest,
        // The upper part beside what stood still, and beside what turned, of those before.
        upper / fastest * fastest_to_shortest,
        upper / fastest * fastest_to_middle,
        upper / slowest * slowest_to_middle,
        upper / slowest * slowest_to_longest,
        foot_to_shortest,
        foot_to_middle,
        foot_to_longest,
        top_to_middle,
        top_to_longest,
        held_to_middle,
        held_to_longest,
    ]
}

/// How torque goes on at the top, beside how it rose: `rose_s` is what two fifths of the peak took.
fn top(pull: &Description, rose_s: f64) -> [f64; 8] {
    let ([first, second], [first_waver, second_waver]) =
        (pull.texture.top_slope, pull.texture.top_waver);
    let peak_s = rose_s / 0.4;
    [
        first,
        second,
        first * peak_s,
        second * peak_s,
        (first - second) * peak_s,
        first_waver,
        second_waver,
        pull.seen.rate_hz * (pull.rise.reached_s[twentieths(19)] + pull.fallen_s[0]),
    ]
}

/// Where the rise bends most towards a steeper and towards a flatter one: seconds of a tenth of the peak
/// as a ratio to those of the tenth after it, and at which level.
fn sharpest_bends(pull: &Description, resolved: f64) -> [f64; 4] {
    let (mut steeper, mut flatter) = ((0.0, 0), (f64::INFINITY, 0));
    for level in 3..=16 {
        let before = took(pull, level - 2, level) + resolved;
        let after = took(pull, level, level + 2) + resolved;
        let ratio = before / after;
        if ratio > steeper.0 {
            steeper = (ratio, level);
        }
        if ratio < flatter.0 {
            flatter = (ratio, level);
        }
    }
    [steeper.0, steeper.1 as f64, flatter.0, flatter.1 as f64]
}

/// How sharp the peak is against the time between samples. Lines through the samples beside the highest
/// meet at what the true peak may have been, a parabola through the three highest at what it is if it is
/// round.
fn near_peak(pull: &Description, peak: f64) -> [f64; 19] {
    let rate_hz = pull.seen.rate_hz;
    let around = pull.peak.around_nm.map(|nm| nm / peak);
    let [_, second, before, after, next, _] = around;
    let [closest, close, near] = pull.peak.within_s.map(|seconds| seconds * rate_hz);
    let least = 1e-4;
    let rising = (second - before).max(least);
    let falling = (next - after).max(least);
    // Where both lines meet, in samples after the highest, and how far above it.
    let meet = ((before - after + falling - rising) / (rising + falling)).clamp(-1.0, 1.0);
    let above = (rising * (1.0 + meet) - before).clamp(0.0, rising.max(falling));
    let top = MISSED_SHARE * (1.0 + above);
    let curved = (before + after).max(2.0 * least) / 2.0;
    let steep = pull.rise.slope_nm_per_s / rate_hz / peak;
    [
        closest,
        close,
        near,
        top / rising + top / falling,
        top / rising.max(before) + top / falling.max(after),
        2.0 * (MISSED_SHARE / curved).sqrt(),
        above,
        around[0],
        second,
        before,
        after,
        next,
        around[5],
        before.min(after),
        before.max(after),
        rising,
        falling,
        pull.peak.rate_nm / peak,
        steep,
    ]
}

/// The same with rotation.
#[must_use]
pub fn trace_turned(pull: &Description, trace: &[f64; TRACE]) -> Option<[f64; TRACE_TURNED]> {
    let turned = pull.turned?;
    let peak = pull.peak.torque.nm().abs().max(0.1);
    let at = |level: usize| turned.reached_deg[twentieths(level)];
    let least = 0.3;
    // Degrees a twentieth of the peak; in the middle, that is the linear part.
    let gait = |from: usize, to: usize| (at(to) - at(from)).max(0.0) / (to - from) as f64;
    let linear = gait(10, 16) + least / 6.0;
    let mut row = Row::<TRACE_TURNED>::new();
    row.add(*trace);
    row.add([
        turned.deg,
        turned.foot_deg,
        turned.early_deg,
        turned.upper_deg,
        turned.late_deg,
        turned.after_deg,
        turned.near_deg,
        turned.let_go_deg,
        turned.began_share,
        turned.wind_up_deg_per_nm * peak,
        gait(1, 3) / linear,
        gait(3, 6) / linear,
        gait(6, 10) / linear,
        gait(16, 19) / linear,
        gait(16, 18) / (gait(8, 14) + least / 6.0),
        linear,
        turned.near_deg / linear,
        (turned.near_deg + turned.after_deg) / (at(16) - at(4)).max(least),
        pull.among.to_usual_slope.unwrap_or(UNTOLD),
        pull.among.before.and_then(|before| before.upper_deg).unwrap_or(UNTOLD),
        pull.among.before.and_then(|before| before.late_deg).unwrap_or(UNTOLD),
        peak / linear,
    ]);
    Some(row.figures)
}
