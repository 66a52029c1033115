//! What the operator said of where they are: mostly right, sometimes mis-said.

use crate::core::tracker::pull::{Assignment, Seen};
use crate::core::tracker::scene::Scene;

/// Share of marks that name another fastener than the one pulled.
const MIS_SAID: f64 = 0.01;
/// The same where the name is typed with its value, before the eyes.
const MIS_TYPED: f64 = 0.0005;

pub(in crate::core::tracker) fn ln_likelihood(
    scene: &Scene,
    seen: &Seen,
    assignment: &Assignment,
) -> f64 {
    let Some(at) = scene.at else { return 0.0 };
    let wrong = if seen.typed { MIS_TYPED } else { MIS_SAID };
    if assignment.fastener == Some(at) {
        (1.0 - wrong).ln()
    } else {
        (wrong / (scene.count() - 1).max(1) as f64).ln()
    }
}
