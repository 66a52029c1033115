//! What the operator said of where they are: mostly right, sometimes mis-said.

use crate::core::tracker::hypothesis::Assignment;
use crate::core::tracker::scene::Scene;

/// Share of marks that name another fastener than the one pulled.
const MIS_SAID: f64 = 0.01;

pub(in crate::core::tracker) fn ln_likelihood(scene: &Scene, assignment: &Assignment) -> f64 {
    let Some(at) = scene.at else { return 0.0 };
    if assignment.fastener == Some(at) {
        (1.0 - MIS_SAID).ln()
    } else {
        (MIS_SAID / (scene.count() - 1).max(1) as f64).ln()
    }
}
