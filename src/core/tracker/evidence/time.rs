//! The time between two pulls: nobody moves a socket to another fastener in a second.
//!
//! Densities are over ln(seconds from peak to peak), relative to one about which nothing is known.

use crate::core::tracker::evidence::{ln_normal, ln_sum};
use crate::core::tracker::hypothesis::{Assignment, Hypothesis, Seen};
use crate::core::tracker::scene::Scene;

/// Shorter than it takes to lift the socket off, find the next fastener and pull, seconds.
pub(in crate::core::tracker) const TOO_SHORT_TO_MOVE_S: f64 = 1.5;
/// A second pull by habit follows within this, seconds.
pub(in crate::core::tracker) const AT_ONCE_S: f64 = 2.5;
/// From one fastener to the next: middle, seconds, and spread of its ln (3 to 25 s).
const MOVE_S: (f64, f64) = (9.0, 0.6);
/// To another group: a tool laid down, a walk, a wheel put on.
const AWAY_S: (f64, f64) = (35.0, 0.9);
/// The same fastener again without lifting the socket off: 1 to 4 s;
const AT_ONCE: (f64, f64) = (2.0, 0.5);
/// and after the handle was set anew, as under a car: 2 to 20 s.
const SET_ANEW: (f64, f64) = (7.0, 0.7);
/// Share of pauses that nothing explains (a call, a missing part, a slow clock), evenly over ln(seconds).
const STRAY_SHARE: f64 = 0.04;
const STRAY_WIDTH: f64 = 12.0;

pub(in crate::core::tracker) fn ln_likelihood(
    scene: &Scene,
    account: &Hypothesis,
    seen: &Seen,
    assignment: &Assignment,
) -> f64 {
    let (Some(gap), Some(last)) = (seen.gap_s, account.last) else { return 0.0 };
    let x = gap.max(0.05).ln();
    let around = |(middle, spread): (f64, f64)| ln_normal(x, middle.ln(), spread);
    let usual = if assignment.fastener == Some(last.fastener) {
        ln_sum(&[0.5f64.ln() + around(AT_ONCE), 0.5f64.ln() + around(SET_ANEW)])
    } else if assignment.fastener.is_some_and(|to| elsewhere(scene, last.fastener, to)) {
        around(AWAY_S)
    } else {
        around(MOVE_S)
    };
    ln_sum(&[(1.0 - STRAY_SHARE).ln() + usual, STRAY_SHARE.ln() - STRAY_WIDTH.ln()])
}

/// True if it takes a walk: lone fasteners may lie side by side.
fn elsewhere(scene: &Scene, from: usize, to: usize) -> bool {
    let (from, to) = (scene.step_of(from), scene.step_of(to));
    let group = |step: usize| scene.step(step).members > 1;
    from != to && group(from) && group(to)
}
