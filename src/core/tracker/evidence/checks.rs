//! Rounds over what is tight: asked for by the plan, or made by whoever wants to be sure.

use crate::core::event::Act;
use crate::core::tracker::evidence::members::Shares;
use crate::core::tracker::pull::Assignment;

/// A check round goes on to its next member,
pub(super) const CHECK_ON: f64 = 0.85;
/// finds one that was left out,
pub(super) const CHECK_FINDS: f64 = 0.05;
/// and goes round the circle rather than as the pattern goes.
const CHECKS_CLOCKWISE: f64 = 0.55;

impl Shares<'_> {
    /// A round over what is tight, counted to `pass`: all of a finished group, or of one that is thought
    /// to be finished.
    pub fn check_round(&mut self, step: usize, pass: usize, share: f64) {
        let (scene, account) = (self.scene, self.account);
        let tight = |one: &usize| account.members[*one].next_pass > 0;
        let all: Vec<usize> = scene.fasteners_of(step).filter(tight).collect();
        if all.is_empty() {
            return;
        }
        let checked = &account.rounds[step].rechecked;
        let unchecked: Vec<usize> =
            all.iter().copied().filter(|one| !checked.contains(&scene.id(*one).member)).collect();
        let next = self.expected_check(step, &unchecked);
        // Whoever has been through them all begins one without a sign.
        let begins = !account.finished(scene, step) && !account.thinks_it_done(scene, step);
        for (rank, fastener) in next.iter().enumerate() {
            let weight = match (next.len(), rank) {
                (1, _) => 1.0,
                (_, 0) => CHECKS_CLOCKWISE,
                (many, _) => (1.0 - CHECKS_CLOCKWISE) / (many - 1) as f64,
            };
            let check = Assignment { begins, ..Assignment::new(*fastener, pass, Act::Recheck) };
            self.add(check, share * CHECK_ON * weight);
        }
        self.spread(&all, pass, Act::Recheck, share * (1.0 - CHECK_ON - CHECK_FINDS));
        let Some(closing) = scene.closing_pass(step) else { return };
        let waiting = |one: &usize| account.waits(scene, *one, closing);
        let forgotten: Vec<usize> = scene.fasteners_of(step).filter(waiting).collect();
        self.spread(&forgotten, closing, Act::Tighten, share * CHECK_FINDS);
    }

    /// Whom a check round takes next: on round the circle, or as the pattern goes.
    fn expected_check(&self, step: usize, left: &[usize]) -> Vec<usize> {
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
            return first;
        };
        let follows =
            |next: &dyn Fn(u16) -> u16| checked.windows(2).all(|pair| next(pair[0]) == pair[1]);
        // Whoever was left out is passed over again.
        let tight = |one: u16| self.account.members[index(one)].next_pass > 0;
        let on = |one: u16, step: &dyn Fn(u16) -> u16| {
            let mut next = step(one);
            for _ in 0..n {
                if tight(next) {
                    break;
                }
                next = step(next);
            }
            next
        };
        let clockwise = |one: u16| on(one, &|one| one % n as u16 + 1);
        let pattern = |one: u16| {
            on(one, &|one| {
                let place = order.iter().position(|other| *other == one).unwrap_or(0);
                order[(place + 1) % n]
            })
        };
        let mut next = Vec::new();
        if follows(&clockwise) {
            next.push(index(clockwise(*last)));
        }
        if follows(&pattern) {
            next.push(index(pattern(*last)));
        }
        next.dedup();
        next.retain(|one| left.contains(one));
        next
    }
}
