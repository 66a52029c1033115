//! Left and right of one vehicle: alike parts that are brought to the same torque turn about as far. Where they did not, that
//! is asked once, when both are done.

use crate::core::event::WarningCode;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::Turned;
use crate::core::tracker::rules::words;
use crate::core::tracker::scene::Scene;
use crate::core::tracker::warn::{About, Reason, Speaker};

/// Spread between fasteners of one group, as a ratio's ln: how far each was run down before the adapter saw it.
const FASTENERS: f64 = 0.38;
/// The same between two groups: hand or gun, one grease or another.
const GROUPS: f64 = 0.35;
/// So many times the spread of their difference is nothing that such habits explain: it is said of one in 125 generated jobs
/// of two sides, where the one side had hardly turned.
const BEYOND: f64 = 3.0;
/// Fewer that turned show nothing of a group that has as many.
const LEAST: u32 = 2;

impl Speaker<'_> {
    /// Asks why the two sides turned unlike far, once both of them are done.
    pub(in crate::core::tracker) fn sides(&mut self, index: usize) {
        let Some(fastener) = self.state.assignment(index).fastener else { return };
        let scene = &self.state.scene;
        let step = scene.step_of(fastener);
        let pair = scene.sides.iter().find(|(left, right)| *left == step || *right == step);
        let Some((left, right)) = pair.copied() else { return };
        let Some(turned) = unlike(scene, self.best(), (left, right)) else { return };
        let text = words::sides_differ(scene, (left, right), turned);
        let about = About { fastener: None, reading: Some(index) };
        self.say(Reason::Sides(left), WarningCode::SidesDiffer, about, text);
    }
}

/// How far a fastener of each side turned for its whole torque, degrees, where that differs by more than habit explains.
fn unlike(
    scene: &Scene,
    account: &Hypothesis,
    (left, right): (usize, usize),
) -> Option<(f64, f64)> {
    let target = |step| scene.final_window(step).map(|window| window.target.nm());
    let full = target(left).filter(|nm| target(right) == Some(*nm))?;
    if !account.finished(scene, left) || !account.finished(scene, right) {
        return None;
    }
    let mean = |step: usize| {
        let seen: &Turned = &account.rounds[step].slack;
        let enough = seen.count >= LEAST.min(u32::from(scene.step(step).members));
        enough.then(|| (seen.ln_compliance / f64::from(seen.count), 1.0 / f64::from(seen.count)))
    };
    let ((a, one), (b, other)) = (mean(left)?, mean(right)?);
    let spread = GROUPS.hypot(FASTENERS * (one + other).sqrt());
    ((a - b).abs() > BEYOND * spread).then(|| (a.exp() * full, b.exp() * full))
}
