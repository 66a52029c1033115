//! Rounds over what is tight: asked for by the plan, or made by whoever wants to be sure.

use crate::core::event::Act;
use crate::core::tracker::evidence::members::Shares;
use crate::core::tracker::hypothesis::Assignment;
use crate::core::tracker::ring;

/// A check round goes on to its next member,
pub(super) const CHECK_ON: f64 = 0.85;
/// finds one that was left out,
pub(super) const CHECK_FINDS: f64 = 0.05;
/// and pulls again at once what was let go too early.
const CHECK_AGAIN: f64 = 0.75;
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
        let again = account
            .last
            .filter(|last| last.act == Act::Recheck && last.short && all.contains(&last.fastener));
        let mut left = share;
        if let Some(last) = again {
            self.add(Assignment::new(last.fastener, pass, Act::Recheck), share * CHECK_AGAIN);
            left -= share * CHECK_AGAIN;
        }
        let checked = &account.rounds[step].rechecked;
        let unchecked: Vec<usize> =
            all.iter().copied().filter(|one| !checked.contains(&scene.id(*one).member)).collect();
        let next = self.expected_check(step, &unchecked);
        let total: f64 = next.iter().map(|(_, weight)| weight).sum();
        for (fastener, weight) in next {
            let share = left * CHECK_ON * weight / total;
            self.add(Assignment::new(fastener, pass, Act::Recheck), share);
        }
        self.spread(&all, pass, Act::Recheck, left * (1.0 - CHECK_ON - CHECK_FINDS));
        let Some(closing) = scene.closing_pass(step) else { return };
        let waiting = |one: &usize| account.waits(scene, *one, closing);
        let forgotten: Vec<usize> = scene.fasteners_of(step).filter(waiting).collect();
        self.spread(&forgotten, closing, Act::Tighten, left * CHECK_FINDS);
    }

    /// Whom a check round takes next, each with its weight: on round the circle, or as the ring was pulled.
    fn expected_check(&self, step: usize, left: &[usize]) -> Vec<(usize, f64)> {
        let scene = self.scene;
        let Some(closing) = scene.closing_pass(step) else { return Vec::new() };
        let order = &scene.pass(step, closing).order;
        let base = scene.fasteners_of(step).start;
        let n = scene.step(step).members;
        let index = |member: u16| base + usize::from(member) - 1;
        let round = &self.account.rounds[step];
        let checked = &round.rechecked;
        let Some(last) = checked.last().filter(|_| checked.len() < usize::from(n)) else {
            let begun = round.pulled.first().copied();
            let mut first: Vec<usize> =
                [begun, Some(order[0]), Some(1)].into_iter().flatten().map(index).collect();
            first.retain(|one| left.contains(one));
            first.dedup();
            let weight = |rank: usize, many: usize| match (rank, many) {
                (0, _) => CHECKS_CLOCKWISE,
                (_, many) => (1.0 - CHECKS_CLOCKWISE) / (many - 1) as f64,
            };
            let many = first.len();
            let first = first.into_iter().enumerate();
            return first.map(|(rank, one)| (one, weight(rank, many))).collect();
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
        let in_check = round.pass.is_some_and(|pass| scene.pass(step, pass).check);
        let taken = if in_check { &round.before } else { &round.pulled };
        // Of a group that was left, only where it was begun is still known.
        let mirrored = ring::mirrored(n, order);
        let taken = if ring::goes_on(n, taken) {
            order
        } else if self.signs.way_round && ring::goes_back(n, taken) {
            &mirrored
        } else {
            taken
        };
        let clockwise = |one: u16| on(one, &|one| ring::on(n, one));
        let back = |one: u16| on(one, &|one| ring::back(n, one));
        let pattern = |one: u16| {
            on(one, &|one| {
                let place = taken.iter().position(|other| *other == one).unwrap_or(0);
                taken[(place + 1) % taken.len()]
            })
        };
        let way = if self.signs.way_round { CHECKS_CLOCKWISE / 2.0 } else { CHECKS_CLOCKWISE };
        let ways: [(&dyn Fn(u16) -> u16, f64); 3] = [
            (&clockwise, way),
            (&back, if self.signs.way_round { way } else { 0.0 }),
            (&pattern, 1.0 - CHECKS_CLOCKWISE),
        ];
        let mut next: Vec<(usize, f64)> = Vec::new();
        for (way, weight) in ways.into_iter().filter(|(way, weight)| *weight > 0.0 && follows(*way)) {
            let to = index(way(*last));
            match next.iter_mut().find(|(one, _)| *one == to) {
                Some((_, sum)) => *sum += weight,
                None => next.push((to, weight)),
            }
        }
        next.retain(|(one, _)| left.contains(one));
        next
    }
}
