//! Which member of a group the next pull is likely to be on, and in which pass.
//!
//! Shares of habit, as in the order between groups: a judgement to start from, not fitted to records.

use crate::core::event::Act;
use crate::core::plan::Expect;
use crate::core::tracker::evidence::checks::{CHECK_FINDS, CHECK_ON};
use crate::core::tracker::hypothesis::{Assignment, Hypothesis};
use crate::core::tracker::images::Alike;
use crate::core::tracker::scene::Scene;

/// How the waiting members of a pass share what falls to it.
struct Style {
    /// The member named next.
    follow: f64,
    /// Any other that waits and has not been tried.
    slip: f64,
    /// The neighbour that follows round the clock.
    clock: f64,
    /// Of `follow`, what falls to the likeliest if several are named.
    likeliest: f64,
}

/// Who has followed the pattern so far, goes on so;
const PATTERN: Style = Style { follow: 0.97, slip: 0.015, clock: 0.003, likeliest: AS_WRITTEN };
/// but the second pull may be the neighbour's, where somebody goes round the clock,
const SECOND: Style = Style { follow: 0.945, slip: 0.015, clock: 0.025, likeliest: AS_WRITTEN };
/// and goes on so as well.
const CLOCK: Style = Style { follow: 0.85, slip: 0.1, clock: 0.0, likeliest: 1.0 };
/// Who has left one out, but followed the pattern otherwise, does so again.
const GAP: Style = Style { follow: 0.88, slip: 0.08, clock: 0.0, likeliest: AS_WRITTEN };
/// Share of passes in which one is passed over, at any place alike.
const PASSED_OVER: f64 = 0.06;
/// Who has taken one or two out of their turn mostly goes on as if nothing were.
const ASTRAY: Style = Style { follow: 0.85, slip: 0.1, clock: 0.01, likeliest: 0.8 };
/// Who has followed neither is hard to predict.
const LOOSE: Style = Style { follow: 0.5, slip: 0.4, clock: 0.06, likeliest: 1.0 };
/// Of pulls on one that was tight already, those in place of the one whose turn it was.
const IN_PLACE: f64 = 0.4;
/// The pattern as the plan writes it, or as the pass before was done, against all its other rotations and
/// reflections. Where nothing tells the place, members are numbered the way they are taken.
const AS_WRITTEN: f64 = 0.96;
const AS_NUMBERED: f64 = 0.995;
/// One that was tried and left short, or may have been pulled unseen.
const RETURN: f64 = 0.015;
/// The same one again by habit: share of pulls of people in general, and how many pulls that opinion is
/// worth beside what this person has done so far.
const AGAIN: f64 = 0.04;
const AGAIN_WORTH: f64 = 4.0;
/// A third pull at once on the same: the habit is of two.
const THRICE: f64 = 0.004;
/// Passes in which one that is done is pulled again by mistake, at any place alike;
const REPEATS_A_PASS: f64 = 0.2;
/// of those, on the one pulled last, and back on the one where the pass began; the others are on any.
const REPEAT_LAST: f64 = 0.3;
const REPEAT_START: f64 = 0.2;
/// One swing more on the same one in an early pass, whose window is wide.
const SWING_MORE: f64 = 0.03;
/// A later pass already.
const JUMP: f64 = 0.008;
/// The same before the early pass has begun: it is left out altogether.
const JUMP_AT_ONCE: f64 = 0.05;
/// Of jumps, those to the member that the plan names first.
const FIRST_OF_JUMP: f64 = 0.9;
/// Whoever thinks that a pass is done though one was left out: goes back to that one all the same,
const BACK_TO_LEFT: f64 = 0.5;
/// pulls the others once more,
const CHECKS_THEM: f64 = 0.2;
/// or goes on with the next pass.
const NEXT_ALL_THE_SAME: f64 = 0.2;
/// The first pull of a group: its place is what the plan calls first, unless the operator says otherwise.
const START_ANYWHERE: f64 = 0.995;
/// The same where the operator says where they are, and so numbers the members.
const START_MARKED: f64 = 0.75;
/// The first of a later pass, at the member that the plan names first.
const START: f64 = 0.85;
/// Doing a pass by hand with the adapter on.
const HAND_WITH_ADAPTER: f64 = 0.25;

/// How often the fastener pulled last, which is tight, is pulled again: by habit, and by mistake.
pub(super) fn again(scene: &Scene, account: &Hypothesis) -> (f64, f64) {
    let habit = &account.habit;
    let doubles = AGAIN * AGAIN_WORTH + f64::from(habit.doubles);
    let Some(last) = account.last else { return (AGAIN, 0.0) };
    let step = scene.step_of(last.fastener);
    let done = account.rounds[step].pulled.len().max(1) as f64;
    let by_mistake = REPEAT_LAST
        + (1.0 - REPEAT_LAST - REPEAT_START) / done
        + if done > 1.0 { 0.0 } else { REPEAT_START };
    let by_habit = match last.double {
        true => THRICE,
        false => doubles / (AGAIN_WORTH + f64::from(habit.chances)),
    };
    (by_habit, repeats_a_pull(scene, step) * by_mistake)
}

/// Of the pulls of a step, those on one that is done, by mistake.
fn repeats_a_pull(scene: &Scene, step: usize) -> f64 {
    REPEATS_A_PASS / f64::from(scene.step(step).members.max(2))
}

/// The prior under construction: what a pull could be, and its share.
pub(super) struct Shares<'a> {
    pub scene: &'a Scene,
    pub account: &'a Hypothesis,
    pub found: Vec<(Assignment, f64)>,
}

impl Shares<'_> {
    pub fn add(&mut self, assignment: Assignment, share: f64) {
        if share > 0.0 {
            self.found.push((assignment, share));
        }
    }

    pub fn spread(&mut self, among: &[usize], pass: usize, act: Act, share: f64) {
        for fastener in among {
            self.add(Assignment::new(*fastener, pass, act), share / among.len() as f64);
        }
    }

    /// Shares out what falls to one step.
    pub fn step(&mut self, step: usize, share: f64) {
        let Some(due) = self.account.pass_due(self.scene, step) else {
            let Some(closing) = self.scene.closing_pass(step) else { return };
            return self.check_round(step, closing, share);
        };
        let next = due + 1;
        let by_hand = self.scene.pass(step, due).expect == Expect::ByHand;
        if self.scene.pass(step, due).check {
            self.check_round(step, due, share);
        } else if by_hand && next < self.scene.step(step).passes.len() {
            self.pass(step, due, share * HAND_WITH_ADAPTER);
            self.pass(step, next, share * (1.0 - HAND_WITH_ADAPTER));
        } else {
            self.pass(step, due, share);
        }
    }

    /// A pull in a pass that some members still wait for.
    fn pass(&mut self, step: usize, pass: usize, share: f64) {
        let (scene, account) = (self.scene, self.account);
        let act = if scene.pass(step, pass).check { Act::Recheck } else { Act::Tighten };
        let waiting = |one: &usize| account.waits(scene, *one, pass);
        let tried = |one: &usize| {
            let member = &account.members[*one];
            member.partial.is_some() || member.unseen || member.spoiled.is_some()
        };
        let fresh: Vec<usize> =
            scene.fasteners_of(step).filter(|one| waiting(one) && !tried(one)).collect();
        let short: Vec<usize> =
            scene.fasteners_of(step).filter(|one| waiting(one) && tried(one)).collect();
        let round = &account.rounds[step];
        let begun = round.pass == Some(pass) && !round.pulled.is_empty();
        let thinks_it_done =
            begun && (account.thinks_it_done(scene, step) || !account.under_way(scene, step));
        let (go_on, check, jump) = match (begun, thinks_it_done) {
            (_, true) if account.checks(scene, step) => (CHECK_FINDS, CHECK_ON, CHECK_FINDS),
            (_, true) if self.only_checks_follow(step, pass) => {
                (BACK_TO_LEFT, CHECKS_THEM + NEXT_ALL_THE_SAME, 0.0)
            }
            (_, true) => (BACK_TO_LEFT, CHECKS_THEM, NEXT_ALL_THE_SAME),
            (true, false) => (1.0, 0.0, JUMP),
            (false, false) => (1.0, 0.0, JUMP_AT_ONCE),
        };
        let (expected, style) = if begun {
            self.expected(step, pass, if fresh.is_empty() { &short } else { &fresh })
        } else {
            self.start(step, pass, &fresh)
        };
        let instead = account
            .last
            .filter(|last| last.act == Act::Recheck && !last.double)
            .is_some_and(|last| scene.step_of(last.fastener) == step);
        let passed_over = match begun && instead {
            true => IN_PLACE,
            false => PASSED_OVER / f64::from(scene.step(step).members.max(1)),
        };
        let after_next = self.after_next(step, pass, &fresh);
        self.spread(&after_next, pass, act, share * go_on * passed_over);
        let going = share * go_on * (1.0 - passed_over);
        let others = expected.len().saturating_sub(1) as f64;
        let likeliest = match scene.at.is_some() || scene.tells_motion() {
            false if style.likeliest == AS_WRITTEN => AS_NUMBERED,
            _ => style.likeliest,
        };
        for (rank, fastener) in expected.iter().enumerate() {
            let weight = match rank {
                _ if others == 0.0 => 1.0,
                0 => likeliest,
                _ => (1.0 - likeliest) / others,
            };
            self.add(Assignment::new(*fastener, pass, act), going * style.follow * weight);
        }
        self.spread(&fresh, pass, act, going * style.slip);
        self.spread(&self.round_the_clock(step, &fresh), pass, act, going * style.clock);
        self.spread(&short, pass, act, going * RETURN);
        self.repeats(step, begun, share);
        if check > 0.0 {
            self.check_round(step, pass, share * check);
        }
        for later in pass + 1..scene.step(step).passes.len() {
            if scene.pass(step, later).check {
                continue;
            }
            let all: Vec<usize> = scene.fasteners_of(step).collect();
            let (first, _) = self.start(step, later, &all);
            self.spread(&first, later, Act::Tighten, share * jump * FIRST_OF_JUMP);
            self.spread(&all, later, Act::Tighten, share * jump * (1.0 - FIRST_OF_JUMP));
        }
    }

    fn only_checks_follow(&self, step: usize, pass: usize) -> bool {
        let later = &self.scene.step(step).passes[pass + 1..];
        !later.is_empty() && later.iter().all(|pass| pass.check)
    }

    /// Where a pass begins, and how sure that is: where the one before began, or where the plan says.
    fn start(&self, step: usize, pass: usize, fresh: &[usize]) -> (Vec<usize>, Style) {
        let round = &self.account.rounds[step];
        let done = if round.pass == Some(pass) { &round.before } else { &round.pulled };
        let base = self.scene.fasteners_of(step).start;
        let again = done.first().map(|member| base + usize::from(*member) - 1);
        let follow = match (done.is_empty(), self.scene.at) {
            (true, None) => START_ANYWHERE,
            (true, Some(_)) => START_MARKED,
            (false, _) => START,
        };
        let next = again.filter(|one| fresh.contains(one)).map(|one| vec![one]);
        let next = next.unwrap_or_else(|| self.after_last(step, pass, &[], fresh));
        (next, Style { follow, slip: 1.0 - follow, clock: 0.0, likeliest: 1.0 })
    }

    /// Pulls on what is already tight.
    fn repeats(&mut self, step: usize, begun: bool, share: f64) {
        let account = self.account;
        let last = account.last.map(|last| last.fastener);
        // Whoever still waits in the pass under way is not tight yet: a pull on it is a swing.
        let due = account.rounds[step].pass.filter(|_| begun).unwrap_or_default();
        let tight = |one: &usize| account.members[*one].next_pass > due;
        let others: Vec<usize> =
            self.scene.fasteners_of(step).filter(|one| tight(one) && Some(*one) != last).collect();
        if let Some(last) = last.filter(|one| self.scene.step_of(*one) == step && tight(one)) {
            let pass = account.members[last].next_pass - 1;
            let (by_habit, by_mistake) = again(self.scene, account);
            self.add(Assignment::new(last, pass, Act::Recheck), share * (by_habit + by_mistake));
            let early = self.scene.closing_pass(step).is_some_and(|closing| pass < closing);
            if early && self.scene.window(step, pass).is_some() {
                self.add(Assignment::new(last, pass, Act::Tighten), share * SWING_MORE);
            }
        }
        let begun_at = account.rounds[step].pulled.first().copied();
        let repeats = share * repeats_a_pull(self.scene, step);
        let even = repeats * (1.0 - REPEAT_LAST - REPEAT_START) / (others.len() + 1) as f64;
        for fastener in others {
            let pass = account.members[fastener].next_pass - 1;
            let start = Some(self.scene.id(fastener).member) == begun_at;
            let back = if start { repeats * REPEAT_START } else { 0.0 };
            self.add(Assignment::new(fastener, pass, Act::Recheck), even + back);
        }
    }

    /// The waiting neighbour of the member pulled last, clockwise.
    fn round_the_clock(&self, step: usize, waiting: &[usize]) -> Vec<usize> {
        let members = self.scene.step(step).members;
        let base = self.scene.fasteners_of(step).start;
        let last = self.account.rounds[step].pulled.last();
        let next = last.map(|last| base + usize::from(last % members));
        next.into_iter().filter(|one| waiting.contains(one)).collect()
    }

    /// Whom the pattern names next among `waiting`, the plan as written first, and how sure that is.
    fn expected(&self, step: usize, pass: usize, waiting: &[usize]) -> (Vec<usize>, Style) {
        let scene = self.scene;
        let pulled = &self.account.rounds[step].pulled;
        let members = scene.step(step).members;
        let base = scene.fasteners_of(step).start;
        let index = |member: &u16| base + usize::from(*member) - 1;
        let order = scene.order(step, pass);
        let waits = |members: Vec<u16>| -> Vec<usize> {
            members.iter().map(index).filter(|one| waiting.contains(one)).collect()
        };
        if order.alike != Alike::None && !scene.pass(step, pass).check {
            let is_ring = order.alike == Alike::RoundTheRing;
            let mut fits = waits(order.next(pulled));
            if let Some(as_before) = self.as_before(step).filter(|one| waiting.contains(one)) {
                fits.retain(|one| *one != as_before);
                fits.insert(0, as_before);
            }
            if !fits.is_empty() {
                return (fits, if is_ring && pulled.len() == 1 { SECOND } else { PATTERN });
            }
            let fits = waits(order.next_after_gap(pulled));
            if !fits.is_empty() && pulled.len() > 2 {
                return (fits, GAP);
            }
            if is_ring && pulled.windows(2).all(|pair| pair[1] == pair[0] % members + 1) {
                return (self.round_the_clock(step, waiting), CLOCK);
            }
            let fits = waits(order.next_if_near(pulled));
            if !fits.is_empty() {
                return (fits, ASTRAY);
            }
            return (self.after_last(step, pass, pulled, waiting), LOOSE);
        }
        (self.after_last(step, pass, pulled, waiting), PATTERN)
    }

    /// Who came next in the pass before, if this one has gone the same way so far.
    fn as_before(&self, step: usize) -> Option<usize> {
        let round = &self.account.rounds[step];
        let same = round.before.starts_with(&round.pulled);
        let next = round.before.get(round.pulled.len()).filter(|_| same)?;
        Some(self.scene.fasteners_of(step).start + usize::from(*next) - 1)
    }

    /// Whom a pull is on if the next is passed over.
    fn after_next(&self, step: usize, pass: usize, waiting: &[usize]) -> Vec<usize> {
        let scene = self.scene;
        let round = &self.account.rounds[step];
        let pulled: &[u16] = if round.pass == Some(pass) { &round.pulled } else { &[] };
        let base = scene.fasteners_of(step).start;
        let order = scene.order(step, pass);
        if order.alike != Alike::None && !pulled.is_empty() {
            let fastener = |member: &u16| base + usize::from(*member) - 1;
            return order
                .next_after_gap(pulled)
                .iter()
                .map(fastener)
                .filter(|one| waiting.contains(one))
                .collect();
        }
        let next = self.after_last(step, pass, pulled, waiting);
        let rest: Vec<usize> = waiting.iter().copied().filter(|one| !next.contains(one)).collect();
        let mut numbers = pulled.to_vec();
        numbers.extend(next.iter().map(|one| scene.id(*one).member));
        self.after_last(step, pass, &numbers, &rest)
    }

    /// The first of `waiting` that the plan's order names after the member pulled last.
    fn after_last(
        &self,
        step: usize,
        pass: usize,
        pulled: &[u16],
        waiting: &[usize],
    ) -> Vec<usize> {
        let order = &self.scene.pass(step, pass).order;
        let base = self.scene.fasteners_of(step).start;
        let after = pulled.last().and_then(|last| order.iter().position(|one| one == last));
        let from = after.map_or(0, |place| place + 1);
        let turned = order[from..].iter().chain(&order[..from]);
        let index = |member: &u16| base + usize::from(*member) - 1;
        turned.map(index).find(|one| waiting.contains(one)).into_iter().collect()
    }
}
