//! How the passes of a step stand in one account: what is due, under way, taken for done, checked.

use crate::core::event::Act;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::Member;
use crate::core::tracker::scene::Scene;

impl Hypothesis {
    /// True if `fastener` still needs a pull in `pass`.
    pub fn waits(&self, scene: &Scene, fastener: usize, pass: usize) -> bool {
        self.members[fastener].next_pass <= pass && !scene.settled_by_word(fastener)
    }

    /// The pass of a step that a next pull would be for: the one under way if somebody still waits
    /// in it, otherwise the next; none when all are done.
    pub fn pass_due(&self, scene: &Scene, step: usize) -> Option<usize> {
        let begun = self.rounds[step].pass.unwrap_or(0);
        (begun..scene.step(step).passes.len())
            .find(|pass| scene.fasteners_of(step).any(|one| self.waits(scene, one, *pass)))
    }

    /// True if the pass under way has been begun and somebody still waits for their turn in it. A check
    /// of what is tight keeps nobody waiting, and whatever must be slackened first has had its turn.
    pub fn under_way(&self, scene: &Scene, step: usize) -> bool {
        self.waits_for(scene, step, |member| member.spoiled.is_none())
    }

    /// The same of somebody who was not tried: what was left short is spoken of by itself, and keeps nobody from a round
    /// over the others.
    pub fn waits_for_untried(&self, scene: &Scene, step: usize) -> bool {
        self.waits_for(scene, step, |member| member.spoiled.is_none() && member.partial.is_none())
    }

    fn waits_for(&self, scene: &Scene, step: usize, which: impl Fn(&Member) -> bool) -> bool {
        self.rounds[step].pass.is_some_and(|pass| {
            scene.window(step, pass).is_some()
                && !scene.pass(step, pass).check
                && scene
                    .fasteners_of(step)
                    .any(|one| which(&self.members[one]) && self.waits(scene, one, pass))
        })
    }

    /// True if the pass under way is not done, and whoever does it can hardly think so: it has had
    /// fewer pulls than it has members, and nobody was passed over.
    pub fn knows_it_is_short(&self, scene: &Scene, step: usize) -> bool {
        self.under_way(scene, step) && !self.thinks_it_done(scene, step)
    }

    /// True if nobody but the last of the last pass waits: it is passed over like any other.
    pub fn lacks_last(&self, scene: &Scene, step: usize) -> bool {
        let (shape, round) = (scene.step(step), &self.rounds[step]);
        let mut later = shape.passes.iter().skip(round.pass.map_or(0, |pass| pass + 1));
        self.knows_it_is_short(scene, step)
            && round.pulled.len() + 1 == usize::from(shape.members)
            && later.all(|pass| pass.check)
    }

    /// True if nothing of the step was pulled, nor said to be settled.
    pub fn has_not_begun(&self, scene: &Scene, step: usize) -> bool {
        let untouched = |one: usize| self.members[one] == Member::default();
        scene.fasteners_of(step).all(|one| untouched(one) && !scene.settled_by_word(one))
    }

    /// True if the step is as in `new`, in which nothing was pulled or said.
    pub fn is_untouched(&self, scene: &Scene, step: usize, new: &Self) -> bool {
        let mut all = scene.fasteners_of(step);
        !self.begun(step)
            && self.members.same_at(&new.members, all.clone())
            && !all.any(|one| scene.settled_by_word(one))
    }

    /// True if the pass under way has had as many pulls as it has members, or one less and one member
    /// was passed over on the way.
    pub fn thinks_it_done(&self, scene: &Scene, step: usize) -> bool {
        let round = &self.rounds[step];
        let shape = scene.step(step);
        let members = usize::from(shape.members);
        if round.efforts >= members {
            return true;
        }
        let along =
            round.pass.is_none_or(|pass| scene.order(step, pass).begins_with(&round.pulled));
        round.pulled.len() + 1 == members && !along
    }

    /// The pass of a step that whoever has `left` it, or is about to, takes for done, and the one to torque that comes after
    /// it and was not begun.
    pub fn rests_between(&self, scene: &Scene, step: usize, left: bool) -> Option<(usize, usize)> {
        let pass = self.rounds[step].pass?;
        let due = self.pass_due(scene, step)?;
        let seems_done = || match left {
            true => self.is_left_behind(scene, step),
            false => self.under_way(scene, step) && self.thinks_it_done(scene, step),
        };
        let next = due.max(pass + 1);
        let is_to_torque = scene.step(step).passes.get(next).is_some_and(|next| !next.check);
        (is_to_torque && (due > pass || seems_done())).then_some((pass, next))
    }

    /// True if the pass under way has had as many pulls as the step has members, or of three and more one less, and
    /// somebody still waits in it: whoever is elsewhere by now thinks that it is done.
    fn is_left_behind(&self, scene: &Scene, step: usize) -> bool {
        let members = usize::from(scene.step(step).members);
        let enough = members - usize::from(members > 2);
        members > 1 && self.rounds[step].efforts >= enough && self.under_way(scene, step)
    }

    /// The same of the last pass.
    pub fn is_forgotten(&self, scene: &Scene, step: usize) -> bool {
        self.rounds[step].pass == scene.closing_pass(step) && self.is_left_behind(scene, step)
    }

    /// True if a round over what is tight was begun and is not round yet.
    pub fn checks(&self, scene: &Scene, step: usize) -> bool {
        let checked = self.rounds[step].rechecked.len();
        checked > 0 && checked < usize::from(scene.step(step).members)
    }

    /// True if a round over what is tight was begun, and somebody who is tight was not checked. One pull is no round
    /// while somebody waits.
    pub fn is_half_checked(&self, scene: &Scene, step: usize) -> bool {
        let checked = self.rounds[step].rechecked.len();
        checked > 0
            && checked > usize::from(!self.finished(scene, step))
            && self.leaves_unchecked(scene, step)
    }

    /// True if a round over what is tight went over all of it.
    pub fn is_checked(&self, scene: &Scene, step: usize) -> bool {
        self.rounds[step].rechecked.len() > 1 && !self.leaves_unchecked(scene, step)
    }

    fn leaves_unchecked(&self, scene: &Scene, step: usize) -> bool {
        let least = self.tight_after(scene, step);
        let checked = &self.rounds[step].rechecked;
        scene.fasteners_of(step).any(|one| {
            self.members[one].next_pass > least && !checked.contains(&scene.id(one).member)
        })
    }

    /// The pass that whoever is through with is tight, as a round over what is tight goes.
    pub fn tight_after(&self, scene: &Scene, step: usize) -> usize {
        let (begun, closing) = (self.rounds[step].pass, scene.closing_pass(step));
        [begun, closing].into_iter().flatten().min().unwrap_or_default()
    }

    /// True if the last pull was one on something of the step that was tight already, and no habit.
    pub fn has_repeated(&self, scene: &Scene, step: usize) -> bool {
        self.last.is_some_and(|last| {
            last.act == Act::Recheck && !last.double && scene.step_of(last.fastener) == step
        })
    }

    /// True if one of the last `pulls` tightened somebody in this pass of a step.
    pub fn tightened(&self, scene: &Scene, (step, pass): (usize, usize), pulls: usize) -> bool {
        self.history.iter().rev().take(pulls).any(|past| {
            let here = past.was.fastener.is_some_and(|one| scene.step_of(one) == step);
            here && past.was.act == Act::Tighten && past.was.pass == pass
        })
    }

    /// True if something was pulled in a step.
    pub fn begun(&self, step: usize) -> bool {
        self.rounds[step].pass.is_some()
    }

    /// True if nobody waits any more but for a check.
    pub fn finished(&self, scene: &Scene, step: usize) -> bool {
        self.pass_due(scene, step).is_none_or(|due| scene.pass(step, due).check)
    }

    /// True if the fastener was brought to its final window and nothing spoils it.
    pub fn done(&self, scene: &Scene, fastener: usize) -> bool {
        let step = scene.step_of(fastener);
        let member = &self.members[fastener];
        scene.closing_pass(step).is_some_and(|pass| member.next_pass > pass)
            && !member.over
            && member.spoiled.is_none()
            && !member.breaks_a_rule()
    }

    /// True if the plan ends with a check of the whole step, which has had fewer pulls than the step has members, and
    /// none on this fastener.
    pub fn awaits_check(&self, scene: &Scene, fastener: usize) -> bool {
        let step = scene.step_of(fastener);
        let Some(check) = scene.final_check(step) else { return false };
        let round = &self.rounds[step];
        let made =
            round.pass == Some(check) && round.efforts >= usize::from(scene.step(step).members);
        !made && self.members[fastener].next_pass <= check
    }
}
