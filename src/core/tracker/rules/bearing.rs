//! Bearings that are set by torque, backing off, and a low torque: the turning back is part of the recipe.

use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::{Member, Spoiled};
use crate::core::tracker::scene::Scene;

/// The pass that comes after backing off, if that is what turning the fastener back is now: it was brought to the torque
/// before, and not yet to the one after.
pub(in crate::core::tracker) fn backs_off(
    scene: &Scene,
    member: &Member,
    fastener: usize,
) -> Option<usize> {
    let step = scene.step_of(fastener);
    let back_off = scene.step(step).back_off()?;
    let set = scene.closing_pass(step).is_some_and(|closing| member.next_pass > closing);
    let too_tight_still = member.spoiled == Some(Spoiled::Unturned);
    (member.next_pass > 0 && !set && !member.over || too_tight_still).then_some(back_off + 1)
}

/// True if a pull in `pass` comes after a backing off that nothing told of.
fn was_backed_off(scene: &Scene, step: usize, next_pass: usize, pass: usize) -> bool {
    let between = next_pass..pass;
    !between.is_empty() && scene.step(step).back_off().is_some_and(|one| between.contains(&one))
}

impl Hypothesis {
    /// The torque that a fastener holds when it is pulled in `pass`, N·m.
    pub(in crate::core::tracker) fn held_nm(
        &self,
        scene: &Scene,
        fastener: usize,
        pass: usize,
    ) -> f64 {
        let member = &self.members[fastener];
        let slack = was_backed_off(scene, scene.step_of(fastener), member.next_pass, pass);
        if slack { 0.0 } else { member.held_nm }
    }
}

impl Member {
    /// Backed off as the recipe wants, so that `next` is due.
    pub(in crate::core::tracker) fn back_off(&mut self, next: usize) {
        *self = Self { next_pass: next, kept: self.kept, ..Self::default() };
    }
}
