//! How well a peak fits a window.
//!
//! Densities are over ln(torque). A tightening mostly ends in its window, sometimes is one of several
//! swings, seldom goes over. A pull on a tight fastener breaks away at 85 to 115 % of what it holds
//! (static against sliding friction, and what relaxation took).

use crate::core::event::Act;
use crate::core::plan::Expect;
use crate::core::tracker::evidence::{ln_normal, ln_sum, recipe};
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::pull::Assignment;
use crate::core::tracker::scene::Scene;
use crate::core::units::Torque;

/// Shares of first swings that end below the window, of those that go on, and of all that end above it.
const SWING_SHARE: f64 = 0.22;
const SWING_MORE_SHARE: f64 = 0.45;
const OVER_SHARE: f64 = 0.03;
/// Half of the swings on a fastener that holds something end above this share of it, as it gives; the
/// others anywhere.
const SWING_ABOVE: f64 = 0.85;
/// Of the latter, those that end not far below the window, and how far, as a ratio's ln.
const SWING_NEAR: (f64, f64) = (0.7, 0.25);
/// Spread of ln(torque) where people stop, at least.
const STOP_SPREAD: f64 = 0.02;
/// Spread of ln(torque) above the upper limit.
const OVER_SPREAD: f64 = 0.12;
/// Swings are spread evenly over this many units of ln(torque) below the lower limit (to about 20 %).
const SWING_WIDTH: f64 = 1.6;
/// Spread of ln(break-away torque / torque held).
const BREAK_AWAY_SPREAD: f64 = 0.07;
/// Share of pulls on a tight fastener that stop before it breaks away, the same where the one before did, those of them
/// that end not far below, and how far, as a ratio's ln.
const SHORT_RECHECK_SHARE: f64 = 0.1;
const SHORT_AGAIN_SHARE: f64 = 0.35;
const SHORT_NEAR: (f64, f64) = (0.8, 0.1);
/// Less than this is no width to spread swings over.
const LEAST_WIDTH: f64 = 0.1;
/// Share of tightenings that end anywhere.
const STRAY_SHARE: f64 = 0.003;
/// Anything from 1 to 1 000 N·m, evenly over ln(torque).
const ANYTHING_WIDTH: f64 = 6.9;
/// By hand: evenly over ln(torque) from 3 to 70 % of the next window's lower limit.
const BY_HAND: (f64, f64) = (0.03, 0.7);

/// All that the likelihood of a peak depends on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::core::tracker) struct Ground {
    /// The fastener, or the first of its group if all of them have the same window.
    like: usize,
    /// The same of its step: the first that is like it.
    step: usize,
    pass: usize,
    act: Act,
    /// What it holds, N·m.
    held_nm: f64,
    /// It was pulled in this pass, and left short.
    goes_on: bool,
    /// The pull before was on something tight and stopped short.
    short_again: bool,
}

/// None of a pull on nothing of the plan.
pub(in crate::core::tracker) fn ground(
    scene: &Scene,
    account: &Hypothesis,
    assignment: &Assignment,
) -> Option<Ground> {
    let fastener = assignment.fastener?;
    let step = scene.kin(scene.step_of(fastener));
    let grips = scene.step(step).rules.prevailing.is_some();
    let member = &account.members[fastener];
    Some(Ground {
        like: if grips { fastener } else { scene.fasteners_of(step).start },
        step,
        pass: assignment.pass,
        act: assignment.act,
        held_nm: match assignment.act {
            Act::Recheck => member.held_nm,
            _ => account.held_nm(scene, fastener, assignment.pass),
        },
        goes_on: member.partial.is_some(),
        short_again: account.last.is_some_and(|last| last.act == Act::Recheck && last.short),
    })
}

/// On nothing of the plan any torque is as likely as any other.
pub(in crate::core::tracker) fn anything() -> f64 {
    -ANYTHING_WIDTH.ln()
}

pub(in crate::core::tracker) fn ln_likelihood(scene: &Scene, nm: f64, ground: &Ground) -> f64 {
    let step = ground.step;
    let pulled = scene.tightening(step, Torque::from_nm(nm));
    if ground.act == Act::Loosen {
        return if pulled < 0.0 { anything() } else { f64::NEG_INFINITY };
    }
    if pulled <= 0.0 {
        return f64::NEG_INFINITY;
    }
    let x = pulled.ln();
    let Some(window) = scene.window_for(ground.like, ground.pass) else {
        return ln_without_window(scene, step, ground.pass, x);
    };
    let low = window.low.nm().ln();
    let target = window.target.nm().ln();
    let high = window.high.map(|high| high.nm().ln());
    let spread = STOP_SPREAD.max(high.map_or(0.1, |high| (high - low) / 4.0));
    let (target, spread) = recipe::stops(scene, step, &window).unwrap_or((target, spread));
    let stops = ln_normal(x, target, spread);
    if ground.act == Act::Recheck {
        let held = ground.held_nm.max(window.low.nm()).ln();
        let short = if ground.short_again { SHORT_AGAIN_SHARE } else { SHORT_RECHECK_SHARE };
        let rest = if x < held {
            let (near, scale) = SHORT_NEAR;
            let near = near.ln() - (held - x) / scale - scale.ln();
            short.ln() + ln_sum(&[near, (1.0 - SHORT_NEAR.0).ln() - SWING_WIDTH.ln()])
        } else {
            OVER_SHARE.ln() - (x - held) / OVER_SPREAD - OVER_SPREAD.ln()
        };
        let breaks = ln_normal(x, held, BREAK_AWAY_SPREAD);
        let whole = (1.0 - short).ln();
        return ln_sum(&[whole + 0.55f64.ln() + breaks, whole + 0.45f64.ln() + stops, rest]);
    }
    let swings = if ground.goes_on { SWING_MORE_SHARE } else { SWING_SHARE };
    let swing = swings.ln() + ln_swing(x, low, ground.held_nm);
    let over = match high {
        Some(high) if x > high => OVER_SHARE.ln() - (x - high) / OVER_SPREAD - OVER_SPREAD.ln(),
        _ => f64::NEG_INFINITY,
    };
    let in_window = 1.0 - swings - OVER_SHARE;
    ln_sum(&[in_window.ln() + stops, swing, over, STRAY_SHARE.ln() + anything()])
}

/// ln of the density of a swing that ends below `low` on a fastener that holds `held` N·m; both others are ln(N·m).
fn ln_swing(x: f64, low: f64, held: f64) -> f64 {
    if x >= low {
        return f64::NEG_INFINITY;
    }
    let evenly = |from: f64| if x >= from { -(low - from).ln() } else { f64::NEG_INFINITY };
    let anywhere = evenly(low - SWING_WIDTH);
    let (near, scale) = SWING_NEAR;
    let loose = ln_sum(&[near.ln() - (low - x) / scale - scale.ln(), (1.0 - near).ln() + anywhere]);
    if held <= 0.0 {
        return loose;
    }
    let from = (low - SWING_WIDTH).max((held * SWING_ABOVE).ln()).min(low - LEAST_WIDTH);
    ln_sum(&[0.5f64.ln() + evenly(from), 0.5f64.ln() + loose])
}

fn ln_without_window(scene: &Scene, step: usize, pass: usize, x: f64) -> f64 {
    if let Some(ln) = recipe::ends(scene, step, pass, x) {
        return ln;
    }
    let next = (pass + 1..scene.step(step).passes.len()).find_map(|pass| scene.window(step, pass));
    match (&scene.pass(step, pass).expect, next) {
        (Expect::ByHand, Some(window)) => {
            let (from, to) = BY_HAND;
            let low = window.low.nm().ln();
            let inside = (low + from.ln()..low + to.ln()).contains(&x);
            if inside { -(to / from).ln().ln() } else { f64::NEG_INFINITY }
        }
        _ => anything(),
    }
}
