//! What keeps a joint, or the job, from being closed although its torque is right.

use crate::core::event::WarningCode;
use crate::core::plan::{Condition, Task, also_name, also_text, check_name, check_text};
use crate::core::snapshot::JointState;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::Member;
use crate::core::tracker::rules::{
    Angle, Harm, Kept, prevailing, renewal, soundness, threads, words,
};
use crate::core::tracker::scene::Scene;
use crate::core::tracker::state::State;
use crate::core::tracker::warn::{About, Reason, Speaker};

/// What must still be confirmed of one fastener, in the order in which it is asked.
pub(in crate::core::tracker) fn lacking(
    scene: &Scene,
    account: &Hypothesis,
    fastener: usize,
) -> Vec<Task> {
    let kept = &account.members[fastener].kept;
    let all = [
        (grip_lacks(scene, fastener), Task::Grip),
        (threads::lack(scene, scene.step_of(fastener)), Task::Threads),
        (soundness::lacks(scene, account, fastener), Task::Sound),
        (renewal::lacks(scene, account, fastener), Task::Renewed),
        (kept.angle == Angle::Unknown && !scene.said[fastener].stated, Task::Turned),
        (!kept.secured && secures(scene, fastener), Task::Secured),
    ];
    all.into_iter().filter(|(lacks, _)| *lacks).map(|(_, task)| task).collect()
}

fn grip_lacks(scene: &Scene, fastener: usize) -> bool {
    prevailing::is_wanted(scene, fastener) && scene.grip_nm[fastener].is_none()
}

/// What must be told of a fastener before it is pulled.
pub(in crate::core::tracker) fn first_of(
    scene: &Scene,
    account: &Hypothesis,
    fastener: usize,
) -> Option<Asked> {
    let first = if grip_lacks(scene, fastener) {
        Task::Grip
    } else if threads::lack(scene, scene.step_of(fastener)) {
        Task::Threads
    } else {
        return None;
    };
    Some(asked(scene, together(scene, account, fastener, first), false))
}

fn secures(scene: &Scene, fastener: usize) -> bool {
    !scene.plan.already_tight && scene.step(scene.step_of(fastener)).rules.secures().is_some()
}

/// True if the fastener is as it should be but for what must still be confirmed.
fn is_tight(scene: &Scene, account: &Hypothesis, fastener: usize) -> bool {
    account.done(scene, fastener) || scene.said[fastener].stated
}

/// How far a fastener's joint has been put together.
pub(in crate::core::tracker) fn joint_state(
    scene: &Scene,
    account: &Hypothesis,
    fastener: usize,
) -> JointState {
    let member = &account.members[fastener];
    let closing = scene.closing_pass(scene.step_of(fastener));
    let at_last = closing.is_some_and(|closing| member.next_pass > closing);
    if at_last || scene.said[fastener].stated {
        return if member.kept.secured { JointState::Secured } else { JointState::Tight };
    }
    match member.next_pass {
        0 if member.held_nm > 0.0 => JointState::Started,
        0 if scene.plan.already_tight && !member.kept.opened => JointState::Closed,
        0 => JointState::Open,
        _ => JointState::Snug,
    }
}

/// Something that is confirmed beside the holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::core::tracker) struct Asked {
    /// Its name.
    pub name: String,
    /// What is asked.
    pub text: String,
    /// Confirmed?
    pub met: bool,
}

/// Everything that is confirmed beside the holds, and whether it is.
pub(in crate::core::tracker) fn conditions(state: &State) -> Vec<Asked> {
    let scene = &state.scene;
    let best = state.beliefs.best();
    let mut found: Vec<(Condition, bool)> = Vec::new();
    for fastener in 0..scene.count() {
        let kept = &best.members[fastener].kept;
        let lacking = lacking(scene, best, fastener);
        let mut add = |task| {
            let met = !lacking.contains(&task);
            let condition = if met && task == Task::Renewed {
                Condition::of(task, scene.id(fastener))
            } else {
                together(scene, best, fastener, task)
            };
            if !found.contains(&(condition, met)) {
                found.push((condition, met));
            }
        };
        if prevailing::is_wanted(scene, fastener) {
            add(Task::Grip);
        }
        if threads::are_asked(scene, scene.step_of(fastener)) {
            add(Task::Threads);
        }
        if soundness::is_asked(scene, best, fastener) {
            add(Task::Sound);
        }
        if kept.needs_new || renewal::is_planned(scene, fastener) {
            add(Task::Renewed);
        }
        if kept.angle != Angle::Told {
            add(Task::Turned);
        }
        if secures(scene, fastener) {
            add(Task::Secured);
        }
    }
    let joints = found.into_iter().map(|(condition, met)| asked(scene, condition, met));
    joints.chain(items(scene)).collect()
}

/// What is asked of a fastener, of its whole group where one answer is for all: threads are alike, and new parts are put
/// in together where every fastener lacks one.
fn together(scene: &Scene, account: &Hypothesis, fastener: usize, task: Task) -> Condition {
    let one = Condition::of(task, scene.id(fastener));
    let step = scene.step_of(fastener);
    let all = match task {
        Task::Threads => true,
        Task::Renewed => scene.fasteners_of(step).all(|one| renewal::lacks(scene, account, one)),
        Task::Secured | Task::Turned | Task::Grip | Task::Sound => false,
    };
    let group = one.of_group().filter(|_| all && scene.step(step).members > 1);
    group.unwrap_or(one)
}

fn asked(scene: &Scene, condition: Condition, met: bool) -> Asked {
    let name = scene.plan.condition_name(condition);
    let unlike = match condition {
        Condition::Joint { task: Task::Threads, step, .. } => threads::against(scene, step.0)
            .map(|(asked, found)| words::threads_asked(&scene.step(step.0).group, asked, found)),
        _ => None,
    };
    let text = unlike.unwrap_or_else(|| scene.plan.condition_text(condition));
    Asked { name, text, met }
}

/// Everything of the job's own lists, and every adapter that was overloaded.
fn items(scene: &Scene) -> impl Iterator<Item = Asked> + '_ {
    let own = scene.plan.items().map(|item| asked(scene, item, scene.met.contains(&item)));
    let adapters = scene.overloaded.iter().map(|one| Asked {
        name: check_name(&one.adapter),
        text: check_text(&one.adapter),
        met: one.checked,
    });
    let also = scene.also.iter().map(|(name, closed)| Asked {
        name: also_name(name),
        text: also_text(name),
        met: *closed,
    });
    own.chain(also).chain(adapters)
}

/// What should have been noted before anything was opened, and was not.
pub(in crate::core::tracker) fn unnoted(scene: &Scene) -> Option<Asked> {
    let open = scene.plan.as_found().find(|fact| !scene.met.contains(fact))?;
    Some(asked(scene, open, false))
}

/// What is not confirmed and belongs to no joint.
pub(in crate::core::tracker) fn open_items(scene: &Scene) -> impl Iterator<Item = Asked> + '_ {
    items(scene).filter(|item| !item.met)
}

/// What is asked next of a fastener of `step`, whose torques are done.
pub(in crate::core::tracker) fn next_of(state: &State, step: usize) -> Option<Asked> {
    let scene = &state.scene;
    let best = state.beliefs.best();
    scene.fasteners_of(step).find_map(|fastener| {
        let tight = is_tight(scene, best, fastener) && !scene.said[fastener].skipped;
        let first = lacking(scene, best, fastener).into_iter().next().filter(|_| tight)?;
        Some(asked(scene, together(scene, best, fastener, first), false))
    })
}

impl Member {
    /// The operator confirmed something of it.
    pub(in crate::core::tracker) fn confirm(&mut self, task: Task) {
        match task {
            Task::Secured => self.kept.secured = true,
            Task::Turned => {
                if self.kept.angle == Angle::Unknown {
                    self.kept.angle = Angle::Said;
                }
            }
            Task::Renewed => self.kept.needs_new = false,
            Task::Sound => {
                if self.kept.harm == Harm::Suspected {
                    self.kept.harm = Harm::LookedAt;
                }
            }
            // Known of the joint, whatever account is right.
            Task::Grip | Task::Threads => {}
        }
    }

    /// True if what the plan asks beside the torque window speaks against it.
    pub(in crate::core::tracker) fn breaks_a_rule(&self) -> bool {
        let Kept { too_far, weak, may_be_high, past_slot, cured, .. } = self.kept;
        too_far || weak || may_be_high || past_slot || cured
    }
}

impl Speaker<'_> {
    /// The job ends, and something that keeps it open was not confirmed.
    pub(in crate::core::tracker) fn unconfirmed(&mut self) {
        let state = self.state;
        let scene = &state.scene;
        let best = state.beliefs.best();
        for fastener in 0..scene.count() {
            if !is_tight(scene, best, fastener) || scene.said[fastener].skipped {
                continue;
            }
            for task in lacking(scene, best, fastener) {
                let about = About { fastener: Some(fastener), reading: None };
                let asked = asked(scene, together(scene, best, fastener, task), false);
                self.say_unconfirmed(asked, about);
            }
        }
        for item in open_items(scene) {
            self.say_unconfirmed(item, About { fastener: None, reading: None });
        }
    }

    fn say_unconfirmed(&mut self, asked: Asked, about: About) {
        let text = words::unconfirmed(&asked.text);
        self.say(Reason::Unconfirmed(asked.name), WarningCode::Unconfirmed, about, text);
    }
}
