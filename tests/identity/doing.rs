//! A group of fasteners done as somebody does it, right or with the job's fault.

use super::generator::joint::{Group, Joint};
use super::job::{Pull, Truth};
use super::kind::Kind;
use super::order::orders;
use super::person::Check;
use super::symmetry::begins_an_image;
use super::work::{Bench, Told};
use clampbook::core::event::Act;
use clampbook::core::plan::{Expect, Step};
use clampbook::core::tracker::ring::{RingOrder, judge};
use std::collections::BTreeSet;

/// What is meant next in a pass.
#[derive(Debug, Clone, Copy)]
enum Next {
    Tighten(u16),
    Again(u16),
}

pub struct Doing {
    pub bench: Bench,
    pub pulls: Vec<Pull>,
    pub pass: usize,
    pub effort: usize,
}

impl Doing {
    /// One group, from the first pass to whatever comes after the last.
    pub fn group(&mut self, index: usize, step: &Step, group: &Group, truth: &mut Truth) {
        let mut joints = self.bench.joints(group, step.members);
        let n = step.members;
        let order = self.order(step, truth.kind);
        let left = order[self.below(usize::from(n))];
        let mut by_order = true;
        let mut over = BTreeSet::new();
        let last_pass = step.passes.iter().rposition(|pass| !pass.check).unwrap_or(0);
        let windows = step.passes.iter().filter(|pass| matches!(pass.expect, Expect::Window(_)));
        let single = windows.filter(|pass| !pass.check).count() == 1;
        for (number, pass) in step.passes.iter().enumerate() {
            let Expect::Window(window) = &pass.expect else { continue };
            self.pass = number;
            let (low, target) = (window.low.nm(), window.target.nm());
            let out = match truth.kind {
                Kind::Skipped | Kind::SkippedAndDoubled => Some(left),
                Kind::MissedLater if single || number >= last_pass => Some(left),
                _ => None,
            };
            if pass.check {
                let round: Vec<u16> =
                    order.iter().copied().filter(|one| !truth.is_open(*one)).collect();
                self.check(index, &round, &mut joints, group, target, by_order);
                continue;
            }
            let doubles = match truth.kind {
                Kind::Doubled => single || number == last_pass || self.bench.chance.happens(0.3),
                Kind::SkippedAndDoubled => true,
                Kind::MissedLater => self.bench.chance.happens(0.5),
                _ => false,
            };
            let nexts = self.nexts(&order, out, doubles);
            let mut pulled = Vec::new();
            let stop_at = self.below(nexts.len());
            for (place, next) in nexts.iter().enumerate() {
                if place > 0 {
                    self.bench.pause(self.bench.person.pause_s);
                }
                if truth.kind == Kind::Interrupted && place == stop_at && place > 0 {
                    self.bench.pause((300.0, 3000.0));
                }
                self.effort += 1;
                match *next {
                    Next::Tighten(member) => {
                        pulled.push(member);
                        if truth.ring {
                            by_order &= begins_an_image(n, &pass.order, &pulled);
                        } else {
                            by_order &= pass.order.starts_with(&pulled);
                        }
                        let joint = &mut joints[usize::from(member - 1)];
                        let told = self.bench.tighten(joint, group, target, low);
                        if told
                            .iter()
                            .any(|one| window.high.is_some_and(|high| one.peak_nm > high.nm()))
                        {
                            over.insert(member);
                        }
                        let reached = told.iter().any(|one| one.peak_nm >= low);
                        for one in told {
                            self.add(one, index, member, Act::Tighten, by_order);
                        }
                        truth.done[usize::from(member - 1)] = number == last_pass && reached;
                        if !reached {
                            truth.given_up.insert(member);
                        } else if self.bench.chance.happens(self.bench.person.pulls_twice) {
                            joint.state.rested_s = self.bench.pause((0.35, 1.5));
                            let told = self.bench.again(joint, group, target, true);
                            for one in told {
                                self.add(one, index, member, Act::Recheck, by_order);
                                self.last().habit = true;
                            }
                        }
                    }
                    // Whoever gave one up does not take it for done.
                    Next::Again(member) if truth.given_up.contains(&member) => {}
                    Next::Again(member) => {
                        let joint = &mut joints[usize::from(member - 1)];
                        let told = self.bench.again(joint, group, target, false);
                        for one in told {
                            self.add(one, index, member, Act::Recheck, by_order);
                            self.last().repeat = true;
                        }
                    }
                }
            }
            truth.left_out.extend(out);
            if truth.ring && pass.ordered {
                truth.crooked |= out.is_none() && judge(n, &pulled) == RingOrder::Wrong;
            }
            self.bench.pause((4.0, 25.0));
        }
        self.pass = step.passes.len();
        let target = group.target_nm;
        if let Some(check) = self.bench.person.checks {
            let mut round: Vec<u16> = match check {
                Check::Clockwise => (1..=n).collect(),
                Check::Pattern => order.clone(),
            };
            round.retain(|one| !truth.is_open(*one));
            if self.bench.chance.happens(0.2) {
                let some = self.below(round.len());
                round.truncate(some);
            }
            self.check(index, &round, &mut joints, group, target, by_order);
        }
        if truth.kind == Kind::LoosenedLater {
            self.pass += 1;
            self.loosen(index, group, &mut joints, truth, by_order);
        }
        for member in over {
            truth.done[usize::from(member - 1)] = false;
        }
    }

    fn last(&mut self) -> &mut Pull {
        self.pulls.last_mut().unwrap()
    }

    fn add(&mut self, told: Told, group: usize, member: u16, act: Act, by_order: bool) {
        let (pass, effort) = (self.pass, self.effort);
        let (repeat, habit) = (false, false);
        self.pulls.push(Pull { told, group, member, pass, effort, act, repeat, habit, by_order });
    }

    fn check(
        &mut self,
        index: usize,
        round: &[u16],
        joints: &mut [Joint],
        group: &Group,
        target: f64,
        by_order: bool,
    ) {
        for member in round {
            self.effort += 1;
            let told = self.bench.again(&mut joints[usize::from(member - 1)], group, target, false);
            for one in told {
                self.add(one, index, *member, Act::Recheck, by_order);
            }
            self.bench.pause(self.bench.person.pause_s);
        }
    }

    fn loosen(
        &mut self,
        index: usize,
        group: &Group,
        joints: &mut [Joint],
        truth: &mut Truth,
        by_order: bool,
    ) {
        self.bench.pause((10.0, 120.0));
        let place = self.below(joints.len());
        let member = place as u16 + 1;
        self.effort += 1;
        let told = self.bench.loosen(&mut joints[place], group);
        self.add(told, index, member, Act::Loosen, by_order);
        truth.done[place] = false;
        if self.bench.chance.happens(0.5) {
            self.bench.pause((10.0, 60.0));
            let target = group.target_nm;
            self.effort += 1;
            let told = self.bench.tighten(&mut joints[place], group, target, target * 0.9);
            truth.done[place] = told.iter().any(|one| one.peak_nm >= target * 0.9);
            for one in told {
                self.add(one, index, member, Act::Tighten, by_order);
            }
        }
    }

    fn below(&mut self, count: usize) -> usize {
        (self.bench.chance.even(0.0, count as f64) as usize).min(count.saturating_sub(1))
    }

    /// The order in which the members are really taken.
    fn order(&mut self, step: &Step, kind: Kind) -> Vec<u16> {
        let mut all = orders(step, kind);
        let which = if all.len() > 1 { self.below(all.len()) } else { 0 };
        all.swap_remove(which)
    }

    /// The pulls of one pass.
    fn nexts(&mut self, order: &[u16], out: Option<u16>, doubles: bool) -> Vec<Next> {
        let mut nexts: Vec<Next> = order.iter().map(|one| Next::Tighten(*one)).collect();
        let missing = out.and_then(|out| order.iter().position(|one| *one == out));
        // Where the wrong pull comes: in place of the one left out, or before one that still waits.
        let place = match missing {
            Some(place) => place,
            None => 1 + self.below(order.len() - 1),
        };
        let again =
            place.checked_sub(1).map(|last| match self.bench.chance.even(0.0, 10.0) as usize {
                0..3 => order[last],
                3..5 => order[0],
                _ => order[self.below(place)],
            });
        match (missing, again.filter(|_| doubles)) {
            (Some(place), Some(again)) => nexts[place] = Next::Again(again),
            (Some(_), None) => {
                nexts.remove(place);
                // With nobody tight before it, the double comes after.
                if doubles {
                    let last = order[order.len() - 1];
                    let at = nexts.len();
                    let (Next::Tighten(first) | Next::Again(first)) = nexts[0];
                    nexts.insert(at, Next::Again(if at > 1 { first } else { last }));
                }
            }
            (None, Some(again)) => nexts.insert(place, Next::Again(again)),
            (None, None) => {}
        }
        nexts
    }
}
