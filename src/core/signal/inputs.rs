//! What the probabilities are made from: few figures of a description, each with a meaning.

mod row;
mod standing;
mod trace;

pub(super) use standing::beyond;
pub use standing::{STANDING, STOOD, standing, stood};
pub use trace::{TRACE, TRACE_TURNED, trace, trace_turned};

use super::constants::{
    BEGAN_LATE, BEGAN_LATE_SPREAD, LEAST_S, MOST_SHAPE, QUICK_S, QUICK_SPREAD_S, RISING_LN,
    SAME_LN, SNATCH_S, SOON_S, TURNED_LN_DEG, USUAL_DOUBT,
};
use super::description::{Description, WindUpFrom, twentieths};
use super::rough::Rough;

/// How many inputs tell an already tight fastener from a fresh one by torque over time alone.
pub const SHAPE: usize = 13;
/// The same with the pulls before.
pub const TIGHT: usize = 15;
/// The same with rotation.
pub const TURNED: usize = 8;
/// How many inputs tell a try.
pub const TRIAL: usize = 5;
/// How many inputs tell slips, saw-teeth and blows.
pub const TEXTURE: usize = 11;
/// Seconds between two levels, in twentieths of the peak.
fn took(pull: &Description, from: usize, to: usize) -> f64 {
    let at = |level: usize| pull.rise.reached_s[twentieths(level)];
    (at(from) - at(to)).max(0.0)
}

/// Seconds that the whole peak would take at the pace of this share of it.
fn pace(pull: &Description, from: usize, to: usize) -> f64 {
    (took(pull, from, to) + resolved_s(pull)) * (20.0 / (to - from) as f64)
}

fn ln_pace(pull: &Description, from: usize, to: usize) -> f64 {
    pace(pull, from, to).rough_ln()
}

/// A shorter time is not told from none.
pub(super) fn resolved_s(pull: &Description) -> f64 {
    LEAST_S + 0.2 / pull.seen.rate_hz
}

/// ln of the time from 20 % to 90 %. A jerk is fast on any fastener: faster than that says no more.
fn ln_rise(pull: &Description) -> f64 {
    took(pull, 4, 18).max(SNATCH_S).rough_ln()
}

/// The pace of the upper part of the rise, where a fastener that turns has begun to turn.
pub(super) fn upper_pace(pull: &Description) -> f64 {
    pace(pull, 12, 17)
}

/// That of the quarter of the peak that took least. Against a fastener that stands still, force grows
/// as fast as this hand lets it, so that it tells the hand's own pace wherever a pull has such a part.
pub(super) fn fastest_pace(pull: &Description) -> f64 {
    quarter_pace(pull, quarters(pull).fold(f64::INFINITY, f64::min))
}

/// That of the quarter that took most.
pub(super) fn slowest_pace(pull: &Description) -> f64 {
    quarter_pace(pull, quarters(pull).fold(0.0, f64::max))
}

/// That of the foot of the rise.
pub(super) fn foot_pace(pull: &Description) -> f64 {
    pace(pull, 1, 4)
}

/// That of the last of the rise before the peak, where a hand slows down and a joint gives up.
pub(super) fn top_pace(pull: &Description) -> f64 {
    pace(pull, 17, 19)
}

/// How long a pull was above 90 % of its peak, seconds.
pub(super) fn held_s(pull: &Description) -> f64 {
    let [_, fallen_s, ..] = pull.fallen_s;
    (pull.rise.reached_s[twentieths(18)] + fallen_s).max(0.0)
}

/// Seconds that each quarter of the peak took between 20 % and 90 %.
fn quarters(pull: &Description) -> impl Iterator<Item = f64> {
    (4..=13).map(|from| took(pull, from, from + 5))
}

fn quarter_pace(pull: &Description, took_s: f64) -> f64 {
    (took_s + resolved_s(pull)) * 4.0
}

/// The shape of the rise. A fastener that turns makes its part of the rise slow, at once from where it
/// broke away; one that does not rises at the pace of the hand alone.
#[must_use]
pub fn shape(pull: &Description) -> [f64; SHAPE] {
    let whole = ln_pace(pull, 4, 18);
    let bands = [
        ln_pace(pull, 3, 6) - whole,
        ln_pace(pull, 6, 9) - whole,
        ln_pace(pull, 9, 12) - whole,
        ln_pace(pull, 12, 14) - whole,
        ln_pace(pull, 14, 16) - whole,
        ln_pace(pull, 16, 17) - whole,
        ln_pace(pull, 17, 18) - whole,
        ln_pace(pull, 18, 19) - whole,
    ];
    let fastest = bands.iter().copied().fold(f64::INFINITY, f64::min);
    let [low, second, third, fourth, fifth, sixth, seventh, last] = bands;
    [
        ln_rise(pull),
        ln_hold(pull),
        low,
        second,
        third,
        fourth,
        fifth,
        sixth,
        seventh,
        last,
        fastest,
        f64::from(pull.texture.falls).min(5.0),
        pull.texture.largest_fall,
    ]
}

/// The time from 98 % of the peak to the peak.
fn hold_s(pull: &Description) -> f64 {
    pull.rise.reached_s[twentieths(20)] + LEAST_S
}

fn ln_hold(pull: &Description) -> f64 {
    hold_s(pull).rough_ln()
}

/// What the shape says, and how the pull stands to those before it.
#[must_use]
pub fn tight(pull: &Description, ln_shape: f64) -> [f64; TIGHT] {
    let among = &pull.among;
    let whole = ln_pace(pull, 4, 18);
    let after_s = among.after_s.unwrap_or(f64::INFINITY);
    let ratio = among.to_before.unwrap_or(0.0);
    let ln_ratio = ratio.max(1e-3).rough_ln();
    let same = (-0.5 * (ln_ratio / SAME_LN).powi(2)).rough_exp();
    let quick = 1.0 / (1.0 + ((after_s - QUICK_S) / QUICK_SPREAD_S).min(50.0).rough_exp());
    let rising = ratio > 0.0 && ln_ratio > RISING_LN && after_s < SOON_S;
    // Few pulls before say little of what is usual.
    let held_to_none = |ratio: Option<f64>, count: f64| {
        ratio.map_or(0.0, |ratio| -ratio.max(1e-3).rough_ln() * count / (count + USUAL_DOUBT))
    };
    let to_fastest = among.to_fastest_pace.map_or(0.0, |ratio| ratio.max(1e-3).rough_ln());
    [
        ln_shape,
        ln_rise(pull),
        ln_hold(pull),
        ln_pace(pull, 14, 16) - whole,
        ln_pace(pull, 17, 18) - whole,
        same * quick,
        f64::from(u8::from(rising)),
        held_to_none(among.to_turning_pace, among.seemed_turning),
        held_to_none(among.to_tight_pace, among.seemed_tight),
        among.seemed_turning.rough_ln_1p(),
        among.seemed_tight.rough_ln_1p(),
        among.before_tight.unwrap_or(0.0),
        to_fastest,
        to_fastest + ln_pace(pull, 6, 17) - upper_pace(pull).rough_ln(),
        (slowest_pace(pull) / fastest_pace(pull)).rough_ln(),
    ]
}

/// Rotation, with the ln of the odds by torque over time. The model of these has no products: however
/// they come together, more turn never makes a fastener tighter.
#[must_use]
pub fn turned(pull: &Description, ln_odds: f64) -> Option<[f64; TURNED]> {
    let turned = pull.turned?;
    let peak = pull.peak.torque.nm().abs().max(0.1);
    // A fastener that follows with a lag turns on for a moment after the peak.
    let deg = turned.deg + turned.after_deg;
    let driven = deg + turned.wind_up_deg_per_nm * peak * 0.9;
    let ln_deg = (deg.max(0.0) + 0.3).rough_ln();
    let told = f64::from(u8::from(turned.wind_up_from == WindUpFrom::Release));
    let late = 1.0 / (1.0 + ((BEGAN_LATE - turned.began_share) / BEGAN_LATE_SPREAD).rough_exp());
    Some([
        ln_deg,
        (ln_deg - TURNED_LN_DEG).max(0.0),
        (ln_deg - TURNED_LN_DEG).max(0.0) * told,
        late,
        late * told,
        (driven.max(0.0) + 0.3).rough_ln(),
        ln_deg - peak.rough_ln(),
        ln_odds.clamp(-MOST_SHAPE, MOST_SHAPE),
    ])
}

/// What tells a try or a tug at nothing, with the ln of the odds of tight against fresh.
#[must_use]
pub fn trial(pull: &Description, ln_odds: f64) -> [f64; TRIAL] {
    [
        (pull.peak.torque.nm().abs() / pull.seen.range_nm).max(1e-3).rough_ln(),
        took(pull, 4, 18).max(LEAST_S).rough_ln(),
        pull.duration_ms.max(1.0).rough_ln(),
        pull.among.to_before.map_or(0.0, |ratio| ratio.abs().max(1e-3).rough_ln().abs().min(2.0)),
        ln_odds.clamp(-MOST_SHAPE, MOST_SHAPE),
    ]
}

/// Falls of torque on the way.
#[must_use]
pub fn texture(pull: &Description) -> [f64; TEXTURE] {
    let texture = &pull.texture;
    let falls = f64::from(texture.falls).min(40.0);
    [
        texture.largest_fall,
        texture.largest_fall_ms.max(2.0).rough_ln(),
        falls.rough_ln_1p(),
        texture.falls_hz.min(100.0).rough_ln_1p(),
        texture.usual_fall,
        // Three make a saw; more of them say no more.
        f64::from(texture.teeth.min(4)),
        f64::from(texture.teeth).rough_ln_1p(),
        pull.duration_ms.max(1.0).rough_ln(),
        (texture.roughness + 1e-3).rough_ln(),
        (texture.level_s + 0.02).rough_ln(),
        pull.seen.rate_hz.rough_ln(),
    ]
}
