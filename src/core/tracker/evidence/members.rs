//! Which member of a group the next pull is likely to be on, and in which pass.
//!
//! Shares of habit, as in the order between groups: a judgement to start from, not fitted to records.

use crate::core::event::Act;
use crate::core::plan::Expect;
use crate::core::tracker::evidence::checks::{CHECK_FINDS, CHECK_ON};
use crate::core::tracker::evidence::walk::{self, Walk, Way};
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::images::{Alike, Order};
use crate::core::tracker::member::Round;
use crate::core::tracker::pull::Assignment;
use crate::core::tracker::scene::Scene;

/// Orders that a pass may follow, before anything of it is known: as the plan writes it, and among the
/// others as follows. Where nothing tells the place, members are numbered the way they are taken.
const AS_WRITTEN: Orders =
    Orders { turned: 0.08, mirrored: 0.07, both: 0.06, clock: 0.05, back: 0.01, loose: 0.003 };
const AS_NUMBERED: Orders =
    Orders { turned: 0.001, mirrored: 0.003, both: 0.001, clock: 0.002, back: 0.001, loose: 0.002 };
/// The order of the pass before, against any other.
const AS_BEFORE: f64 = 0.96;

/// Shares of people: who begins elsewhere, goes the other way round, does both, goes round the clock, that
/// back, and follows no order.
struct Orders {
    turned: f64,
    mirrored: f64,
    both: f64,
    clock: f64,
    back: f64,
    loose: f64,
}

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
/// Who pulled one again in a pass instead of one that was left out does so in the next,
const SAME_LAPSE: f64 = 0.5;
/// and with the same one; otherwise with any.
const SAME_ONE: f64 = 0.5;
/// One swing more on the same one in an early pass, whose window is wide: from well below the target,
const SWING_MORE: f64 = 0.03;
/// and from the target, where nobody has to.
const SWING_PAST: f64 = 0.003;
/// A later pass already.
const JUMP: f64 = 0.008;
/// The same before the early pass has begun: it is left out altogether.
const JUMP_AT_ONCE: f64 = 0.05;
/// Of jumps, those to the member that the plan names first.
const FIRST_OF_JUMP: f64 = 0.9;
/// Whoever thinks that the last pass is done though one was left out: goes back to that one all the same,
const BACK_TO_LEFT: f64 = 0.5;
/// pulls the others once more,
const CHECKS_THEM: f64 = 0.2;
/// or makes the check round that is planned. Whoever thinks that an earlier pass is done: goes back,
const CHECK_ALL_THE_SAME: f64 = 0.2;
const BACK_BEFORE_NEXT: f64 = 0.25;
/// or goes on with the next pass.
const NEXT_ALL_THE_SAME: f64 = 0.5;
/// Whoever is through with an order one pull short of the count: makes it up with the one where the pass began.
const MAKES_UP: f64 = 0.5;
/// The first pull of a group: its place is what the plan calls first, unless the operator says otherwise.
const START_ANYWHERE: f64 = 0.995;
/// The same where the operator says where they are, and so numbers the members.
const START_MARKED: f64 = 0.75;
/// The first of an order is passed over so much less often than another.
const FIRST_PASSED_OVER: f64 = 0.75;
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
        let (short, fresh): (Vec<usize>, Vec<usize>) =
            scene.fasteners_of(step).filter(waiting).partition(tried);
        let round = &account.rounds[step];
        let begun = round.pass == Some(pass) && !round.pulled.is_empty();
        let thinks_it_done =
            begun && (account.thinks_it_done(scene, step) || !account.under_way(scene, step));
        let (go_on, check, jump) = match (begun, thinks_it_done) {
            (_, true) if account.checks(scene, step) => (CHECK_FINDS, CHECK_ON, CHECK_FINDS),
            (_, true) if self.only_checks_follow(step, pass) => {
                (BACK_TO_LEFT, CHECKS_THEM + CHECK_ALL_THE_SAME, 0.0)
            }
            (_, true) if self.is_last(step, pass) => (BACK_TO_LEFT, CHECKS_THEM, 0.0),
            (_, true) => (BACK_BEFORE_NEXT, CHECKS_THEM, NEXT_ALL_THE_SAME),
            // The last of an order may be passed over like any other, and then a check round comes next.
            (true, false) if fresh.len() == 1 && short.is_empty() => {
                let over = walk::passed_over(usize::from(scene.step(step).members));
                (1.0 - over, over, JUMP)
            }
            (true, false) => (1.0, 0.0, JUMP),
            (false, false) => (1.0, 0.0, JUMP_AT_ONCE),
        };
        let here = share * go_on;
        if !begun {
            let (starts, elsewhere) = self.start(step, pass, &fresh);
            for (fastener, of_start) in starts.into_iter().flatten() {
                self.add(Assignment::new(fastener, pass, act), here * of_start);
            }
            self.spread(&fresh, pass, act, here * elsewhere);
        } else if fresh.is_empty() {
            self.spread(&short, pass, act, here);
        } else {
            for (fastener, of_turn) in self.goes_on(step, pass, &fresh) {
                self.add(Assignment::new(fastener, pass, act), here * of_turn);
            }
            self.spread(&short, pass, act, here * RETURN);
        }
        self.repeats(step, begun, share);
        if thinks_it_done {
            self.makes_up(step, pass, share);
        }
        if check > 0.0 {
            self.check_round(step, pass, share * check);
        }
        for later in pass + 1..scene.step(step).passes.len() {
            if scene.pass(step, later).check {
                continue;
            }
            let all: Vec<usize> = scene.fasteners_of(step).collect();
            let (starts, _) = self.start(step, later, &all);
            let first = starts[0].map(|one| one.0);
            self.spread(first.as_slice(), later, Act::Tighten, share * jump * FIRST_OF_JUMP);
            self.spread(&all, later, Act::Tighten, share * jump * (1.0 - FIRST_OF_JUMP));
        }
    }

    fn is_last(&self, step: usize, pass: usize) -> bool {
        pass + 1 == self.scene.step(step).passes.len()
    }

    fn only_checks_follow(&self, step: usize, pass: usize) -> bool {
        let later = &self.scene.step(step).passes[pass + 1..];
        !later.is_empty() && later.iter().all(|pass| pass.check)
    }

    /// Where a pass begins, each with its share, and the share of those who begin anywhere: where the one before
    /// began, or where the plan says, or at the one after it.
    fn start(&self, step: usize, pass: usize, fresh: &[usize]) -> ([Option<(usize, f64)>; 2], f64) {
        let round = &self.account.rounds[step];
        let done = if round.pass == Some(pass) { &round.before } else { &round.pulled };
        let base = self.scene.fasteners_of(step).start;
        let again = done.first().map(|member| base + usize::from(*member) - 1);
        let follow = match (done.is_empty(), self.scene.at) {
            (true, None) => START_ANYWHERE,
            (true, Some(_)) => START_MARKED,
            (false, _) => START,
        };
        if let Some(again) = again.filter(|one| fresh.contains(one)) {
            return ([Some((again, follow)), None], 1.0 - follow);
        }
        let order = &self.scene.pass(step, pass).order;
        let by_plan = order.iter().map(|member| base + usize::from(*member) - 1);
        let mut by_plan = by_plan.filter(|one| fresh.contains(one));
        // Where nothing tells the place, whoever is pulled first is called so.
        let told = done.is_empty() && (self.scene.at.is_some() || self.scene.tells_motion());
        let (first, second) = (by_plan.next(), by_plan.next().filter(|_| told));
        let over = second.map_or(0.0, |_| FIRST_PASSED_OVER * walk::passed_over(fresh.len()));
        let first = first.map(|first| (first, follow * (1.0 - over)));
        ([first, second.map(|second| (second, follow * over))], 1.0 - follow)
    }

    /// Pulls on what is already tight.
    fn repeats(&mut self, step: usize, begun: bool, share: f64) {
        let account = self.account;
        let last = account.last.map(|last| last.fastener);
        // Whoever still waits in the pass under way is not tight yet: a pull on it is a swing.
        let due = account.rounds[step].pass.filter(|_| begun).unwrap_or_default();
        let tight = |one: &usize| account.members[*one].next_pass > due;
        let all = self.scene.fasteners_of(step);
        let others = all.filter(|one| tight(one) && Some(*one) != last);
        if let Some(last) = last.filter(|one| self.scene.step_of(*one) == step && tight(one)) {
            let pass = account.members[last].next_pass - 1;
            let (by_habit, by_mistake) = again(self.scene, account);
            self.add(Assignment::new(last, pass, Act::Recheck), share * (by_habit + by_mistake));
            let early = self.scene.closing_pass(step).is_some_and(|closing| pass < closing);
            if early && self.scene.window(step, pass).is_some() {
                let weak = account.last.is_some_and(|last| last.weak);
                let more = if weak { SWING_MORE } else { SWING_PAST };
                self.add(Assignment::new(last, pass, Act::Tighten), share * more);
            }
        }
        let begun_at = account.rounds[step].pulled.first().copied();
        let repeats = share * repeats_a_pull(self.scene, step);
        let even =
            repeats * (1.0 - REPEAT_LAST - REPEAT_START) / (others.clone().count() + 1) as f64;
        if let Some(same) = account.lapse_again(self.scene, step).filter(tight) {
            let any: Vec<usize> = self.scene.fasteners_of(step).filter(tight).collect();
            let on_any = (1.0 - SAME_ONE) / any.len() as f64;
            for one in any {
                let pass = account.members[one].next_pass - 1;
                let of = if one == same { SAME_ONE + on_any } else { on_any };
                self.add(Assignment::new(one, pass, Act::Recheck), share * SAME_LAPSE * of);
            }
        }
        for fastener in others {
            let pass = account.members[fastener].next_pass - 1;
            let start = Some(self.scene.id(fastener).member) == begun_at;
            let back = if start { repeats * REPEAT_START } else { 0.0 };
            self.add(Assignment::new(fastener, pass, Act::Recheck), even + back);
        }
    }

    /// One pull short of the count, and nobody whose turn it is.
    fn makes_up(&mut self, step: usize, pass: usize, share: f64) {
        let round = &self.account.rounds[step];
        let Some(first) = round.pulled.first() else { return };
        let first = self.scene.fasteners_of(step).start + usize::from(*first) - 1;
        let is_short = round.efforts + 1 == usize::from(self.scene.step(step).members);
        if is_short && self.account.members[first].next_pass > pass {
            self.add(Assignment::new(first, pass, Act::Recheck), share * MAKES_UP);
        }
    }

    /// Who of `fresh` comes next in a pass that was begun, each with its share.
    fn goes_on(&self, step: usize, pass: usize, fresh: &[usize]) -> Vec<(usize, f64)> {
        let scene = self.scene;
        let round = &self.account.rounds[step];
        let shape = scene.step(step);
        let repeated = self.account.has_repeated(scene, step);
        let numbers: Vec<u16> = fresh.iter().map(|one| scene.id(*one).member).collect();
        let walk =
            Walk { pulled: &round.pulled, instead: round.instead, fresh: &numbers, repeated };
        let ways = self.ways(step, scene.order(step, pass), round);
        let shares = if shape.members > walk::MOST {
            vec![1.0 / fresh.len() as f64; fresh.len()]
        } else {
            walk.shares(&ways)
        };
        fresh.iter().copied().zip(shares).collect()
    }

    /// The orders that a pass may follow.
    fn ways<'w>(&self, step: usize, order: Order<'w>, round: &'w Round) -> Vec<(Way<'w>, f64)> {
        let scene = self.scene;
        let Order { written: order, alike } = order;
        let (n, first) = (scene.step(step).members, round.pulled[0]);
        let told = scene.at.is_some() || scene.tells_motion();
        let of = if told { &AS_WRITTEN } else { &AS_NUMBERED };
        let as_before = round.before.len() > 1;
        let by_plan = if as_before { 1.0 - AS_BEFORE } else { 1.0 };
        let mut ways = Vec::with_capacity(7);
        if as_before {
            ways.push((Way::Listed(&round.before), AS_BEFORE));
        }
        ways.push((Way::Listed(order), by_plan));
        ways.push((Way::Loose, by_plan * of.loose));
        if alike == Alike::FromEitherEnd {
            let way = Way::Image { order, n, mirrored: true, turn: 0 };
            ways.push((way, by_plan * of.mirrored));
        }
        if alike != Alike::RoundTheRing {
            return ways;
        }
        let elsewhere = order[0] != first;
        let each = by_plan / f64::from(n);
        let turn = (first + n - order[0]) % n;
        if elsewhere {
            ways.push((Way::Image { order, n, mirrored: false, turn }, each * of.turned));
        }
        let mirrored = if elsewhere { each * of.both } else { by_plan * of.mirrored };
        let turn = (first + order[0] + n - 1) % n;
        ways.push((Way::Image { order, n, mirrored: true, turn }, mirrored));
        let clock = if elsewhere { each } else { by_plan };
        ways.push((Way::Clock { n, from: first, back: false }, clock * of.clock));
        ways.push((Way::Clock { n, from: first, back: true }, clock * of.back));
        ways
    }
}
