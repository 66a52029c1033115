//! Rounds over what is tight: asked for by the plan, or made by whoever wants to be sure.

use crate::core::event::Act;
use crate::core::tracker::evidence::members::Shares;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::pull::Assignment;
use crate::core::tracker::scene::Scene;

/// A check round goes on to its next member,
pub(super) const CHECK_ON: f64 = 0.85;
/// finds one that was left out,
pub(super) const CHECK_FINDS: f64 = 0.05;
/// and goes round the circle rather than as the pattern goes.
const CHECKS_CLOCKWISE: f64 = 0.55;
/// Who was left out is gone over again in this share of such rounds.
const GOES_OVER_AGAIN: f64 = 0.7;
/// So many one after the other are a round, whatever way it goes.
const A_ROUND: usize = 3;

impl Shares<'_> {
    /// A round over what is tight, counted to `pass`: all of a finished group, or of one that is thought
    /// to be finished.
    pub fn check_round(&mut self, step: usize, pass: usize, share: f64) {
        let (scene, account) = (self.scene, self.account);
        let least = account.tight_after(scene, step);
        let tight = |one: &usize| account.members[*one].next_pass > least;
        let all: Vec<usize> = scene.fasteners_of(step).filter(tight).collect();
        if all.is_empty() {
            return;
        }
        let checked = &account.rounds[step].rechecked;
        let unchecked: Vec<usize> =
            all.iter().copied().filter(|one| !checked.contains(&scene.id(*one).member)).collect();
        let waiting = |one: &usize| account.waits(scene, *one, least);
        let forgotten: Vec<usize> = scene.fasteners_of(step).filter(waiting).collect();
        let next = self.expected_check(step, &unchecked);
        // Whoever has been through them all begins one without a sign.
        let begins = !account.finished(scene, step) && !account.thinks_it_done(scene, step);
        for (rank, (fastener, over)) in next.iter().enumerate() {
            let weight = match (next.len(), rank) {
                (1, _) => 1.0,
                (_, 0) => CHECKS_CLOCKWISE,
                (many, _) => (1.0 - CHECKS_CLOCKWISE) / (many - 1) as f64,
            };
            let on = share * CHECK_ON * weight;
            let over = over.filter(|one| forgotten.contains(one));
            let goes_over = over.map_or(1.0, |_| GOES_OVER_AGAIN);
            let check = Assignment { begins, ..Assignment::new(*fastener, pass, Act::Recheck) };
            self.add(check, on * goes_over);
            self.spread(over.as_slice(), least, Act::Tighten, on * (1.0 - goes_over));
        }
        self.spread(&all, pass, Act::Recheck, share * (1.0 - CHECK_ON - CHECK_FINDS));
        self.spread(&forgotten, least, Act::Tighten, share * CHECK_FINDS);
    }

    /// Whom a check round takes next, on round the circle, or as the pattern goes; and whose turn it would be.
    fn expected_check(&self, step: usize, left: &[usize]) -> Vec<(usize, Option<usize>)> {
        let scene = self.scene;
        let Some(closing) = scene.closing_pass(step) else { return Vec::new() };
        let order = &scene.pass(step, closing).order;
        let base = scene.fasteners_of(step).start;
        let n = usize::from(scene.step(step).members);
        let index = |member: u16| base + usize::from(member) - 1;
        let checked = &self.account.rounds[step].rechecked;
        let Some(last) = checked.last().filter(|_| checked.len() < n) else {
            let begun = self.account.rounds[step].pulled.first().copied();
            let mut first: Vec<usize> =
                [begun, Some(order[0]), Some(1)].into_iter().flatten().map(index).collect();
            first.retain(|one| left.contains(one));
            first.dedup();
            return first.into_iter().map(|one| (one, None)).collect();
        };
        let mut next: Vec<(usize, Option<usize>)> = Around::followed(scene, self.account, step)
            .map(|way| (index(way.next_tight(*last)), Some(index(way.next(*last)))))
            .collect();
        next.dedup();
        next.retain(|(one, _)| left.contains(one));
        next
    }
}

/// A way round the members of a step.
struct Around<'a> {
    /// The members that are tight: a round goes over the others.
    tight: Vec<u16>,
    members: u16,
    /// As the pattern goes; otherwise round the circle.
    pattern: Option<&'a [u16]>,
}

impl<'a> Around<'a> {
    /// The ways that a round over what is tight may be going.
    fn followed(
        scene: &'a Scene,
        account: &'a Hypothesis,
        step: usize,
    ) -> impl Iterator<Item = Self> {
        let order = scene.closing_pass(step).map(|pass| scene.pass(step, pass).order.as_slice());
        let (least, members) = (account.tight_after(scene, step), scene.step(step).members);
        let is_tight = move |one: &usize| account.members[*one].next_pass > least;
        let tight = move || {
            scene.fasteners_of(step).filter(is_tight).map(|one| scene.id(one).member).collect()
        };
        [None, order]
            .into_iter()
            .map(move |pattern| Self { tight: tight(), members, pattern })
            .filter(move |way| way.follows(&account.rounds[step].rechecked))
    }

    fn next(&self, member: u16) -> u16 {
        let Some(order) = self.pattern else { return member % self.members + 1 };
        let place = order.iter().position(|one| *one == member).unwrap_or(0);
        order[(place + 1) % order.len()]
    }

    /// The members after this one, once round.
    fn after(&self, member: u16) -> impl Iterator<Item = u16> {
        let on = move |one: &u16| Some(self.next(*one));
        std::iter::successors(Some(self.next(member)), on).take(usize::from(self.members))
    }

    fn next_tight(&self, member: u16) -> u16 {
        self.after(member).find(|one| self.tight.contains(one)).unwrap_or(member)
    }

    fn follows(&self, checked: &[u16]) -> bool {
        checked.windows(2).all(|pair| self.next_tight(pair[0]) == pair[1])
    }

    /// True if it goes over this one between two of those.
    fn goes_over(&self, checked: &[u16], member: u16) -> bool {
        checked.windows(2).any(|pair| {
            self.after(pair[0]).take_while(|one| *one != pair[1]).any(|one| one == member)
        })
    }
}

/// True if a round over what is tight has gone on past a fastener that waits.
pub(in crate::core::tracker) fn has_gone_past(
    scene: &Scene,
    account: &Hypothesis,
    fastener: usize,
) -> bool {
    let step = scene.step_of(fastener);
    let member = scene.id(fastener).member;
    let checked: &[u16] = &account.rounds[step].rechecked;
    let mut ways = Around::followed(scene, account, step).peekable();
    match ways.peek() {
        None => checked.len() >= A_ROUND,
        Some(_) => ways.all(|way| way.goes_over(checked, member)),
    }
}

/// True if a round over what is tight has come to this fastener, though it waits.
pub(in crate::core::tracker) fn has_come_to(
    scene: &Scene,
    account: &Hypothesis,
    fastener: usize,
) -> bool {
    let step = scene.step_of(fastener);
    let checked: &[u16] = &account.rounds[step].rechecked;
    let Some(last) = checked.last() else { return false };
    let mut ways = Around::followed(scene, account, step);
    checked.len() >= A_ROUND || ways.any(|way| way.next(*last) == scene.id(fastener).member)
}
