//! What follows from the operator having moved on: somebody was left short, or left out.

use crate::core::event::WarningCode;
use crate::core::tracker::evidence::checks::has_gone_past;
use crate::core::tracker::hypothesis::{Hypothesis, MEMORY};
use crate::core::tracker::policy::{
    BEYOND_DOUBT, LIKELY, NAME, NAME_LEFT, SPEAK, SPEAK_COUNTED, SPEAK_LEFT, SPEAK_LEFT_EARLY,
    SUSPECT,
};
use crate::core::tracker::rules;
use crate::core::tracker::state::State;
use crate::core::tracker::warn::{About, Reason, Speaker};
use crate::core::tracker::words;

/// Where the operator is, as one account has it.
fn now_at(state: &State, account: &Hypothesis) -> Option<usize> {
    state.scene.focus.or(account.last.map(|last| last.fastener))
}

/// True if the operator has gone on from a fastener, as one account has it.
fn has_gone_on(state: &State, account: &Hypothesis, fastener: usize) -> bool {
    state.ended || now_at(state, account) != Some(fastener)
}

/// True if the operator has left a group, as one account has it.
fn has_left(state: &State, account: &Hypothesis, step: usize) -> bool {
    state.ended || now_at(state, account).map(|one| state.scene.step_of(one)) != Some(step)
}

impl Speaker<'_> {
    /// What follows from the operator having moved on: left short, or left out.
    pub fn moved_on(&mut self) {
        self.late_repeats();
        for fastener in 0..self.scene().count() {
            if has_gone_on(self.state, self.best(), fastener) {
                self.left_short(fastener);
            }
        }
        for step in 0..self.scene().plan.steps.len() {
            // Where nobody has begun, nobody was left out.
            if !self.beliefs().is_possible(|one| one.begun(step)) {
                continue;
            }
            for pass in 0..self.scene().step(step).passes.len() {
                self.left_out(step, pass);
            }
        }
        if self.state.ended {
            self.never_done();
            self.unconfirmed();
        }
    }

    fn left_short(&mut self, fastener: usize) {
        // Of what the adapter does not get to it was said what to do.
        let blocked = rules::access::blocked(self.scene(), self.scene().step_of(fastener));
        if self.scene().settled_by_word(fastener) || blocked.is_some() {
            return;
        }
        let Some(partial) = self.best().members[fastener].partial else { return };
        let step = self.scene().step_of(fastener);
        let window = self.state.scene.window_for(fastener, partial.pass);
        if window.is_none() && rules::angle::asked(self.scene(), step, partial.pass).is_none() {
            return;
        }
        let this = self.beliefs().probability(|one| {
            has_gone_on(self.state, one, fastener) && one.members[fastener].partial.is_some()
        });
        let some = self.beliefs().probability(|one| {
            let mut all = self.scene().fasteners_of(step);
            all.any(|other| one.waits(self.scene(), other, partial.pass))
        });
        if this < SPEAK && (some < SPEAK || !has_left(self.state, self.best(), step)) {
            return;
        }
        if self.left_short_of_angle(fastener, (partial.pass, partial.since), this >= NAME) {
            return;
        }
        // What is inside and proves too little was told at once.
        let window = window.filter(|window| partial.nm < window.low.nm());
        let Some(window) = window else { return };
        let named = (this >= NAME).then_some(fastener);
        let text = match named {
            Some(_) => words::low(self.scene(), fastener, &window, partial.nm),
            None => words::low_somewhere(self.scene(), step, &window, partial.nm),
        };
        let reason = Reason::Low { fastener, since: partial.since };
        let reading = usize::try_from(partial.since).ok().and_then(|n| n.checked_sub(1));
        self.say(reason, WarningCode::LowTorque, About { fastener: named, reading }, text);
    }

    /// Somebody was left out in a pass: it was gone on from, or the group is left.
    fn left_out(&mut self, step: usize, pass: usize) {
        let state = self.state;
        let scene = &state.scene;
        let waits_in =
            |one: &Hypothesis| one.rounds[step].pass == Some(pass) && one.under_way(scene, step);
        let lacks = |one: &Hypothesis, fastener: usize, waits_in: bool| {
            let member = &one.members[fastener];
            let waits = waits_in
                && one.waits(scene, fastener, pass)
                && member.partial.is_none()
                && member.spoiled.is_none()
                && !member.loosened;
            waits || one.missed.contains(&(fastener, pass))
        };
        let known =
            |one: usize| scene.settled_by_word(one) || self.is_out_of_range(one, Some(pass));
        let all: Vec<usize> = scene.fasteners_of(step).filter(|one| !known(*one)).collect();
        let has_left = |one: &Hypothesis| has_left(state, one, step);
        let gone_on = state.beliefs.probability(|one| {
            let waits_in = has_left(one) && waits_in(one);
            all.iter().any(|fastener| lacks(one, *fastener, waits_in))
        });
        // A round over what is tight may have gone past somebody.
        let gone_past = |one: &Hypothesis, fastener: usize| {
            waits_in(one) && (has_left(one) || has_gone_past(scene, one, fastener))
        };
        let sure = if state.beliefs.is_possible(|one| one.rounds[step].rechecked.len() > 1) {
            let lacks = |one: &Hypothesis, fastener| lacks(one, fastener, gone_past(one, fastener));
            let any = |one: &Hypothesis| all.iter().any(|fastener| lacks(one, *fastener));
            state.beliefs.probability(any)
        } else {
            gone_on
        };
        let shape = scene.step(step);
        let mended = shape.members > 2 && shape.passes[pass + 1..].iter().any(|later| !later.check);
        let enough = if mended || self.has_just_left(step) { SPEAK_LEFT_EARLY } else { SPEAK_LEFT };
        if gone_on < enough && sure < SPEAK_LEFT_EARLY {
            return;
        }
        let oldest = state.readings.len().saturating_sub(MEMORY);
        let of_step = |index: &usize| {
            let fastener = state.assignment(*index).fastener;
            fastener.is_some_and(|one| scene.step_of(one) == step)
        };
        let readings: Vec<usize> = (oldest..state.readings.len()).filter(of_step).collect();
        let told = readings.iter().any(|index| state.bears_on_place(*index));
        // Where nothing tells which was which, all there is to go by is the count.
        let count = readings.iter().filter(|index| state.assignment(**index).pass == pass).count();
        let whole = count >= usize::from(scene.step(step).members);
        if !told && (whole || sure < SPEAK_COUNTED) {
            return;
        }
        self.repeats_beside(pass, &readings);
        let each: Vec<(usize, f64)> = all
            .into_iter()
            .map(|fastener| {
                let lacks = |one: &Hypothesis| lacks(one, fastener, gone_past(one, fastener));
                (fastener, state.beliefs.probability(lacks))
            })
            .collect();
        let mut named = false;
        let alone = each.iter().filter(|(_, sure)| *sure >= SUSPECT).count() == 1;
        let enough = match each.len() {
            // Nobody else can be meant.
            1 => 0.0,
            _ if alone => NAME,
            _ => NAME_LEFT,
        };
        for (fastener, sure) in each.iter().copied().filter(|(_, sure)| *sure >= enough) {
            named = true;
            let doubtful = sure < BEYOND_DOUBT;
            let text = words::skipped(scene, step, pass, Some(fastener), doubtful, &[]);
            let about = About { fastener: Some(fastener), reading: None };
            self.say(Reason::Left { fastener, pass }, WarningCode::Skipped, about, text);
        }
        let spoken = self.spoken.iter().any(|reason| {
            matches!(reason, Reason::Left { fastener, pass: one }
                if *one == pass && scene.step_of(*fastener) == step)
        });
        if !named && !spoken {
            let mut suspects: Vec<(usize, f64)> =
                each.into_iter().filter(|(_, sure)| *sure >= SUSPECT).collect();
            suspects.sort_by(|a, b| b.1.total_cmp(&a.1));
            let all = usize::from(shape.members);
            if suspects.len() == all {
                let likely = suspects.iter().take_while(|(_, sure)| *sure >= LIKELY).count();
                suspects.truncate(likely.max(2));
            }
            let known = (2..all).contains(&suspects.len());
            let suspects = if known { &suspects[..] } else { &[] };
            let text = words::skipped(scene, step, pass, None, true, suspects);
            let about = About { fastener: None, reading: None };
            self.say(Reason::LeftSomebody { step, pass }, WarningCode::Skipped, about, text);
        }
    }

    /// True if the last pull is the first of another group since one of this: the next tells whether it was.
    fn has_just_left(&self, step: usize) -> bool {
        let latest = self.state.readings.len();
        let of_step = |back: usize| {
            let index = latest.checked_sub(back)?;
            Some(self.scene().step_of(self.state.assignment(index).fastener?) == step)
        };
        !self.state.ended && of_step(1) == Some(false) && of_step(2) == Some(true)
    }

    /// The job ends and these fasteners were never brought to torque, nor spoken of; a group of which that is true of
    /// all is told as one.
    fn never_done(&mut self) {
        for step in 0..self.scene().plan.steps.len() {
            let all: Vec<usize> =
                self.scene().fasteners_of(step).filter(|one| self.was_never_done(*one)).collect();
            let pass = self.scene().closing_pass(step).unwrap_or(0);
            if all.len() > 1 && all.len() == usize::from(self.scene().step(step).members) {
                let text = words::none_done(self.scene(), step, pass);
                let about = About { fastener: None, reading: None };
                self.say(Reason::NoneDone(step), WarningCode::Skipped, about, text);
                continue;
            }
            for fastener in all {
                let text = words::never_done(self.scene(), fastener, pass);
                let about = About { fastener: Some(fastener), reading: None };
                self.say(Reason::NeverDone(fastener), WarningCode::Skipped, about, text);
            }
        }
    }

    fn was_never_done(&self, fastener: usize) -> bool {
        let step = self.scene().step_of(fastener);
        let member = &self.best().members[fastener];
        let untouched = member.next_pass == 0
            && member.partial.is_none()
            && member.spoiled.is_none()
            && !member.loosened;
        let spoken = self.spoken.iter().any(|reason| match reason {
            Reason::Left { fastener: one, .. } => *one == fastener,
            Reason::LeftSomebody { step: one, .. } => *one == step,
            _ => false,
        });
        let sure = self.beliefs().probability(|one| one.members[fastener].next_pass == 0);
        let known = self.scene().settled_by_word(fastener) || self.is_out_of_range(fastener, None);
        sure >= SPEAK && untouched && !spoken && !known
    }

    /// True if it was told that the adapter cannot tell what this fastener was brought to in a pass, or in any: whoever
    /// knows that has not left it out.
    fn is_out_of_range(&self, fastener: usize, pass: Option<usize>) -> bool {
        self.spoken.iter().any(|reason| match reason {
            Reason::OfReading { code: WarningCode::AdapterRange, index } => {
                let was = self.state.assignment(*index);
                was.fastener == Some(fastener) && pass.is_none_or(|pass| was.pass == pass)
            }
            _ => false,
        })
    }
}
