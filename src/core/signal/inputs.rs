//! What the probabilities are made from: few figures of a description, each with a meaning.

use super::constants::{
    BEGAN_LATE, BEGAN_LATE_SPREAD, LEAST_S, MOST_SHAPE, QUICK_S, QUICK_SPREAD_S, RISING_LN,
    SAME_LN, SNATCH_S, SOON_S, TURNED_LN_DEG, USUAL_DOUBT,
};
use super::description::{Description, WindUpFrom, twentieths};

/// How many inputs tell an already tight fastener from a fresh one by torque over time alone.
pub const SHAPE: usize = 13;
/// The same with the pulls before.
pub const TIGHT: usize = 12;
/// The same with rotation.
pub const TURNED: usize = 8;
/// How many inputs tell a try.
pub const TRIAL: usize = 5;
/// How many inputs tell slips, saw-teeth and blows.
pub const TEXTURE: usize = 11;
/// How many inputs tell yield and damage by torque over time alone.
pub const COURSE: usize = 17;
/// The same with rotation.
pub const TURNED_COURSE: usize = 17;
/// How many inputs tell a missed peak.
pub const MISSED: usize = 9;

/// Seconds between two levels, in twentieths of the peak.
fn took(pull: &Description, from: usize, to: usize) -> f64 {
    let at = |level: usize| pull.rise.reached_s[twentieths(level)];
    (at(from) - at(to)).max(0.0)
}

/// ln of the seconds that a share of the peak took, over the whole peak.
fn pace(pull: &Description, from: usize, to: usize) -> f64 {
    let resolved = LEAST_S + 0.2 / pull.seen.rate_hz;
    (took(pull, from, to) + resolved).ln() - ((to - from) as f64 / 20.0).ln()
}

/// ln of the time from 20 % to 90 %. A jerk is fast on any fastener: faster than that says no more.
fn ln_rise(pull: &Description) -> f64 {
    took(pull, 4, 18).max(SNATCH_S).ln()
}

/// ln of the seconds that the upper part of the rise took, over the whole peak: where a fastener that
/// turns has begun to.
#[must_use]
pub fn upper_pace(pull: &Description) -> f64 {
    pace(pull, 12, 17)
}

/// The shape of the rise. A fastener that turns makes its part of the rise slow, at once from where it
/// broke away; one that does not rises at the pace of the hand alone.
#[must_use]
pub fn shape(pull: &Description) -> [f64; SHAPE] {
    let whole = pace(pull, 4, 18);
    let bands = [
        pace(pull, 3, 6) - whole,
        pace(pull, 6, 9) - whole,
        pace(pull, 9, 12) - whole,
        pace(pull, 12, 14) - whole,
        pace(pull, 14, 16) - whole,
        pace(pull, 16, 17) - whole,
        pace(pull, 17, 18) - whole,
        pace(pull, 18, 19) - whole,
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

/// ln of the time from 98 % of the peak to the peak.
fn ln_hold(pull: &Description) -> f64 {
    (pull.rise.reached_s[twentieths(20)] + LEAST_S).ln()
}

/// What the shape says, and how the pull stands to those before it.
#[must_use]
pub fn tight(pull: &Description, ln_shape: f64) -> [f64; TIGHT] {
    let among = &pull.among;
    let whole = pace(pull, 4, 18);
    let after_s = among.after_s.unwrap_or(f64::INFINITY);
    let ratio = among.to_before.unwrap_or(0.0);
    let ln_ratio = ratio.max(1e-3).ln();
    let same = (-0.5 * (ln_ratio / SAME_LN).powi(2)).exp();
    let quick = 1.0 / (1.0 + ((after_s - QUICK_S) / QUICK_SPREAD_S).min(50.0).exp());
    let rising = ratio > 0.0 && ln_ratio > RISING_LN && after_s < SOON_S;
    // Few pulls before say little of what is usual.
    let held_to_none = |ratio: Option<f64>, count: f64| {
        ratio.map_or(0.0, |ratio| -ratio.max(1e-3).ln() * count / (count + USUAL_DOUBT))
    };
    [
        ln_shape,
        ln_rise(pull),
        ln_hold(pull),
        pace(pull, 14, 16) - whole,
        pace(pull, 17, 18) - whole,
        same * quick,
        f64::from(u8::from(rising)),
        held_to_none(among.to_turning_pace, among.seemed_turning),
        held_to_none(among.to_tight_pace, among.seemed_tight),
        among.seemed_turning.ln_1p(),
        among.seemed_tight.ln_1p(),
        among.before_tight.unwrap_or(0.0),
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
    let ln_deg = (deg.max(0.0) + 0.3).ln();
    let told = f64::from(u8::from(turned.wind_up_from == WindUpFrom::Release));
    let late = 1.0 / (1.0 + ((BEGAN_LATE - turned.began_share) / BEGAN_LATE_SPREAD).exp());
    Some([
        ln_deg,
        (ln_deg - TURNED_LN_DEG).max(0.0),
        (ln_deg - TURNED_LN_DEG).max(0.0) * told,
        late,
        late * told,
        (driven.max(0.0) + 0.3).ln(),
        ln_deg - peak.ln(),
        ln_odds.clamp(-MOST_SHAPE, MOST_SHAPE),
    ])
}

/// What tells a try or a tug at nothing, with the ln of the odds of tight against fresh.
#[must_use]
pub fn trial(pull: &Description, ln_odds: f64) -> [f64; TRIAL] {
    [
        (pull.peak.torque.nm().abs() / pull.seen.range_nm).max(1e-3).ln(),
        took(pull, 4, 18).max(LEAST_S).ln(),
        pull.duration_ms.max(1.0).ln(),
        pull.among.to_before.map_or(0.0, |ratio| ratio.abs().max(1e-3).ln().abs().min(2.0)),
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
        texture.largest_fall_ms.max(2.0).ln(),
        falls.ln_1p(),
        texture.falls_hz.min(100.0).ln_1p(),
        texture.usual_fall,
        // Three make a saw; more of them say no more.
        f64::from(texture.teeth.min(4)),
        f64::from(texture.teeth).ln_1p(),
        pull.duration_ms.max(1.0).ln(),
        (texture.roughness + 1e-3).ln(),
        (texture.level_s + 0.02).ln(),
        pull.seen.rate_hz.ln(),
    ]
}

/// ln of the seconds in which torque fell from 95 % to 80 %, from there to half, and from there to a
/// tenth of the peak: a hand lets go at one pace, a thread that gives lets torque sink first.
fn ln_falls(pull: &Description) -> [f64; 3] {
    let [highest, _, high, _, half, tenth] = pull.fallen_s;
    let resolved = LEAST_S + 0.2 / pull.seen.rate_hz;
    [high - highest, half - high, tenth - half].map(|seconds| (seconds.max(0.0) + resolved).ln())
}

/// The course from the foot to the release, and how it stands to the pulls before.
#[must_use]
pub fn course(pull: &Description) -> [f64; COURSE] {
    let texture = &pull.texture;
    let whole = pace(pull, 4, 18);
    let [early, middle, end] = ln_falls(pull);
    let among = &pull.among;
    let usual = |ratio: Option<f64>| ratio.map_or(0.0, |ratio| ratio.clamp(0.02, 50.0).ln());
    [
        (texture.level_s + 0.02).ln(),
        (texture.sinking_s + 0.01).ln(),
        texture.sunk,
        early,
        middle,
        end,
        ln_hold(pull),
        whole,
        pace(pull, 1, 3) - whole,
        pace(pull, 3, 6) - whole,
        pace(pull, 6, 10) - whole,
        pace(pull, 10, 15) - whole,
        pace(pull, 15, 17) - whole,
        pace(pull, 17, 19) - whole,
        f64::from(texture.falls).min(40.0).ln_1p(),
        among.to_highest.map_or(0.0, |ratio| ratio.max(0.05).ln()),
        usual(among.to_turning_pace),
    ]
}

/// The same with rotation.
#[must_use]
pub fn turned_course(pull: &Description) -> Option<[f64; TURNED_COURSE]> {
    let turned = pull.turned?;
    let texture = &pull.texture;
    let among = &pull.among;
    let ln = |deg: f64| (deg.max(0.0) + 0.5).ln();
    let upper = ln(turned.upper_deg);
    let [early, middle, end] = ln_falls(pull);
    let slope = among.to_usual_slope.map_or(0.0, |ratio| ratio.clamp(0.02, 50.0).ln());
    Some([
        (texture.level_s + 0.02).ln(),
        (texture.sinking_s + 0.01).ln(),
        texture.sunk,
        early,
        middle,
        end,
        ln_hold(pull),
        pace(pull, 4, 18),
        f64::from(texture.falls).min(40.0).ln_1p(),
        among.to_highest.map_or(0.0, |ratio| ratio.max(0.05).ln()),
        ln(turned.late_deg),
        ln(turned.after_deg),
        ln(turned.early_deg) - upper,
        ln(turned.foot_deg) - upper,
        upper,
        1.0 - turned.began_share,
        slope,
    ])
}

/// How far torque may have risen between two samples: what the flag is defined by is the first, the
/// samples that fell within the accuracy of the peak.
#[must_use]
pub fn missed(pull: &Description) -> [f64; MISSED] {
    let peak = pull.peak.torque.nm().abs().max(0.1);
    let rate_hz = pull.seen.rate_hz;
    let share = |nm: f64| (nm.max(0.0) / peak + 1e-3).ln();
    let [before, after] = pull.peak.beside_nm;
    let [closest, close, near] = pull.peak.within_s.map(|seconds| (seconds * rate_hz + 0.05).ln());
    [
        closest,
        close,
        near,
        share(pull.peak.rate_nm),
        share(before.min(after)),
        share(before.max(after)),
        rate_hz.ln(),
        pull.texture.falls_hz.min(100.0).ln_1p(),
        share(pull.rise.slope_nm_per_s / rate_hz),
    ]
}
