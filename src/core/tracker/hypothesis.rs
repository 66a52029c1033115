//! One account of what happened: which fastener every pull was on, and how each stands as a result.

use crate::core::event::Act;
use crate::core::plan::{Cure, Expect};
use crate::core::tracker::evidence::lie::Lie;
use crate::core::tracker::evidence::motion::{self, Move};
use crate::core::tracker::evidence::{checks, time, trace};
use crate::core::tracker::member::{
    Habit, Lapse, Last, Member, Partial, Past, Round, Spoiled, WEAK,
};
use crate::core::tracker::pull::{Assignment, Seen, Told, out_of_range};
use crate::core::tracker::rules::acceptance::{self, Proof};
use crate::core::tracker::rules::angle::{self, Reached};
use crate::core::tracker::rules::{access, bearing, castle, slack_first};
use crate::core::tracker::scene::Scene;
use crate::core::tracker::shared::Shared;
use crate::core::units::Torque;
use std::collections::VecDeque;

/// Assignments that a hypothesis keeps, and so how far back a verdict can be revised.
pub(super) const MEMORY: usize = 64;
/// A pull before its hold spoils the joint from this share of the window's lower limit on: below it,
/// bushings are not yet gripped.
pub(super) const SPOILS_SHARE: f64 = 0.3;

/// A fastener that held less than this share of a pull's peak before is one that turned like a slack one.
const SLACK_SHARE: f64 = 0.7;

/// What turns by less than this share of its torque tells nothing of how stiff it is: torque held and torque at which
/// it breaks away differ by as much.
const TELLING_GAIN: f64 = 0.3;

#[derive(Debug, Clone)]
pub(super) struct Hypothesis {
    /// Natural logarithm of its weight.
    pub ln: f64,
    pub members: Shared<Member>,
    pub rounds: Shared<Round>,
    pub last: Option<Last>,
    pub habit: Habit,
    /// Where the members of each step lie.
    pub lies: Shared<Lie>,
    /// (fastener, pass) that was not done when its step went on to a later pass.
    pub missed: Vec<(usize, usize)>,
    /// The last assignments, newest at the back.
    pub history: VecDeque<Past>,
    /// How many assignments there were in all.
    pub pulls: u64,
}

impl Hypothesis {
    pub fn new(scene: &Scene) -> Self {
        let steps = 0..scene.plan.steps.len();
        let lies: Vec<Lie> = steps.map(|step| Lie::of(scene, step)).collect();
        Self {
            ln: 0.0,
            members: Shared::new(&vec![Member::default(); scene.count()]),
            rounds: Shared::new(&vec![Round::default(); scene.plan.steps.len()]),
            lies: Shared::new(&lies),
            last: None,
            habit: Habit::default(),
            missed: Vec::new(),
            history: VecDeque::new(),
            pulls: 0,
        }
    }

    /// A copy with room for one more assignment.
    pub fn branch(&self) -> Self {
        let mut history = VecDeque::with_capacity((self.history.len() + 1).min(MEMORY));
        history.extend(&self.history);
        let (members, rounds) = (self.members.clone(), self.rounds.clone());
        let (lies, missed) = (self.lies.clone(), self.missed.clone());
        Self { members, rounds, lies, missed, history, ..*self }
    }

    /// A pull as this account sees it.
    pub fn seeing(&self, seen: &Seen) -> Seen {
        Seen { ln_tight: seen.looks.map(|looks| trace::told(self, &looks)), ..*seen }
    }

    /// Adds a pull to this account.
    pub fn apply(
        &mut self,
        scene: &Scene,
        seen: &Seen,
        assignment: Assignment,
        told: Option<Told>,
    ) {
        if let Some(moved) = seen.moved.filter(|_| told == Some(Told::Place)) {
            self.moved(scene, &moved, &assignment);
        }
        self.learn_habit(scene, seen, &assignment);
        if self.history.len() == MEMORY {
            self.history.pop_front();
        }
        self.history.push_back(Past { was: assignment, sure: 1.0, otherwise: None });
        self.pulls += 1;
        let double = self.is_double(seen, &assignment);
        let Some(fastener) = assignment.fastener else { return };
        let step = scene.step_of(fastener);
        let nm = scene.tightening(step, Torque::from_nm(seen.nm));
        if matches!(assignment.act, Act::Tighten | Act::Recheck) {
            self.mind_locker(scene, seen, fastener);
        }
        let strained = self.members[fastener].was_strained();
        match assignment.act {
            Act::Loosen => self.loosen(scene, fastener),
            Act::Tighten => self.tighten(scene, seen, assignment, fastener, nm, told),
            Act::Recheck => self.recheck(scene, seen, assignment, fastener, nm, told),
            Act::Trial => {}
        }
        self.members[fastener].mind_harm(seen, assignment.act, strained);
        let window = scene.window(step, assignment.pass);
        let short = window.is_some_and(|window| nm < window.low.nm());
        let weak = window.is_some_and(|window| nm < WEAK * window.target.nm());
        let (pass, act) = (assignment.pass, assignment.act);
        self.last = Some(Last { fastener, pass, act, short, weak, double });
    }

    /// True if the pull is the second of two on one fastener at once, or goes on with such a one that proved little.
    fn is_double(&self, seen: &Seen, assignment: &Assignment) -> bool {
        let at_once = seen.gap_s.is_some_and(|gap| gap <= time::AT_ONCE_S);
        assignment.act == Act::Recheck
            && self.last.is_some_and(|last| {
                let goes_on = at_once || last.double && last.proves_little();
                goes_on && assignment.fastener == Some(last.fastener)
            })
    }

    /// Whether whoever could have pulled twice at once did so.
    fn learn_habit(&mut self, scene: &Scene, seen: &Seen, assignment: &Assignment) {
        let told = time::ln_with_room(scene, self, seen, assignment);
        self.habit.ln_with_room = time::surer(self.habit.ln_with_room, told);
        let Some(last) = self.last.filter(|last| last.act != Act::Loosen && !last.short) else {
            return;
        };
        let again = assignment.fastener == Some(last.fastener) && assignment.act == Act::Recheck;
        if self.is_double(seen, assignment) {
            self.habit.doubles = self.habit.doubles.saturating_add(1);
        }
        if !again || last.act != Act::Recheck {
            self.habit.chances = self.habit.chances.saturating_add(1);
        }
    }

    /// A reading that is missing may have been on this fastener: the order goes on after it.
    pub fn pass_over(&mut self, scene: &Scene, fastener: usize, pass: usize) {
        let step = scene.step_of(fastener);
        self.enter_pass(scene, step, pass);
        self.rounds[step].pulled.push(scene.id(fastener).member);
        self.rounds[step].efforts += 1;
        self.members[fastener].unseen = true;
        self.last = Some(Last {
            fastener,
            pass,
            act: Act::Tighten,
            short: false,
            weak: false,
            double: false,
        });
    }

    /// A move within a ring tells of both its ends.
    fn moved(&mut self, scene: &Scene, moved: &Move, assignment: &Assignment) {
        if !motion::tells(scene, self, moved, assignment) {
            return;
        }
        motion::learn(scene, self, moved, assignment);
        if let Some(from) = motion::from(self, moved.back) {
            self.members[from].told = true;
            self.members[from].placed = true;
        }
    }

    fn loosen(&mut self, scene: &Scene, fastener: usize) {
        let backs_off = self.backs_off(scene, fastener);
        let member = &mut self.members[fastener];
        if let Some(next) = bearing::backs_off(scene, member, fastener) {
            member.back_off(next);
            return;
        }
        let cure = member.over || member.spoiled.is_some() || member.breaks_a_rule();
        member.loosened = member.next_pass > 0 && !cure;
        member.kept.backed_off = backs_off && !cure;
        member.kept.opened = true;
        self.slacken(scene, fastener);
    }

    fn tighten(
        &mut self,
        scene: &Scene,
        seen: &Seen,
        assignment: Assignment,
        fastener: usize,
        nm: f64,
        told: Option<Told>,
    ) {
        let step = scene.step_of(fastener);
        let pass = assignment.pass;
        let checked = self.tight_after(scene, step) == pass;
        let found = checked && checks::has_come_to(scene, self, fastener);
        self.enter_pass(scene, step, pass);
        let member_number = scene.id(fastener).member;
        // Several swings are one effort, whether the earlier one fell short or was enough already.
        let swing =
            self.members[fastener].partial.is_some() || self.members[fastener].next_pass > pass;
        let lapse = self.lapse(scene, step);
        let round = &mut self.rounds[step];
        round.efforts += usize::from(!swing);
        if !round.pulled.contains(&member_number) {
            let place = lapse.and_then(|lapse| u32::try_from(lapse.place).ok());
            round.instead |= place.and_then(|place| 1_u128.checked_shl(place)).unwrap_or(0);
            round.lapse = round.lapse.or(lapse);
            round.pulled.push(member_number);
        }
        // A round over what is tight that comes on one who was forgotten goes on after it.
        if found && !swing {
            round.rechecked.push(member_number);
        } else if !swing || round.rechecked.last() != Some(&member_number) {
            round.rechecked.clear();
        }
        let number = self.pulls;
        if assignment.slackened {
            self.slacken(scene, fastener);
        }
        let goes_on = castle::goes_on(scene, self, fastener);
        if goes_on {
            self.went_on(scene, seen, fastener, nm);
        }
        let was_held = self.held_nm(scene, fastener, pass);
        let unchecked = slack_first::lacks(scene, self, fastener);
        let round = &mut self.rounds[step];
        let member = &mut self.members[fastener];
        member.kept.secured = false;
        member.held_nm = was_held;
        member.held_nm = member.held_nm.max(nm);
        // Evidence about a word is none about a measurement.
        let same = member.typed == seen.typed;
        member.told = told.is_some() || (member.told && same);
        member.placed = told == Some(Told::Place) || (member.placed && same);
        member.typed = seen.typed;
        let since = member.partial.map_or(number, |partial| partial.since);
        let best = member.partial.map_or(nm, |partial| partial.nm.max(nm));
        let short = Some(Partial { pass, nm: best, since });
        let Some(window) = scene.window_for(fastener, pass) else {
            // Nothing tells yet whether it is enough.
            if scene.pass(step, pass).expect == Expect::ToBeLookedUp {
                member.partial = short;
                return;
            }
            let turned = angle::turn(scene, member, seen, (step, pass), nm);
            member.partial = short.filter(|_| turned == Reached::Short);
            if member.partial.is_none() {
                member.next_pass = member.next_pass.max(pass + 1);
            }
            return;
        };
        if assignment.unturned {
            // Held by a gun to less than what is still to come, it will be seen to turn.
            if scene.closing_pass(step).is_none_or(|closing| pass >= closing) {
                member.spoiled.get_or_insert(Spoiled::Unturned);
            }
            round.did_not += 1;
            if let Some(told) = seen.ln_tight {
                self.habit.tight.learn(told);
            }
        } else if nm > was_held.max(0.1 * nm) {
            round.did_turn += 1;
            let told = seen.looks.zip(seen.ln_tight);
            if let Some((looks, told)) = told.filter(|_| was_held < SLACK_SHARE * nm) {
                self.habit.turned.learn(told);
                self.habit.usual.learn(&looks);
            }
            // What turns by a rule of its own tells nothing of how stiff the others are.
            let by_stiffness = !goes_on && angle::asked(scene, step, pass).is_none();
            let gained = nm - was_held.max(0.1 * nm);
            if let Some(deg) =
                seen.turned_deg.filter(|_| by_stiffness && gained > TELLING_GAIN * nm)
            {
                let each = deg.max(0.1) / gained;
                let turned = if was_held > 0.0 { &mut round.half_tight } else { &mut round.slack };
                turned.count += 1;
                turned.ln_compliance += each.ln();
                turned.squares += each.ln().powi(2);
            }
        }
        if let Some(hold) = scene.unconfirmed_hold(step, pass)
            && nm >= window.low.nm() * SPOILS_SHARE
        {
            if scene.plan.holds[hold].cure == Cure::Slacken {
                member.spoiled.get_or_insert(Spoiled::Hold(hold));
            }
            return;
        }
        if seen.hit && scene.step(step).rules.by_hand_only {
            member.spoiled.get_or_insert(Spoiled::Driven);
            return;
        }
        if scene.unlike.contains_key(&step) && nm >= window.low.nm() * SPOILS_SHARE {
            member.spoiled.get_or_insert(Spoiled::Threads);
            return;
        }
        if member.spoiled.is_some() || seen.range.is_some_and(|range| out_of_range(range, nm)) {
            return;
        }
        let proves_nothing = access::blocked(scene, step).is_some() && !seen.typed;
        if unchecked || proves_nothing {
            member.partial = short;
            return;
        }
        if goes_on && nm < window.low.nm() {
            return;
        }
        let turned = angle::turn(scene, member, seen, (step, pass), nm);
        let too_low = nm < window.low.nm();
        if turned == Reached::Short || too_low && turned == Reached::Untold {
            member.partial = short;
            return;
        }
        let proof = acceptance::proof(scene, seen, (step, pass), &window, nm);
        if proof == Proof::MayBeLow && turned == Reached::Untold {
            member.partial = short;
            return;
        }
        member.kept.may_be_high |= proof == Proof::MayBeHigh;
        member.kept.weak |= too_low;
        member.over |= window.high.is_some_and(|high| nm > high.nm());
        member.partial = None;
        member.unseen = false;
        member.loosened = false;
        member.kept.backed_off = false;
        member.peak_nm = Some(nm);
        member.next_pass = member.next_pass.max(pass + 1);
    }

    fn recheck(
        &mut self,
        scene: &Scene,
        seen: &Seen,
        assignment: Assignment,
        fastener: usize,
        nm: f64,
        told: Option<Told>,
    ) {
        let (step, pass) = (scene.step_of(fastener), assignment.pass);
        let check = scene.pass(step, pass).check;
        if check {
            self.enter_pass(scene, step, pass);
        }
        let number = scene.id(fastener).member;
        let finished = self.finished(scene, step) || self.thinks_it_done(scene, step);
        let checks = finished || assignment.begins;
        let at_once = seen.gap_s.is_some_and(|gap| gap <= time::AT_ONCE_S);
        let again = self.last.is_some_and(|last| {
            let goes_on = at_once || last.proves_little();
            goes_on && last.fastener == fastener
        });
        let round = &mut self.rounds[step];
        // Nobody counts the second of two pulls that are one habit, nor what goes on with one that proved little, nor
        // begins a check round with it.
        round.efforts += usize::from(!again);
        if check && !round.pulled.contains(&number) {
            round.pulled.push(number);
        }
        if checks && !again && round.rechecked.last() != Some(&number) {
            if round.rechecked.contains(&number) {
                round.rechecked.clear();
            }
            round.rechecked.push(number);
        }
        if let Some(told) = seen.ln_tight {
            self.habit.tight.learn(told);
        }
        let Some(window) = scene.window_for(fastener, pass) else { return };
        let member = &mut self.members[fastener];
        member.held_nm = member.held_nm.max(nm);
        member.over |= window.high.is_some_and(|high| nm > high.nm());
        if nm >= window.low.nm() {
            if member.typed && !seen.typed {
                (member.told, member.placed, member.typed) = (false, false, false);
            }
            if member.typed == seen.typed {
                member.told |= told.is_some();
                member.placed |= told == Some(Told::Place);
            }
            member.peak_nm = Some(member.peak_nm.unwrap_or(0.0).max(nm));
            if check {
                member.next_pass = member.next_pass.max(pass + 1);
            }
        }
    }

    /// The last pull, if it may have been one instead of another in the pass under way.
    fn lapse(&self, scene: &Scene, step: usize) -> Option<Lapse> {
        let place = self.rounds[step].pulled.len();
        let last = self.last.filter(|_| place > 0 && self.has_repeated(scene, step))?;
        Some(Lapse { place, member: scene.id(last.fastener).member })
    }

    /// Whom the pass before took instead of another, if this one goes the same way and has come to that.
    pub fn lapse_again(&self, scene: &Scene, step: usize) -> Option<usize> {
        let Round { pulled, before, lapse_before, .. } = &self.rounds[step];
        let same = |lapse: &Lapse| lapse.place == pulled.len() && before.starts_with(pulled);
        let lapse = lapse_before.filter(same).filter(|_| !self.has_repeated(scene, step))?;
        Some(scene.fasteners_of(step).start + usize::from(lapse.member) - 1)
    }

    fn enter_pass(&mut self, scene: &Scene, step: usize, pass: usize) {
        let before = self.rounds[step].pass;
        if before == Some(pass) {
            return;
        }
        if let Some(left) =
            before.filter(|left| *left < pass && scene.window(step, *left).is_some())
        {
            for fastener in scene.fasteners_of(step) {
                if self.waits(scene, fastener, left) && self.members[fastener].spoiled.is_none() {
                    self.missed.push((fastener, left));
                }
            }
        }
        let at_end = self.lapse(scene, step);
        let members = usize::from(scene.step(step).members);
        let round = &mut self.rounds[step];
        let at_end = at_end.filter(|_| round.rechecked.is_empty());
        let short = round.pulled.len() < members;
        round.lapse_before = round.lapse.take().or(at_end).filter(|_| short);
        round.earlier += usize::from(before.is_some());
        round.pass = Some(pass);
        round.before = std::mem::take(&mut round.pulled);
        round.instead = 0;
        round.efforts = 0;
        (round.did_turn, round.did_not) = (0, 0);
    }
}
