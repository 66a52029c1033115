//! What the probabilities are made from: few figures of a description, each with a meaning.

use super::constants::{
    BEGAN_LATE, BEGAN_LATE_SPREAD, LEAST_S, MOST_SHAPE, QUICK_S, QUICK_SPREAD_S, RISING_LN,
    SAME_LN, SNATCH_S, SOON_S, TURNED_LN_DEG,
};
use super::description::{Description, WindUpFrom, twentieths};

/// How many inputs tell an already tight fastener from a fresh one by torque over time alone.
pub const SHAPE: usize = 5;
/// The same with the pulls before.
pub const TIGHT: usize = 9;
/// The same with rotation.
pub const TURNED: usize = 8;
/// How many inputs tell a try.
pub const TRIAL: usize = 5;
/// How many inputs tell slips, saw-teeth and blows.
pub const TEXTURE: usize = 6;
/// How many inputs tell yield and damage by torque over time alone.
pub const COURSE: usize = 7;
/// The same with rotation.
pub const TURNED_COURSE: usize = 12;
/// How many inputs tell a missed peak.
pub const MISSED: usize = 5;

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

/// The shape of the rise: a fastener that turns makes its part of the rise slow, one that does not
/// rises at one pace.
#[must_use]
pub fn shape(pull: &Description) -> [f64; SHAPE] {
    let bands = [
        pace(pull, 3, 6),
        pace(pull, 6, 9),
        pace(pull, 9, 12),
        pace(pull, 12, 15),
        pace(pull, 15, 17),
    ];
    let fastest = bands.iter().copied().fold(f64::INFINITY, f64::min);
    let slowest = bands.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let rise = ln_rise(pull);
    [
        rise,
        slowest - rise,
        pace(pull, 1, 3) - fastest,
        bands[4] - fastest,
        pace(pull, 17, 19) - fastest,
    ]
}

/// The shape, and how the pull stands to those before it.
#[must_use]
pub fn tight(pull: &Description) -> [f64; TIGHT] {
    let among = &pull.among;
    let usual = among.to_usual_rise.map_or(0.0, |ratio| ratio.max(1e-3).ln().clamp(-1.6, 1.2));
    let after_s = among.after_s.unwrap_or(f64::INFINITY);
    let ratio = among.to_before.unwrap_or(0.0);
    let ln_ratio = ratio.max(1e-3).ln();
    let same = (-0.5 * (ln_ratio / SAME_LN).powi(2)).exp();
    let quick = 1.0 / (1.0 + ((after_s - QUICK_S) / QUICK_SPREAD_S).min(50.0).exp());
    let rising = ratio > 0.0 && ln_ratio > RISING_LN && after_s < SOON_S;
    let [rise, slowest, foot, high, last] = shape(pull);
    let hold = (pull.rise.reached_s[twentieths(20)] + LEAST_S).ln();
    [rise, slowest, foot, high, last, usual, same * quick, f64::from(u8::from(rising)), hold]
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
    [
        texture.largest_fall,
        texture.largest_fall_ms.max(2.0).ln(),
        f64::from(texture.falls).min(40.0).ln_1p(),
        texture.falls_hz.min(100.0).ln_1p(),
        texture.usual_fall,
        pull.duration_ms.max(1.0).ln(),
    ]
}

/// The course from half of the peak to the release.
#[must_use]
pub fn course(pull: &Description) -> [f64; COURSE] {
    let texture = &pull.texture;
    [
        (texture.level_s + 0.02).ln(),
        (texture.sinking_s + 0.01).ln(),
        texture.sunk,
        (pull.rise.reached_s[twentieths(17)] + 0.01).ln() - ln_rise(pull),
        pace(pull, 2, 10) - pace(pull, 10, 17),
        f64::from(texture.falls).min(40.0).ln_1p(),
        pull.among.to_highest.map_or(0.0, |ratio| ratio.max(0.05).ln()),
    ]
}

/// The same with rotation.
#[must_use]
pub fn turned_course(pull: &Description) -> Option<[f64; TURNED_COURSE]> {
    let turned = pull.turned?;
    let ln = |deg: f64| (deg.max(0.0) + 0.5).ln();
    let [level, sinking, sunk, late, _, falls, to_highest] = course(pull);
    let middle = (turned.deg - turned.early_deg).max(0.0);
    let slope = pull.among.to_usual_slope.map_or(0.0, |ratio| ratio.clamp(0.02, 50.0).ln());
    Some([
        level,
        sinking,
        sunk,
        late,
        falls,
        to_highest,
        ln(turned.late_deg),
        ln(turned.after_deg),
        ln(turned.early_deg) - ln(middle),
        ln(turned.foot_deg) - ln(middle),
        (1.0 - turned.began_share + 0.01).ln() - ln(turned.deg),
        slope,
    ])
}

/// How far torque may have risen between two samples.
#[must_use]
pub fn missed(pull: &Description) -> [f64; MISSED] {
    let peak = pull.peak.torque.nm().abs().max(0.1);
    let share = |nm: f64| (nm.max(0.0) / peak + 1e-3).ln();
    let [before, after] = pull.peak.beside_nm;
    [
        share(pull.peak.rate_nm),
        share(before.min(after)),
        share(before.max(after)),
        pull.seen.rate_hz.ln(),
        pull.texture.falls_hz.min(100.0).ln_1p(),
    ]
}
