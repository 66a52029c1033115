//! What could be told at best: an idealised matcher, for a bound that no program passes by much.
//!
//! It knows what no program does: what goes wrong and how often, though not that one thing at most does; how
//! often somebody does what, and how long this one pauses; what the joints have in common, and whether the
//! gun left the nuts tight; which swings make one tightening, and who was given up. It judges twice: when all
//! is over, and after each effort by what came so far, as somebody must who speaks at once. It has to find
//! out how the ring lies, and how wide it is, if no plan tells it; which efforts belong to which pass, where
//! their target is the same, and whether there was a round of checks that no plan asks for; which member each
//! tightening was on, and whether that was tight already. For that it has what the adapter tells, and goes
//! through everything that the job can have been, as jobs are generated, which nobody can count on. Densities
//! are learnt from other jobs, so that it is an estimate from below of what could be told by somebody who
//! knew all that.

mod densities;
mod efforts;
mod group;
mod scripts;
mod seen;
mod swings;
mod ways;

use super::class::Class;
use super::job::Job;
use super::measure::Judged;
use super::tell;
use clampbook::core::plan::Step;
pub use densities::Densities;
use efforts::{Effort, Heard, efforts};
use group::Group;

/// Share of moves that are told wrong by far more than their deviation, by how much, and of marks that
/// are mis-said: as they are told.
const WRONG: (f64, f64) = tell::WRONG;
const MIS_SAID: f64 = tell::MIS_SAID;

/// What it makes of one job.
#[derive(Debug, Default)]
pub struct Ideal {
    /// Probability that it happened somewhere in the job, and whether it did.
    pub repeat: Judged,
    pub skipped: Judged,
    pub crooked: Judged,
    /// The same, at most, of what it could say at once: of a repeat after each effort, of one who was left
    /// out when a pass was over. Whom it names is judged at the end.
    pub repeat_at_once: Judged,
    pub skipped_at_once: Judged,
    /// Members that it is sure enough were not left out, and how many of these were.
    pub shown: usize,
    pub untrue: usize,
    /// Its probability of every reading whose fastener can be known, and whether it is right.
    pub known: Vec<Judged>,
}

/// How sure it must be to call one of a step shown: as the tracker.
fn level(step: &Step) -> f64 {
    if step.life_critical { 0.99 } else { 0.95 }
}

pub fn judge(job: &Job, class: &Class, densities: &Densities) -> Ideal {
    let heard = Heard::of(&tell::inputs(job, class));
    let mut found = Ideal::default();
    let mut misnamed = false;
    let (mut no_repeat, mut no_skip, mut no_order) = (1.0, 1.0, 1.0);
    let (mut never_repeat, mut never_skip) = (1.0, 1.0);
    for index in 0..job.groups.len() {
        let efforts = efforts(job, class, index, &heard, densities);
        let group = Group::weigh(job, index, &efforts, true);
        let truth = &job.groups[index];
        let (known, names) = group.known(class, truth, &efforts);
        found.known.extend(known);
        let (shown, untrue) = group.shown(truth, &names, level(&job.plan.steps[index]));
        found.shown += shown;
        found.untrue += untrue;
        if truth.blind(class) {
            continue;
        }
        no_repeat *= 1.0 - group.repeat;
        no_skip *= 1.0 - group.skipped;
        no_order *= 1.0 - group.crooked;
        let (mut repeat, mut skipped) = (group.repeat, group.skipped);
        for count in 1..efforts.len() {
            let [last, next] = [count - 1, count].map(|place| efforts[place].pulls[0].1.pass);
            let group = Group::weigh(job, index, &efforts[..count], false);
            repeat = repeat.max(group.repeat);
            skipped = if last == next { skipped } else { skipped.max(group.skipped) };
        }
        never_repeat *= 1.0 - repeat;
        never_skip *= 1.0 - skipped;
        found.repeat.1 |= efforts.iter().any(|one| one.pulls.iter().any(|(_, pull)| pull.repeat));
        misnamed |=
            truth.placed(class) && !truth.left_out.is_empty() && group.misnames(truth, &names);
        found.skipped.1 |= !truth.left_out.is_empty();
        found.crooked.1 |= truth.crooked;
    }
    found.repeat.0 = 1.0 - no_repeat;
    // Whoever names another one has not found it.
    found.skipped.0 = if misnamed { 0.0 } else { 1.0 - no_skip };
    found.repeat_at_once = (1.0 - never_repeat, found.repeat.1);
    found.skipped_at_once = (if misnamed { 0.0 } else { 1.0 - never_skip }, found.skipped.1);
    found.crooked.0 = 1.0 - no_order;
    found
}
