//! Nuts that grip their thread: what is measured of the grip is added to the published torque where the plan says so.

use crate::core::plan::{PrevailingMode, Window};
use crate::core::tracker::scene::Scene;
use crate::core::units::Torque;
use std::borrow::Cow;

/// From this share of the published torque on a prevailing torque is added, where the plan has it so.
const A_THIRD: f64 = 1.0 / 3.0;

/// True if the grip of a fastener's nut must be known before its torque can be judged.
pub(in crate::core::tracker) fn is_wanted(scene: &Scene, fastener: usize) -> bool {
    scene.step(scene.step_of(fastener)).rules.adds_grip() && !scene.plan.already_tight
}

/// What is added to the torque of a fastener, N·m.
fn added(scene: &Scene, fastener: usize) -> f64 {
    let Some(grip) = scene.grip_nm[fastener].filter(|_| is_wanted(scene, fastener)) else {
        return 0.0;
    };
    let step = scene.step_of(fastener);
    let published = scene.final_window(step).map_or(0.0, |window| window.target.nm());
    match scene.step(step).rules.prevailing.map(|nut| nut.mode) {
        Some(PrevailingMode::AddMeasured) => grip,
        Some(PrevailingMode::AddIfAThird) if grip >= published * A_THIRD => grip,
        Some(PrevailingMode::AddIfAThird | PrevailingMode::AsPublished) | None => 0.0,
    }
}

impl Scene {
    /// What a pull on a fastener must reach: the window of the pass, and what is added for the grip of its nut.
    pub(in crate::core::tracker) fn window_for(
        &self,
        fastener: usize,
        pass: usize,
    ) -> Option<Cow<'_, Window>> {
        let window = self.window(self.step_of(fastener), pass)?;
        let added = added(self, fastener);
        Some(match added > 0.0 {
            true => Cow::Owned(window.raised_by(Torque::from_nm(added))),
            false => Cow::Borrowed(window),
        })
    }
}
