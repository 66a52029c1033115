//! What the operator said of where they are: mostly right, sometimes mis-said.

use crate::core::tracker::pull::{Assignment, Seen};
use crate::core::tracker::scene::Scene;

/// Share of marks that name another fastener than the one pulled.
const MIS_SAID: f64 = 0.01;
/// The same where the name is typed with its value, before the eyes.
const MIS_TYPED: f64 = 0.0005;
/// Of those, the share that name another of the same group: one slips by a number, seldom by a wheel.
const WITHIN_GROUP: f64 = 0.9;

pub(in crate::core::tracker) fn ln_likelihood(
    scene: &Scene,
    seen: &Seen,
    assignment: &Assignment,
) -> f64 {
    let Some(at) = scene.at else { return 0.0 };
    let wrong = if seen.typed { MIS_TYPED } else { MIS_SAID };
    if assignment.fastener == Some(at) {
        return (1.0 - wrong).ln();
    }
    let others = (scene.count() - 1).max(1);
    let group = scene.fasteners_of(scene.step_of(at));
    let (beside, elsewhere) = (group.len() - 1, scene.count() - group.len());
    let share = match assignment.fastener {
        Some(really) if elsewhere > 0 && group.contains(&really) => WITHIN_GROUP / beside as f64,
        Some(_) if elsewhere > 0 && beside > 0 => (1.0 - WITHIN_GROUP) / elsewhere as f64,
        _ => 1.0 / others as f64,
    };
    (wrong * share).ln()
}
