//! A hold that is confirmed with its figure: the height as it is now, held against the height as it was found.

use crate::core::tracker::rules::words;
use crate::core::tracker::scene::Scene;

/// What speaks against a hold whose figure is `mm`, if anything does: a length noted as found that is compared at this
/// hold, and differs by more than the plan allows.
pub(in crate::core::tracker) fn refusal(scene: &Scene, hold: usize, mm: f64) -> Option<String> {
    let facts = scene.plan.around.as_found.iter().zip(&scene.found);
    facts.filter(|(fact, _)| fact.compared_at == Some(hold)).find_map(|(fact, found)| {
        let (within, found) = (fact.within_mm?, (*found)?);
        let off = (mm - found).abs() > within;
        off.then(|| words::not_at_height(scene, hold, mm, (found, within)))
    })
}
