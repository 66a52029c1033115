//! What a next pull is for, account by account.

use crate::core::plan::{Expect, Window};
use crate::core::tracker::evidence::order::prerequisite;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::scene::Scene;
use crate::core::tracker::state::State;

/// The step and the pass that a next pull is for in one account: go on where the last pull was, otherwise with the
/// first step that may be begun.
pub(super) fn due(scene: &Scene, account: &Hypothesis) -> Option<(usize, usize)> {
    let due = |step: usize| account.pass_due(scene, step);
    let active = scene.at.or(account.last.map(|last| last.fastener)).map(|one| scene.step_of(one));
    let first = (0..scene.plan.steps.len())
        .find(|step| due(*step).is_some() && prerequisite(scene, account, *step).is_none());
    let step = active.filter(|step| due(*step).is_some()).or(first)?;
    Some((step, due(step)?))
}

/// The first pass from `pass` on of which anything is heard.
pub(super) fn heard(scene: &Scene, step: usize, pass: usize) -> Option<usize> {
    (pass..scene.step(step).passes.len())
        .find(|pass| scene.pass(step, *pass).expect != Expect::ByHand)
}

/// The probability that the next pull is asked for the window that the best account asks it for.
pub(super) fn alike(state: &State) -> f64 {
    let scene = &state.scene;
    let asked = asked(scene, state.beliefs.best());
    state.beliefs.probability(|account| self::asked(scene, account) == asked)
}

/// The window that the next pull is asked for in one account, and whether it turns to the left.
fn asked<'s>(scene: &'s Scene, account: &Hypothesis) -> Option<(&'s Window, bool)> {
    let (step, pass) = due(scene, account)?;
    let window = scene.window(step, heard(scene, step, pass)?)?;
    Some((window, scene.step(step).left_hand))
}
