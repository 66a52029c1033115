//! What a joint's own rule makes likely: where a castle nut stops, and how far a fastener turns that is turned by an
//! angle.

use crate::core::event::Act;
use crate::core::plan::Window;
use crate::core::tracker::evidence::{ln_normal, ln_sum};
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::pull::Assignment;
use crate::core::tracker::rules::{angle, castle};
use crate::core::tracker::scene::Scene;

/// Where no most is published, castle nuts stop at up to this many times their least torque.
const ABOVE_LEAST: f64 = 2.0;
/// Share of pulls by angle that end at it, and spread of the ln where they do; the others are swings on the way.
const AT_ANGLE: f64 = 0.8;
const ANGLE_SPREAD: f64 = 0.25;
/// Torque at the end of a turn by angle over the torque that it began at, where the plan names none, and spread of its ln:
/// a few tenths more on a soft joint, more than twice as much on a hard one.
const BY_ANGLE: f64 = 1.6;
const BY_ANGLE_SPREAD: f64 = 0.35;
/// Any torque from 1 to 1000 N·m, evenly over ln(torque).
const ANY_TORQUE_WIDTH: f64 = 6.9;
/// Anything from half a degree to a quarter of a turn, evenly over ln(degrees).
const ANYTHING_WIDTH: f64 = 5.0;

/// ln of the torque at which people stop, and its spread: none where the window itself tells.
pub(super) fn stops(scene: &Scene, step: usize, window: &Window) -> Option<(f64, f64)> {
    scene.step(step).goes_forward_only().then(|| {
        let low = window.low.nm().ln();
        let high = window.high.map_or(low + ABOVE_LEAST.ln(), |high| high.nm().ln());
        (f64::midpoint(low, high), ((high - low) / 3.0).max(0.02))
    })
}

/// ln of the likelihood of ending at a torque (`x` is the ln of it) in a turn by angle without a published one.
pub(super) fn ends(scene: &Scene, step: usize, pass: usize, x: f64) -> Option<f64> {
    angle::asked(scene, step, pass)?;
    let began = scene.final_window(step)?.target.nm();
    Some(ln_sum(&[
        AT_ANGLE.ln() + ln_normal(x, (began * BY_ANGLE).ln(), BY_ANGLE_SPREAD),
        (1.0 - AT_ANGLE).ln() - ANY_TORQUE_WIDTH.ln(),
    ]))
}

/// True if how far a fastener of the step turns is not for stiffness alone.
pub(super) fn bears(scene: &Scene, step: usize) -> bool {
    let step = scene.step(step);
    step.rules.castle.is_some() || step.passes.iter().any(|pass| pass.turn.is_some())
}

/// ln of the likelihood of turning so far (`x` is the ln of it), where stiffness does not decide.
pub(super) fn turns(
    scene: &Scene,
    account: &Hypothesis,
    nm: f64,
    x: f64,
    assignment: &Assignment,
) -> Option<f64> {
    let fastener = assignment.fastener.filter(|_| assignment.act == Act::Tighten)?;
    if castle::goes_on(scene, account, fastener) {
        return Some(-ANYTHING_WIDTH.ln());
    }
    let step = scene.step_of(fastener);
    let left = angle::left(scene, &account.members[fastener], step, assignment.pass)?;
    let turned = (left + scene.wind_up(step, nm)).ln();
    Some(ln_sum(&[
        AT_ANGLE.ln() + ln_normal(x, turned, ANGLE_SPREAD),
        (1.0 - AT_ANGLE).ln() - ANYTHING_WIDTH.ln(),
    ]))
}
