//! Parts that are used once: a new one has to be in before the joint may be closed, and another once it was brought to
//! torque and slackened.

use crate::core::plan::{Condition, Task};
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::scene::Scene;

/// A part is spent from this share of the lower limit on: below it, it was only on the way.
const SPENT_SHARE: f64 = 0.9;

/// True if this fastener has a part that is used once, so that a new one goes in. What was tight before the job keeps what
/// it has.
pub(in crate::core::tracker) fn is_planned(scene: &Scene, fastener: usize) -> bool {
    !scene.plan.already_tight && scene.step(scene.step_of(fastener)).rules.is_used_once()
}

/// True if nobody has said yet that the new part is in.
pub(in crate::core::tracker) fn lacks(
    scene: &Scene,
    account: &Hypothesis,
    fastener: usize,
) -> bool {
    let said = || scene.met.contains(&Condition::of(Task::Renewed, scene.id(fastener)));
    account.members[fastener].kept.needs_new || is_planned(scene, fastener) && !said()
}

impl Hypothesis {
    /// Makes a fastener slack, and notes what that spends.
    pub(in crate::core::tracker) fn slacken(&mut self, scene: &Scene, fastener: usize) {
        let step = scene.step_of(fastener);
        let member = &mut self.members[fastener];
        let spent = scene.final_window(step).map(|window| window.low.nm() * SPENT_SHARE);
        let was_tight = spent.is_some_and(|nm| member.held_nm >= nm);
        member.kept.needs_new |= was_tight && scene.step(step).rules.is_used_once();
        // What is turned by an angle and went too far, or stretched, is replaced, whatever the plan says of it.
        let by_angle = scene.step(step).angles().next().is_some();
        member.kept.needs_new |= by_angle && member.was_strained();
        member.slacken();
    }
}
