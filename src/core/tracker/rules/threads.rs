//! The condition of threads: a value holds for one condition. Another one is said at once and keeps the joint open; nothing
//! is worked out anew.

use crate::core::joint;
use crate::core::plan::{Condition, StepIndex, Task};
use crate::core::tracker::rules::words;
use crate::core::tracker::scene::Scene;

/// The condition of closing: the threads of a joint are alike, whichever of them is spoken of.
pub(in crate::core::tracker) const fn condition(step: StepIndex) -> Condition {
    Condition::Joint { task: Task::Threads, step, member: None }
}

/// True if the plan says what a joint's threads have to be. What was tight before the job was not opened.
pub(in crate::core::tracker) fn are_asked(scene: &Scene, step: usize) -> bool {
    !scene.plan.already_tight && scene.step(step).rules.lubrication.is_some()
}

/// True if nobody has said yet that they are so.
pub(in crate::core::tracker) fn lack(scene: &Scene, step: usize) -> bool {
    are_asked(scene, step) && !scene.met.contains(&condition(StepIndex(step)))
}

/// What is said of threads that are not what the value is for.
pub(in crate::core::tracker) fn mismatch(
    scene: &Scene,
    step: StepIndex,
    found: joint::Condition,
) -> Option<String> {
    let asked = scene.plan.step(step).rules.lubrication?;
    (found != asked).then(|| words::threads(&scene.plan.step(step).group, asked, found))
}
