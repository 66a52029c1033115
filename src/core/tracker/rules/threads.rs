//! The condition of threads: a value holds for one condition. Another one is said at once and keeps the joint open: what is
//! pulled, or was pulled, with it does not count, and only slackening cures it. Nothing is worked out anew.

use crate::core::event::WarningCode;
use crate::core::joint;
use crate::core::plan::{Condition, StepIndex, Task};
use crate::core::tracker::hypothesis::SPOILS_SHARE;
use crate::core::tracker::member::Spoiled;
use crate::core::tracker::rules::words;
use crate::core::tracker::scene::Scene;
use crate::core::tracker::state::State;
use crate::core::tracker::warn::{Reason, Speaker};

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

/// What is said of a bare yes to threads that were told to be something else.
pub(in crate::core::tracker) fn refusal(scene: &Scene, condition: Condition) -> Option<String> {
    let Condition::Joint { task: Task::Threads, step, .. } = condition else { return None };
    let (asked, found) = against(scene, step.0)?;
    Some(words::threads_by_a_word(&scene.plan.step(step).group, asked, found))
}

/// What threads have to be, and what they were told to be instead.
pub(in crate::core::tracker) fn against(
    scene: &Scene,
    step: usize,
) -> Option<(joint::Condition, joint::Condition)> {
    let found = scene.unlike.get(&step)?;
    Some((scene.step(step).rules.lubrication?, *found))
}

impl State {
    /// What is on the threads of a step was told: `unlike` if it is not what the value asks.
    pub(in crate::core::tracker) fn threads(
        &mut self,
        step: StepIndex,
        unlike: Option<joint::Condition>,
    ) {
        let condition = condition(step);
        let was_unlike = self.scene.unlike.remove(&step.0).is_some();
        match unlike {
            None => self.scene.met.insert(condition),
            Some(_) => self.scene.met.remove(&condition),
        };
        self.scene.unlike.extend(unlike.map(|found| (step.0, found)));
        if unlike.is_none() && !was_unlike {
            return;
        }
        // A word about what was done with other threads is none about these.
        for fastener in self.scene.fasteners_of(step.0) {
            self.scene.said[fastener].stated = false;
        }
        if unlike.is_some() {
            self.spoil_pulled(step.0);
        }
    }

    /// What is tight was pulled with these threads, too.
    fn spoil_pulled(&mut self, step: usize) {
        let Some(closing) = self.scene.closing_pass(step) else { return };
        let scene = &self.scene;
        self.beliefs.for_all(|account| {
            for fastener in scene.fasteners_of(step) {
                let low = scene.window_for(fastener, closing).map_or(0.0, |window| window.low.nm());
                let member = &mut account.members[fastener];
                if member.held_nm > 0.0 && member.held_nm >= low * SPOILS_SHARE {
                    member.spoiled.get_or_insert(Spoiled::Threads);
                    (member.next_pass, member.partial) = (0, None);
                }
            }
        });
    }
}

impl Speaker<'_> {
    /// A pull with something else on the threads than its value asks.
    pub(in crate::core::tracker) fn wrong_threads(&mut self, index: usize, fastener: usize) {
        let step = self.scene().step_of(fastener);
        let Some((asked, found)) = against(self.scene(), step) else { return };
        if self.best().members[fastener].spoiled != Some(Spoiled::Threads) {
            return;
        }
        let about = self.named(index, fastener);
        let text = words::pulled_with(self.scene(), about.fastener, fastener, asked, found);
        self.say(Reason::Threads(step), WarningCode::HoldOpen, about, text);
    }

    /// Threads are as they should be by now: what was pulled before must be redone.
    pub(in crate::core::tracker) fn threads_put_right(&mut self, step: usize) {
        self.spoken.remove(&Reason::Threads(step));
        self.redo(self.scene().fasteners_of(step));
    }
}
