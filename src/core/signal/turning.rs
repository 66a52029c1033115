//! How far the fastener itself turned: the drive's turn less the wind-up of bars and handle.
//!
//! Wind-up springs back when torque is let go, the fastener does not: where rotation is told through
//! the release, the pull tells its own wind-up. Otherwise the stiffest part of the rise bounds it.

use super::constants::{
    ANGLE_NOISE_DEG, BEGAN_DEG, BEGAN_SHARE, RELEASE_LEAST_DEG, STIFF_SPAN, USUAL_WIND_UP_DEG,
    USUAL_WIND_UP_SPREAD,
};
use super::description::{Turned, WindUpFrom, twentieths};
use super::read::{Context, View};

pub(super) fn measure(view: &View<'_>, context: &Context) -> Option<Turned> {
    let turned = view.turned?;
    let reached = &view.reached;
    let (from, to) = (reached[twentieths(2)], view.top_at);
    let gained = view.smooth_nm(to) - view.smooth_nm(from);
    let driven = turned[to] - turned[from];
    let (wind_up, sd, source) = wind_up(view, turned, context);
    let deg = driven - wind_up * gained;
    let freed = |a: usize, b: usize| {
        turned[b] - turned[a] - wind_up * (view.smooth_nm(b) - view.smooth_nm(a))
    };
    Some(Turned {
        deg,
        foot_deg: freed(reached[twentieths(1)], reached[twentieths(4)]),
        early_deg: freed(from, reached[twentieths(10)]),
        upper_deg: freed(reached[twentieths(10)], reached[twentieths(18)]),
        late_deg: freed(reached[twentieths(17)], view.release),
        after_deg: freed(to, view.release),
        near_deg: freed(reached[twentieths(19)], last_at(view, 0.95)),
        let_go_deg: turned[view.last] - turned[view.release],
        reached_deg: std::array::from_fn(|level: usize| freed(reached[0], reached[level])),
        began_share: began(view, turned, from, wind_up, deg),
        sd_deg: (sd * gained).hypot(ANGLE_NOISE_DEG),
        wind_up_deg_per_nm: wind_up,
        wind_up_from: source,
    })
}

/// The last place at this share of the peak.
fn last_at(view: &View<'_>, share: f64) -> usize {
    let nm = (share * view.top) as f32;
    view.smooth.iter().rposition(|above| *above >= nm).unwrap_or(view.top_at)
}

/// Wind-up, its standard uncertainty (degrees a N·m), and where it comes from.
fn wind_up(view: &View<'_>, turned: &[f64], context: &Context) -> (f64, f64, WindUpFrom) {
    if let Some(named) = context.source.wind_up_deg_per_nm {
        return (named, named * 0.1, WindUpFrom::Named);
    }
    let usual = USUAL_WIND_UP_DEG / view.top;
    if let Some(sprung) = sprung_back(view, turned) {
        let sd = ANGLE_NOISE_DEG * 2.0 / view.top;
        return (sprung, sd, WindUpFrom::Release);
    }
    match stiffest(view, turned) {
        Some(most) if most < usual => (most, most * 0.5, WindUpFrom::Rise),
        _ => (usual, usual * USUAL_WIND_UP_SPREAD, WindUpFrom::Usual),
    }
}

/// Degrees a N·m that the drive went back while torque was let go.
fn sprung_back(view: &View<'_>, turned: &[f64]) -> Option<f64> {
    let (from, to) = (view.release, view.last);
    let let_go = view.smooth_nm(from) - view.smooth_nm(to);
    let back = turned[from] - turned[to];
    (let_go > 0.5 * view.top && back > RELEASE_LEAST_DEG).then(|| back / let_go)
}

/// Degrees a N·m in the stiffest part of the rise.
fn stiffest(view: &View<'_>, turned: &[f64]) -> Option<f64> {
    let step = view.top * STIFF_SPAN;
    let mut least: Option<f64> = None;
    let mut from = view.first;
    for at in view.first..=view.top_at {
        while from < at && view.smooth_nm(at) - view.smooth_nm(from + 1) >= step {
            from += 1;
        }
        let gained = view.smooth_nm(at) - view.smooth_nm(from);
        if gained >= step {
            let deg = (turned[at] - turned[from]).max(0.0) / gained;
            least = Some(least.map_or(deg, |other: f64| other.min(deg)));
        }
    }
    least
}

/// Share of the peak at which the fastener began to turn.
fn began(view: &View<'_>, turned: &[f64], from: usize, wind_up: f64, deg: f64) -> f64 {
    let least = BEGAN_DEG.max(BEGAN_SHARE * deg);
    let freed = |at: usize| turned[at] - wind_up * view.smooth_nm(at);
    let foot = freed(from);
    let mut highest: f64 = 0.0;
    for at in from..=view.top_at {
        highest = highest.max(view.smooth_nm(at));
        if freed(at) - foot >= least {
            return highest / view.top;
        }
    }
    1.0
}
