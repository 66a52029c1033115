//! Torque that is no pull.

use super::random::Chance;
use super::{Curve, STEPS_HZ};

/// Something bumps against the handle.
pub fn bump(range_nm: f64, chance: &mut Chance) -> Curve {
    let high = range_nm * chance.ratio(0.02, 0.12) * if chance.happens(0.5) { 1.0 } else { -1.0 };
    let lasts = chance.ratio(0.008, 0.05);
    shape(lasts, |t| high * (std::f64::consts::PI * t / lasts).sin())
}

/// The tool is dropped.
pub fn drop(range_nm: f64, chance: &mut Chance) -> Curve {
    let high = range_nm * chance.ratio(0.05, 0.5);
    let (hz, fades) = (chance.ratio(60.0, 300.0), chance.ratio(0.004, 0.015));
    shape(fades * 6.0, |t| high * (-t / fades).exp() * (std::f64::consts::TAU * hz * t).sin())
}

/// A hand rests on the handle.
pub fn rest(range_nm: f64, chance: &mut Chance) -> Curve {
    let high =
        (range_nm * chance.ratio(0.004, 0.025)) * if chance.happens(0.8) { 1.0 } else { -1.0 };
    let lasts = chance.even(1.0, 5.0);
    let (hz, phase) = (chance.even(0.3, 2.0), chance.even(0.0, 6.0));
    shape(lasts, |t| {
        let ends = (t / 0.3).min((lasts - t) / 0.3).clamp(0.0, 1.0);
        high * ends * (1.0 + 0.1 * (std::f64::consts::TAU * hz * t + phase).sin())
    })
}

/// The ratchet goes back: the pawl drags.
pub fn back_swing(chance: &mut Chance) -> Curve {
    let (drag, lasts) = (-chance.even(0.1, 1.0), chance.even(0.25, 0.7));
    let clicks_hz = chance.even(20.0, 60.0);
    shape(lasts, |t| drag * (0.6 + 0.4 * (std::f64::consts::TAU * clicks_hz * t).sin()))
}

/// An impact tool on the adapter. Gives the curve and the degrees turned.
pub fn impact(target_nm: f64, chance: &mut Chance) -> Curve {
    let (hz, lasts) = (chance.ratio(11.0, 55.0), chance.even(0.5, 2.5));
    let blow_s = chance.ratio(0.006, 0.012_f64.min(0.5 / hz));
    let high = target_nm * chance.ratio(0.4, 1.2);
    let mut curve = Curve::default();
    let (mut next, mut size, mut since) = (0.0, high, f64::INFINITY);
    let mut turned = 0.0;
    let steps = (lasts * STEPS_HZ) as usize;
    for step in 0..steps {
        let t = step as f64 / STEPS_HZ;
        if t >= next {
            next = t + chance.around(1.0 / hz, 0.08);
            size = high * chance.around(1.0, 0.12) * (0.5 + 0.5 * (t / lasts).min(1.0));
            since = t;
            turned += chance.even(0.2, 3.0);
        }
        let within = (t - since) / blow_s;
        let nm = if within < 1.0 { size * (std::f64::consts::PI * within).sin() } else { 0.0 };
        curve.push(nm, turned);
    }
    curve
}

/// A tug at something that gives way, to try the adapter.
pub fn tug(range_nm: f64, chance: &mut Chance) -> Curve {
    let high = range_nm * chance.ratio(0.06, 0.2);
    let lasts = chance.ratio(0.3, 1.5);
    let skew = chance.ratio(0.6, 1.6);
    shape(lasts, |t| high * (std::f64::consts::PI * (t / lasts).powf(skew)).sin())
}

fn shape(lasts: f64, at: impl Fn(f64) -> f64) -> Curve {
    let mut curve = Curve::default();
    for step in 0..(lasts * STEPS_HZ) as usize {
        curve.push(at(step as f64 / STEPS_HZ), 0.0);
    }
    curve
}
