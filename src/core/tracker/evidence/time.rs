//! The time between two pulls: nobody moves a socket to another fastener in a second.
//!
//! Densities are over ln(seconds from peak to peak), relative to one about which nothing is known.

use crate::core::event::Act;
use crate::core::tracker::evidence::members::again;
use crate::core::tracker::evidence::{ln_normal, ln_sum};
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::Last;
use crate::core::tracker::pull::{Assignment, Seen};
use crate::core::tracker::scene::Scene;

/// Shorter than it takes to lift the socket off, find the next fastener and pull, seconds.
pub(in crate::core::tracker) const TOO_SHORT_TO_MOVE_S: f64 = 1.5;
/// A second pull by habit follows within this, seconds.
pub(in crate::core::tracker) const AT_ONCE_S: f64 = 3.0;
/// Two ways to work, seconds from peak to peak and spread of its ln. With room to move: from one fastener to the next,
/// and to the next swing on the same;
const WITH_ROOM: Pace = Pace { on: (6.3, 0.35), swing: (2.1, 0.45) };
/// and under a car, where the handle is set anew for either.
const CRAMPED: Pace = Pace { on: (11.5, 0.5), swing: (10.0, 0.5) };
/// Beyond this a single pause does not tell one way from the other, as ln of a ratio, and all of them together do not.
const MOST_TOLD: f64 = 3.0;
const MOST_SURE: f64 = 8.0;
/// To another group: a tool laid down, a walk, a wheel put on.
const AWAY_S: (f64, f64) = (35.0, 0.9);
/// A second pull by habit, without lifting the socket off.
const AT_ONCE: (f64, f64) = (1.6, 0.35);
/// Share of pauses that nothing explains (a call, a missing part, a slow clock), evenly over ln(seconds).
const STRAY_SHARE: f64 = 0.2;
const STRAY_WIDTH: f64 = 6.0;

/// What the likelihood of a pause depends on in one account; none if no pause is known.
pub(in crate::core::tracker) fn ground(
    scene: &Scene,
    account: &Hypothesis,
    seen: &Seen,
    assignment: &Assignment,
) -> Option<Step> {
    let last = account.last.filter(|_| seen.gap_s.is_some())?;
    Some(step(scene, last, assignment))
}

pub(in crate::core::tracker) fn ln_likelihood(
    scene: &Scene,
    account: &Hypothesis,
    seen: &Seen,
    step: Step,
) -> f64 {
    let Some(gap) = seen.gap_s else { return 0.0 };
    let x = gap.max(0.05).ln();
    let usual = match step {
        Step::Away => ln_normal(x, AWAY_S.0.ln(), AWAY_S.1),
        Step::Swing => either(account, x, |pace| pace.swing),
        Step::On => either(account, x, |pace| pace.on),
        Step::Again => {
            let (by_habit, by_mistake) = again(scene, account);
            let all = by_habit + by_mistake;
            ln_sum(&[
                (by_habit / all).ln() + ln_normal(x, AT_ONCE.0.ln(), AT_ONCE.1),
                (by_mistake / all).ln() + either(account, x, |pace| pace.on),
            ])
        }
    };
    ln_sum(&[(1.0 - STRAY_SHARE).ln() + usual, STRAY_SHARE.ln() - STRAY_WIDTH.ln()])
}

/// ln of how much likelier a pause is with room to move than under a car; 0 where it tells neither.
pub(in crate::core::tracker) fn ln_with_room(
    scene: &Scene,
    account: &Hypothesis,
    seen: &Seen,
    assignment: &Assignment,
) -> f64 {
    let (Some(gap), Some(last)) = (seen.gap_s, account.last) else { return 0.0 };
    let x = gap.max(0.05).ln();
    let told = |of: fn(&Pace) -> (f64, f64)| {
        let ln = |pace: &Pace| ln_normal(x, of(pace).0.ln(), of(pace).1);
        (ln(&WITH_ROOM) - ln(&CRAMPED)).clamp(-MOST_TOLD, MOST_TOLD)
    };
    match step(scene, last, assignment) {
        Step::Swing => told(|pace| pace.swing),
        Step::On => told(|pace| pace.on),
        Step::Again | Step::Away => 0.0,
    }
}

/// What it is known by now of how somebody works, with one more pause.
pub(in crate::core::tracker) fn surer(ln_with_room: f64, told: f64) -> f64 {
    (ln_with_room + told).clamp(-MOST_SURE, MOST_SURE)
}

struct Pace {
    on: (f64, f64),
    swing: (f64, f64),
}

/// From which fastener to which.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::core::tracker) enum Step {
    /// The same one, whose torque was not reached, or not proved.
    Swing,
    /// The same one, tight already.
    Again,
    On,
    Away,
}

fn step(scene: &Scene, last: Last, assignment: &Assignment) -> Step {
    let goes_on = last.short || last.proves_little();
    match assignment.fastener {
        Some(to) if to == last.fastener && assignment.act == Act::Recheck && !goes_on => {
            Step::Again
        }
        // To turn back the one pulled last takes as long as anything else.
        Some(to) if to == last.fastener && assignment.act != Act::Loosen => Step::Swing,
        Some(to) if elsewhere(scene, last.fastener, to) => Step::Away,
        _ => Step::On,
    }
}

/// ln of the density of a pause of both ways to work, each as likely as this account has made it.
fn either(account: &Hypothesis, x: f64, of: fn(&Pace) -> (f64, f64)) -> f64 {
    let odds = account.habit.ln_with_room;
    let with_room = -(1.0 + (-odds).exp()).ln();
    let ln = |pace: &Pace| ln_normal(x, of(pace).0.ln(), of(pace).1);
    ln_sum(&[with_room + ln(&WITH_ROOM), with_room - odds + ln(&CRAMPED)])
}

/// True if it takes a walk: lone fasteners may lie side by side.
fn elsewhere(scene: &Scene, from: usize, to: usize) -> bool {
    let (from, to) = (scene.step_of(from), scene.step_of(to));
    let group = |step: usize| scene.step(step).members > 1;
    from != to && group(from) && group(to)
}
