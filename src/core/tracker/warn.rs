//! What the operator is told, and that they are told it once.

use crate::core::event::{Act, Warning, WarningCode};
use crate::core::plan::Expect;
use crate::core::time::Stamp;
use crate::core::tracker::belief::Beliefs;
use crate::core::tracker::evidence::order::prerequisite;
use crate::core::tracker::hypothesis::{Hypothesis, SPOILS_SHARE};
use crate::core::tracker::images::Alike;
use crate::core::tracker::member::Spoiled;
use crate::core::tracker::policy::{
    BEYOND_DOUBT, NAME, SPEAK, SPEAK_ORDER, SPEAK_UNEXPECTED, WORTH_A_WORD_NM,
};
use crate::core::tracker::pull::{Assignment, out_of_range};
use crate::core::tracker::ring::can_end_well;
use crate::core::tracker::scene::Scene;
use crate::core::tracker::state::{Placed, State};
use crate::core::tracker::words;
use std::collections::BTreeSet;
use std::ops::Range;

/// A reason to speak, told apart so that it is spoken of once.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Reason {
    Low {
        fastener: usize,
        since: u64,
    },
    Left {
        fastener: usize,
        pass: usize,
    },
    LeftSomebody {
        step: usize,
        pass: usize,
    },
    NeverDone(usize),
    /// The same of a whole group.
    NoneDone(usize),
    Hold {
        step: usize,
        hold: usize,
    },
    Order {
        step: usize,
        pass: usize,
    },
    TooEarly {
        step: usize,
    },
    Straight(usize),
    OfReading {
        code: WarningCode,
        index: usize,
    },
    PastSlot(usize),
    Units(String),
    Sides(usize),
    Zero(String),
    Overdue(String),
    Uncovered(String, usize),
    Unconfirmed(String),
    Redo {
        fastener: usize,
        why: Spoiled,
    },
    Threads(usize),
    NoValue(usize),
    Hit(String),
}

/// Finds reasons to speak in a state and drops those already spoken of.
pub(super) struct Speaker<'a> {
    pub state: &'a State,
    pub spoken: &'a mut BTreeSet<Reason>,
    pub at: Stamp,
    pub found: Vec<Warning>,
}

impl Speaker<'_> {
    pub(super) fn scene(&self) -> &Scene {
        &self.state.scene
    }

    pub(super) fn beliefs(&self) -> &Beliefs {
        &self.state.beliefs
    }

    pub(super) fn best(&self) -> &Hypothesis {
        self.state.beliefs.best()
    }

    pub(super) fn say(&mut self, reason: Reason, code: WarningCode, about: About, text: String) {
        if !self.spoken.insert(reason) {
            return;
        }
        let placed = about.reading.map(|index| &self.state.readings[index]);
        self.found.push(Warning {
            at: self.at,
            code,
            fastener: about.fastener.map(|fastener| self.scene().name(fastener)),
            adapter: placed.map(|placed| placed.reading.adapter.clone()),
            seq: placed.map(|placed| placed.reading.seq),
            text,
        });
    }

    /// What one reading gives reason for.
    pub fn of_reading(&mut self, index: usize) {
        let assignment = self.state.assignment(index);
        let placed = self.state.readings[index].clone();
        if placed.void {
            return;
        }
        self.overload(index);
        self.hit(index);
        self.zero_jumped(index);
        self.zero_moved(index);
        self.overdue(index);
        let Some(fastener) = assignment.fastener else {
            return self.unexpected(index, &placed);
        };
        let step = self.scene().step_of(fastener);
        let nm = self.scene().tightening(step, placed.reading.peak);
        match assignment.act {
            Act::Loosen => return self.loosened(index, fastener),
            Act::Tighten => {
                self.hold_open(index, fastener, &assignment, nm);
                self.wrong_threads(index, fastener);
                self.driven(index, fastener);
                self.no_access(index, fastener);
                self.not_slackened(index, fastener, nm);
                self.without_value(index, fastener, assignment.pass);
                self.redo_slack(Some(index), fastener);
                self.did_not_turn(index, fastener, &assignment);
                self.angle(index, fastener, assignment.pass);
                self.unproven(index, fastener, assignment.pass, nm);
                self.past_slot(index, fastener);
                self.order(index, step, assignment.pass);
                self.too_early(index, step);
                self.pass_left_out(index, step, assignment.pass);
            }
            Act::Recheck if self.best().members[fastener].spoiled.is_some() => {
                self.hold_open(index, fastener, &assignment, nm);
                self.wrong_threads(index, fastener);
                self.redo_slack(Some(index), fastener);
            }
            Act::Recheck => self.repeat(index, &assignment),
            Act::Trial => {}
        }
        self.cured(index, fastener);
        self.shown_by_trace(index);
        self.high(index, fastener, &assignment, nm);
        self.units(index);
        self.sides(index);
        self.range(index, fastener, &placed, nm);
        self.uncovered(index, fastener, &assignment, nm);
    }

    fn unexpected(&mut self, index: usize, placed: &Placed) {
        let sure = self.state.probability(index, |one| one.fastener.is_none());
        if sure >= SPEAK_UNEXPECTED && placed.reading.peak.nm().abs() >= WORTH_A_WORD_NM {
            let reason = Reason::OfReading { code: WarningCode::Unexpected, index };
            let text = words::unexpected(placed.reading.peak);
            self.say(reason, WarningCode::Unexpected, About::reading(None, index), text);
        }
    }

    fn loosened(&mut self, index: usize, fastener: usize) {
        let sure =
            self.beliefs().probability(|one| one.members.iter().any(|member| member.loosened));
        if sure < SPEAK || !self.best().members[fastener].loosened {
            return;
        }
        if self.backed_off(index, fastener) {
            return;
        }
        let reason = Reason::OfReading { code: WarningCode::Loosened, index };
        let about = self.named(index, fastener);
        let text = words::loosened(self.scene(), about.fastener);
        self.say(reason, WarningCode::Loosened, about, text);
    }

    fn hold_open(&mut self, index: usize, fastener: usize, assignment: &Assignment, nm: f64) {
        let step = self.scene().step_of(fastener);
        let Some(hold) = self.scene().unconfirmed_hold(step, assignment.pass) else { return };
        let Some(window) = self.scene().window(step, assignment.pass) else { return };
        if nm < window.low.nm() * SPOILS_SHARE {
            return;
        }
        let about = self.named(index, fastener);
        let text = words::hold_open(self.scene(), fastener, hold);
        self.say(Reason::Hold { step, hold }, WarningCode::HoldOpen, about, text);
    }

    /// A pull on a joint whose value is still to be looked up.
    fn without_value(&mut self, index: usize, fastener: usize, pass: usize) {
        let step = self.scene().step_of(fastener);
        if self.scene().pass(step, pass).expect != Expect::ToBeLookedUp {
            return;
        }
        let about = self.named(index, fastener);
        let text = words::without_value(self.scene(), about.fastener, fastener);
        self.say(Reason::NoValue(step), WarningCode::HoldOpen, about, text);
    }

    /// A joint pulled before its hold, which is confirmed by now, or with other threads than asked, which are put
    /// right: only slackening cures it.
    fn redo_slack(&mut self, index: Option<usize>, fastener: usize) {
        let step = self.scene().step_of(fastener);
        let spoiled = |one: &Hypothesis| match one.members[fastener].spoiled {
            why @ Some(Spoiled::Hold(hold)) if self.scene().confirmed[hold] => why,
            why @ Some(Spoiled::Threads) if !self.scene().unlike.contains_key(&step) => why,
            _ => None,
        };
        let Some(why) = spoiled(self.best()) else { return };
        if self.beliefs().probability(|one| spoiled(one).is_some()) < SPEAK {
            return;
        }
        let reason = match index {
            Some(index) => Reason::OfReading { code: WarningCode::RedoSlack, index },
            None => Reason::Redo { fastener, why },
        };
        let text = words::redo_slack(self.scene(), fastener, why);
        let about = About { fastener: Some(fastener), reading: index };
        self.say(reason, WarningCode::RedoSlack, about, text);
    }

    fn did_not_turn(&mut self, index: usize, fastener: usize, assignment: &Assignment) {
        let step = self.scene().step_of(fastener);
        let closing = self.scene().closing_pass(step);
        let early = closing.is_some_and(|closing| assignment.pass < closing);
        if assignment.unturned
            && !early
            && self.state.probability(index, |one| one.unturned) >= SPEAK
        {
            let reason = Reason::OfReading { code: WarningCode::DidNotTurn, index };
            let about = self.named(index, fastener);
            let text = words::did_not_turn(self.scene(), about.fastener, fastener);
            self.say(reason, WarningCode::DidNotTurn, about, text);
        }
    }

    fn order(&mut self, index: usize, step: usize, pass: usize) {
        let scene = self.scene();
        let order = scene.order(step, pass);
        if order.alike == Alike::None || !scene.pass(step, pass).ordered {
            return;
        }
        let members = scene.step(step).members;
        let told = self.told_of(step, pass);
        let broken = |one: &Hypothesis| {
            let pulled = &one.rounds[step].pulled;
            let fine = match order.alike {
                Alike::RoundTheRing => can_end_well(members, pulled),
                // Who was said to be left out comes late.
                _ => {
                    let own: Vec<u16> =
                        pulled.iter().copied().filter(|one| !told.contains(one)).collect();
                    order.begins_with(&own) || order.leaves_out_one(&own)
                }
            };
            one.rounds[step].pass == Some(pass) && !fine && !order.leaves_out_one(pulled)
        };
        if broken(self.best()) && self.beliefs().probability(broken) >= SPEAK_ORDER {
            let pulled = self.best().rounds[step].pulled.clone();
            let text = words::order(self.scene(), step, pass, &pulled);
            let about = About::reading(self.best().last.map(|last| last.fastener), index);
            self.say(Reason::Order { step, pass }, WarningCode::Order, about, text);
        }
    }

    /// Members that were said to be left out in a pass.
    fn told_of(&self, step: usize, pass: usize) -> Vec<u16> {
        let scene = self.scene();
        let left = self.spoken.iter().filter_map(|reason| match reason {
            Reason::Left { fastener, pass: one } if *one == pass => Some(scene.id(*fastener)),
            _ => None,
        });
        left.filter(|id| id.step.0 == step).map(|id| id.member).collect()
    }

    /// A group is pulled straight to a later pass.
    fn pass_left_out(&mut self, index: usize, step: usize, pass: usize) {
        let scene = self.scene();
        let first = (0..pass).find(|pass| scene.window(step, *pass).is_some());
        let Some(first) = first.filter(|_| scene.step(step).members > 1) else { return };
        let straight = |one: &Hypothesis| {
            let round = &one.rounds[step];
            round.pass == Some(pass) && round.earlier == 0
        };
        if straight(self.best()) && self.beliefs().probability(straight) >= SPEAK_ORDER {
            let text = words::pass_left_out(scene, step, first, pass);
            let about = About { fastener: None, reading: Some(index) };
            self.say(Reason::Straight(step), WarningCode::Order, about, text);
        }
    }

    fn too_early(&mut self, index: usize, step: usize) {
        let Some(first) = prerequisite(self.scene(), self.best(), step) else { return };
        // Whoever was left out in a group that was begun is spoken of by name.
        let early = |one: &Hypothesis| {
            prerequisite(self.scene(), one, step).is_some_and(|first| !one.begun(first))
        };
        if self.beliefs().probability(early) < SPEAK_ORDER {
            return;
        }
        let text = words::too_early(self.scene(), step, first);
        let about = About::reading(self.best().last.map(|last| last.fastener), index);
        self.say(Reason::TooEarly { step }, WarningCode::Order, about, text);
    }

    fn high(&mut self, index: usize, fastener: usize, assignment: &Assignment, nm: f64) {
        let step = self.scene().step_of(fastener);
        let Some(window) = self.state.scene.window_for(fastener, assignment.pass) else { return };
        if window.high.is_some_and(|high| nm > high.nm()) {
            let about = self.named(index, fastener);
            let text = words::high(self.scene(), about.fastener, step, &window, nm);
            let reason = Reason::OfReading { code: WarningCode::HighTorque, index };
            self.say(reason, WarningCode::HighTorque, about, text);
        }
    }

    fn range(&mut self, index: usize, fastener: usize, placed: &Placed, nm: f64) {
        let Some(range) = placed.seen.range.filter(|range| out_of_range(*range, nm)) else {
            return;
        };
        let step = self.scene().step_of(fastener);
        let pass = self.state.assignment(index).pass;
        let counts = self.scene().window(step, pass).is_some_and(|w| nm >= w.low.nm());
        if nm > range.1 || counts {
            let about = self.named(index, fastener);
            let text = words::range(&placed.reading.adapter, range, nm);
            let reason = Reason::OfReading { code: WarningCode::AdapterRange, index };
            self.say(reason, WarningCode::AdapterRange, about, text);
        }
    }

    /// The fastener if it is likely enough to be named, for a warning about one reading.
    pub(super) fn named(&self, index: usize, fastener: usize) -> About {
        let sure = self.state.sureness(index, Some(fastener));
        About::reading((sure >= NAME).then_some(fastener), index)
    }

    /// True if who waits in the pass under way follows from the plan's order more than from evidence.
    pub(super) fn doubtful(&self, step: usize) -> bool {
        let Some(pass) = self.best().rounds[step].pass else { return false };
        let waiting = self.waiting(step);
        let same = |one: &Hypothesis| {
            waiting.iter().all(|fastener| one.waits(self.scene(), *fastener, pass))
        };
        self.beliefs().probability(same) < BEYOND_DOUBT
    }

    pub(super) fn waiting(&self, step: usize) -> Vec<usize> {
        let Some(pass) = self.best().rounds[step].pass else { return Vec::new() };
        let all = self.scene().fasteners_of(step);
        all.filter(|one| self.best().waits(self.scene(), *one, pass)).collect()
    }

    /// A hold was confirmed: what was pulled before it must be redone.
    pub fn confirmed(&mut self, hold: usize) {
        self.spoken
            .retain(|reason| !matches!(reason, Reason::Hold { hold: one, .. } if *one == hold));
        self.redo(0..self.scene().count());
    }

    /// Says of each that it must be redone, if it must.
    pub(super) fn redo(&mut self, fasteners: Range<usize>) {
        for fastener in fasteners {
            self.redo_slack(None, fastener);
        }
    }
}

/// What a warning is about.
#[derive(Debug, Clone, Copy)]
pub(super) struct About {
    pub fastener: Option<usize>,
    pub reading: Option<usize>,
}

impl About {
    fn reading(fastener: Option<usize>, index: usize) -> Self {
        Self { fastener, reading: Some(index) }
    }
}
