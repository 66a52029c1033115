//! Which adapter is on the ratchet: people take the one whose range covers the joint.

use crate::core::tracker::pull::{Assignment, Seen, out_of_range};
use crate::core::tracker::scene::Scene;

/// Share of pulls made with an adapter whose range does not cover the target.
const WRONG_ADAPTER: f64 = 0.05;

pub(in crate::core::tracker) fn ln_likelihood(
    scene: &Scene,
    seen: &Seen,
    assignment: &Assignment,
) -> f64 {
    let window = assignment
        .fastener
        .and_then(|fastener| scene.window(scene.step_of(fastener), assignment.pass));
    match (window, seen.range) {
        (Some(window), Some(range)) if out_of_range(range, window.target.nm()) => {
            WRONG_ADAPTER.ln()
        }
        _ => 0.0,
    }
}
