//! What the operator said of where they are: mostly right, sometimes mis-said; and what they were asked for, where
//! they type.

use crate::core::tracker::hypothesis::Assignment;
use crate::core::tracker::scene::Scene;

/// Share of marks that name another fastener than the one pulled.
const MIS_SAID: f64 = 0.01;

/// Share of typed values that are not of the fastener asked for: whoever types reads what is asked, and works on as
/// they please.
const ELSEWHERE: f64 = 0.1;

pub(in crate::core::tracker) fn ln_likelihood(scene: &Scene, assignment: &Assignment) -> f64 {
    scene.at.map_or(0.0, |at| ln_named(scene, at, MIS_SAID, assignment))
}

/// ln of the likelihood of typing a value where this fastener was asked for.
pub(in crate::core::tracker) fn ln_asked(
    scene: &Scene,
    asked: Option<usize>,
    assignment: &Assignment,
) -> f64 {
    asked.map_or(0.0, |asked| ln_named(scene, asked, ELSEWHERE, assignment))
}

fn ln_named(scene: &Scene, named: usize, other: f64, assignment: &Assignment) -> f64 {
    if assignment.fastener == Some(named) {
        (1.0 - other).ln()
    } else {
        (other / (scene.count() - 1).max(1) as f64).ln()
    }
}
