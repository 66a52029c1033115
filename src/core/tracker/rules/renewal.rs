//! Parts that are used once: brought to torque and slackened they are spent, and a new one must be in before the joint
//! may be closed.

use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::scene::Scene;

/// A part is spent from this share of the lower limit on: below it, it was only on the way.
const SPENT_SHARE: f64 = 0.9;

impl Hypothesis {
    /// Makes a fastener slack, and notes what that spends.
    pub(in crate::core::tracker) fn slacken(&mut self, scene: &Scene, fastener: usize) {
        let step = scene.step_of(fastener);
        let member = &mut self.members[fastener];
        let spent = scene.final_window(step).map(|window| window.low.nm() * SPENT_SHARE);
        let was_tight = spent.is_some_and(|nm| member.held_nm >= nm);
        member.kept.needs_new |= was_tight && scene.step(step).rules.is_used_once();
        member.slacken();
    }
}
