//! How people go about a plan: where the next pull is likely to be, before the pull is looked at.
//!
//! The shares are a starting judgement of workshop habit, not fitted to records. They are written as
//! shares of the probability mass, split evenly among the fasteners that share a description.

use crate::core::event::Act;
use crate::core::plan::StepIndex;
use crate::core::tracker::evidence::members::Shares;
use crate::core::tracker::evidence::walk;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::Last;
use crate::core::tracker::pull::Assignment;
use crate::core::tracker::rules::{bearing, castle};
use crate::core::tracker::scene::Scene;
use std::ops::Range;

/// A pull on nothing in the plan.
const TRIAL: f64 = 0.004;
/// Going on with a tightening that stopped below this share of its lower limit…
const FAR_BELOW: f64 = 0.6;
/// …is nearly certain,
const GO_ON_FAR: f64 = 0.99;
/// and above it still usual.
const GO_ON_NEAR: f64 = 0.97;
/// The same where torque is reached and only the turn is short.
const GO_ON_TURNING: f64 = 0.82;
/// Going on to the next slot of a castle nut, which is seldom where its torque is reached.
const ON_TO_SLOT: f64 = 0.8;
/// Pulling again at once what is tight and was let go below its window.
const CHECK_AGAIN: f64 = 0.85;
/// The same where it was let go within its window, well below the target.
const CHECK_WEAK_AGAIN: f64 = 0.3;
/// Pulling anew what was just slackened.
const REDO: f64 = 0.7;
/// Staying with a group whose pass is under way.
const STAY: f64 = 0.97;
/// The same once whoever does it may think that it is done, though one is left out.
const STAY_AFTER_ENOUGH: f64 = 0.65;
/// Going straight on to the group's next pass,
const NEXT_PASS: f64 = 0.75;
/// and the same where another group like it was left after the same pass.
const STAY_BY_PASS: f64 = 0.15;
/// A check round (or one more pull) right after a group was finished.
const CHECK_AFTER: f64 = 0.25;
/// Going on with a check round that was begun and is not round yet.
const CHECK_GOES_ON: f64 = 0.93;
/// Of what is left: the first step in the plan that may be done now.
const PLAN_FIRST: f64 = 0.75;
/// A step whose prerequisites are not done, against one whose are: whoever is given an order mostly
/// keeps to it.
const TOO_EARLY: f64 = 0.02;
/// Going back to a finished group, against starting an open one.
const BACK_TO_FINISHED: f64 = 0.05;
/// Once all groups are finished: to the one that comes next in the plan, against any other.
const CHECKED_NEXT: f64 = 8.0;
/// Staying with a group once all that are tight in it were checked,
const STAY_CHECKED: f64 = 0.1;
/// and somebody waits, who may have been spoken of.
const STAY_CHECKED_SHORT: f64 = 0.4;

/// The prior over what a next pull is, given one account; the shares sum to 1.
pub(in crate::core::tracker) fn expectations(
    scene: &Scene,
    account: &Hypothesis,
) -> Vec<(Assignment, f64)> {
    let mut prior = Prior::default();
    prior.expect(scene, account, None, |_| 0.0);
    prior.shares
}

/// The same, and what was worked out of it already, from account to account at one pull.
#[derive(Default)]
pub(in crate::core::tracker) struct Prior {
    pub shares: Vec<(Assignment, f64)>,
    /// In order of `places`.
    pub again: Vec<Again>,
    fresh: Vec<Fresh>,
    steps: Vec<(usize, f64)>,
}

/// What falls to a group that nobody has touched.
struct Fresh {
    /// The first group that is like it, and its share of everything.
    kin: usize,
    share: f64,
    /// Fasteners are counted from the first of the group.
    found: Vec<(Assignment, f64)>,
    /// The first fastener of the first group in this account to which it falls, and where that stands.
    here: Option<(usize, Range<usize>)>,
}

/// What is at `places` is what is at `first`, of fasteners so many further `on`: two groups are alike, and nobody has
/// touched either. Whatever is weighed of the one holds for the other, but for what was said of where the pull is.
pub(in crate::core::tracker) struct Again {
    pub first: Range<usize>,
    pub places: Range<usize>,
    pub on: usize,
}

impl Prior {
    /// `new`: an account in which nothing has happened, if one is at hand. Left out are steps to which all in all less than
    /// `least` of it falls.
    pub fn expect(
        &mut self,
        scene: &Scene,
        account: &Hypothesis,
        new: Option<&Hypothesis>,
        least: impl Fn(usize) -> f64,
    ) {
        self.shares.clear();
        self.again.clear();
        self.fresh.iter_mut().for_each(|one| one.here = None);
        let found = std::mem::take(&mut self.shares);
        let mut shares = Shares { scene, account, found };
        shares.add(Assignment::TRIAL, TRIAL);
        let mut left = 1.0;
        if let Some((fastener, pass, share)) = unfinished(scene, account) {
            shares.add(Assignment::new(fastener, pass, Act::Tighten), share);
            left -= share;
        } else if let Some(last) = account.last.filter(Last::proves_little) {
            let share = if last.short { CHECK_AGAIN } else { CHECK_WEAK_AGAIN };
            shares.add(Assignment::new(last.fastener, last.pass, Act::Recheck), share);
            left -= share;
        }
        let mut spared = 0.0;
        step_shares(scene, account, &mut self.steps);
        for place in 0..self.steps.len() {
            let (step, share) = self.steps[place];
            let share = left * share;
            if share < least(step) {
                spared += share;
            } else if new.is_some_and(|new| account.is_untouched(scene, step, new)) {
                self.fresh(&mut shares, step, share);
            } else {
                shares.step(step, share);
            }
        }
        let total: f64 = spared + shares.found.iter().map(|(_, share)| share).sum::<f64>();
        shares.found.iter_mut().for_each(|(_, share)| *share /= total);
        self.shares = shares.found;
    }

    /// Shares out what falls to a group that nobody has touched.
    fn fresh(&mut self, shares: &mut Shares<'_>, step: usize, share: f64) {
        let kin = shares.scene.kin(step);
        let start = shares.scene.fasteners_of(step).start;
        let from = shares.found.len();
        let known = self.fresh.iter_mut().find(|one| one.kin == kin && one.share == share);
        let Some(known) = known else {
            shares.step(step, share);
            let found = shares.found[from..].iter();
            let found = found.map(|(one, share)| (one.counted_from(start), *share)).collect();
            let here = Some((start, from..shares.found.len()));
            self.fresh.push(Fresh { kin, share, found, here });
            return;
        };
        shares.found.extend(known.found.iter().map(|(one, share)| (one.further(start), *share)));
        let places = from..shares.found.len();
        match &known.here {
            Some(_) if places.is_empty() => {}
            Some((like, first)) => {
                self.again.push(Again { first: first.clone(), places, on: start - like });
            }
            None => known.here = Some((start, places)),
        }
    }
}

/// The tightening that the last pull left short, and how likely it is to be gone on with.
fn unfinished(scene: &Scene, account: &Hypothesis) -> Option<(usize, usize, f64)> {
    let last = account.last?;
    if slack_again(scene, account, last.fastener) {
        let step = scene.step_of(last.fastener);
        let pass = account.rounds[step].pass.unwrap_or(last.pass);
        return Some((last.fastener, pass.max(last.pass), REDO));
    }
    if castle::goes_on(scene, account, last.fastener) {
        return Some((last.fastener, last.pass, ON_TO_SLOT));
    }
    let partial = account.members[last.fastener].partial?;
    let window = scene.window(scene.step_of(last.fastener), partial.pass);
    let low = window.map_or(0.0, |window| window.low.nm());
    let share = match partial.nm {
        nm if nm < low * FAR_BELOW => GO_ON_FAR,
        nm if nm < low => GO_ON_NEAR,
        _ => GO_ON_TURNING,
    };
    Some((last.fastener, partial.pass, share))
}

/// True if the fastener of the last pull has been slackened since (or by it), and waits.
fn slack_again(scene: &Scene, account: &Hypothesis, fastener: usize) -> bool {
    let member = &account.members[fastener];
    let tried = member.partial.is_some() || member.spoiled.is_some() || member.held_nm > 0.0;
    member.next_pass == 0 && !tried && !scene.settled_by_word(fastener)
}

/// How the next pull is shared out among the steps.
fn step_shares(scene: &Scene, account: &Hypothesis, steps: &mut Vec<(usize, f64)>) {
    let active = account.last.map(|last| scene.step_of(last.fastener));
    let by_pass = active.and_then(|active| next_by_pass(scene, account, active));
    let stay = active.map_or(0.0, |step| {
        if by_pass.is_some() {
            STAY_BY_PASS
        } else if account.is_half_checked(scene, step) {
            CHECK_GOES_ON
        } else if account.is_checked(scene, step) {
            if account.finished(scene, step) { STAY_CHECKED } else { STAY_CHECKED_SHORT }
        } else if account.lacks_last(scene, step) {
            1.0 - walk::passed_over(usize::from(scene.step(step).members))
        } else if account.knows_it_is_short(scene, step) {
            STAY
        } else if account.under_way(scene, step) {
            let last = account.rounds[step].pass.map_or(0, |pass| pass + 1);
            let more = last < scene.step(step).passes.len();
            if more { NEXT_PASS } else { STAY_AFTER_ENOUGH }
        } else if account.pass_due(scene, step).is_some() {
            NEXT_PASS
        } else {
            CHECK_AFTER
        }
    });
    other_step_shares(scene, account, (active, by_pass), steps);
    let total: f64 = steps.iter().map(|(_, share)| share).sum();
    if total > 0.0 {
        for (_, share) in steps.iter_mut() {
            *share *= (1.0 - stay) / total;
        }
    }
    steps.extend(active.map(|step| (step, stay)));
}

/// Of each step but the active one, how likely it is gone to, beside the others. `by_pass`: where the next is by its pass.
fn other_step_shares(
    scene: &Scene,
    account: &Hypothesis,
    (active, by_pass): (Option<usize>, Option<usize>),
    shares: &mut Vec<(usize, f64)>,
) {
    // A castle nut between two slots keeps nobody from what comes next, and is not forgotten either.
    let goes_on = |step| scene.fasteners_of(step).any(|one| castle::goes_on(scene, account, one));
    let (mut first, mut waiting) = (by_pass, 0);
    shares.clear();
    for step in (0..scene.plan.steps.len()).filter(|step| Some(*step) != active) {
        let open = !account.finished(scene, step);
        let behind = open && account.is_forgotten(scene, step);
        let early = open && !behind && comes_too_early(scene, account, step);
        if first.is_none() && open && !early && !behind {
            first = Some(step);
        }
        let share = if first == Some(step) {
            PLAN_FIRST
        } else if open || goes_on(step) {
            waiting += 1;
            if early { TOO_EARLY } else { 1.0 }
        } else {
            BACK_TO_FINISHED
        };
        shares.push((step, share));
    }
    // Once all is done, one group after the other is checked.
    if first.is_none() && waiting == 0 && !shares.is_empty() {
        let next = shares.iter().position(|(step, _)| active.is_some_and(|active| *step > active));
        shares[next.unwrap_or(0)].1 *= CHECKED_NEXT;
    }
    let each = (1.0 - PLAN_FIRST) / f64::from(waiting.max(1));
    let others = shares.iter_mut().filter(|(step, _)| Some(*step) != first);
    others.for_each(|(_, share)| *share *= each);
}

/// Where the same pass of several groups is made before the next of any, as on wheels that are lowered in between: the
/// group that comes next.
fn next_by_pass(scene: &Scene, account: &Hypothesis, active: usize) -> Option<usize> {
    let (pass, _) = account.rests_between(scene, active, false)?;
    let like = |step: &usize| *step != active && scene.kin(*step) == scene.kin(active);
    let others = || (0..scene.plan.steps.len()).filter(like);
    let rests = |step: usize| account.rests_between(scene, step, true);
    others().find(|step| rests(*step).is_some_and(|one| one.0 == pass))?;
    let due = |step| rests(step).map(|one| one.1).or_else(|| account.pass_due(scene, step));
    others().filter_map(|step| Some((due(step)?, step))).min().map(|one| one.1)
}

/// True if a step must be done before `step`, and whoever goes on can hardly think that it is.
fn comes_too_early(scene: &Scene, account: &Hypothesis, step: usize) -> bool {
    prerequisites(scene, step)
        .any(|before| !account.finished(scene, before) && !account.is_forgotten(scene, before))
}

/// The first step that must be done before `step` and is not.
pub(in crate::core::tracker) fn prerequisite(
    scene: &Scene,
    account: &Hypothesis,
    step: usize,
) -> Option<usize> {
    prerequisites(scene, step).find(|before| !account.finished(scene, *before))
}

fn prerequisites(scene: &Scene, step: usize) -> impl Iterator<Item = usize> {
    let listed = scene.step(step).after.iter().map(|StepIndex(before)| *before);
    let in_order = if scene.plan.in_order { 0..step } else { 0..0 };
    listed.chain(in_order)
}

/// A turning back, against a tightening.
const LOOSEN_SHARE: f64 = 0.03;
/// The same right after a pull on a nut that is to be backed off, or that stands between two slots.
const LOOSEN_AFTER: f64 = 0.3;
/// How much likelier than any other tight fastener is turned back: one that must be redone,
const LOOSEN_CURE: f64 = 20.0;
/// the one pulled last,
const LOOSEN_LAST: f64 = 5.0;
/// and one that was never brought to torque.
const LOOSEN_SLACK: f64 = 0.1;

/// How often a next pull turns something back, against tightening.
pub(in crate::core::tracker) fn loosen_share(scene: &Scene, account: &Hypothesis) -> f64 {
    let invites = |fastener: usize| {
        let backs_off = scene.step(scene.step_of(fastener)).back_off().is_some();
        backs_off || castle::goes_on(scene, account, fastener)
    };
    match account.last.is_some_and(|last| invites(last.fastener)) {
        true => LOOSEN_AFTER,
        false => LOOSEN_SHARE,
    }
}

/// The prior over what a pull is that turns something back; the shares sum to 1.
pub(in crate::core::tracker) fn loosening(
    scene: &Scene,
    account: &Hypothesis,
) -> Vec<(Assignment, f64)> {
    let last = account.last.map(|last| last.fastener);
    let weight = |fastener: usize| {
        let member = &account.members[fastener];
        let recipe = member.next_pass > 0 && bearing::backs_off(scene, member, fastener).is_some();
        if member.over || member.spoiled.is_some() || recipe {
            LOOSEN_CURE
        } else if Some(fastener) == last {
            LOOSEN_LAST
        } else if member.next_pass > 0 {
            1.0
        } else {
            LOOSEN_SLACK
        }
    };
    let total: f64 = (0..scene.count()).map(weight).sum();
    (0..scene.count())
        .map(|fastener| {
            let pass = account.members[fastener].next_pass.saturating_sub(1);
            (Assignment::new(fastener, pass, Act::Loosen), weight(fastener) / total)
        })
        .collect()
}
