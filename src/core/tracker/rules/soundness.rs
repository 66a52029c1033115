//! Joints whose failure can cost a life are asked for more: whatever may have hurt thread, seat or part, they have to be
//! looked at, each of them, before the joint is closed. Of other joints it is told, and left to whoever works.

use crate::core::event::Act;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::{Member, Spoiled};
use crate::core::tracker::pull::Seen;
use crate::core::tracker::rules::Harm;
use crate::core::tracker::scene::Scene;

/// True if somebody has to look at a fastener before its joint is closed.
pub(in crate::core::tracker) fn lacks(
    scene: &Scene,
    account: &Hypothesis,
    fastener: usize,
) -> bool {
    is_asked(scene, account, fastener) && account.members[fastener].kept.harm == Harm::Suspected
}

/// True if looking at it was asked in this job, whether or not it was done.
pub(in crate::core::tracker) fn is_asked(
    scene: &Scene,
    account: &Hypothesis,
    fastener: usize,
) -> bool {
    let harm = account.members[fastener].kept.harm;
    scene.step(scene.step_of(fastener)).life_critical && harm != Harm::None
}

impl Member {
    /// True if what was done to it may have hurt it: over its torque or its angle, stretched, or driven by a gun.
    pub(in crate::core::tracker) fn was_strained(&self) -> bool {
        let kept = &self.kept;
        let driven = self.spoiled == Some(Spoiled::Driven);
        self.over || kept.too_far || kept.weak || driven
    }

    /// A pull was made on it. What it was strained by before was asked for then.
    pub(in crate::core::tracker) fn mind_harm(&mut self, seen: &Seen, act: Act, strained: bool) {
        let pulled = matches!(act, Act::Tighten | Act::Recheck);
        if pulled && (self.was_strained() && !strained || seen.gives) {
            self.kept.harm = Harm::Suspected;
        }
    }
}
