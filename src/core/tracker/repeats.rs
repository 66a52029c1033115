//! What follows from somebody pulling on something that was tight already, while another waits.

use crate::core::event::{Act, WarningCode};
use crate::core::tracker::evidence::time::AT_ONCE_S;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::WEAK;
use crate::core::tracker::policy::{
    SPEAK_REPEAT, SPEAK_REPEAT_BESIDE, SPEAK_REPEAT_MOVED_ON, SPEAK_REPEAT_PLACED,
};
use crate::core::tracker::pull::Assignment;
use crate::core::tracker::warn::{Reason, Speaker};
use crate::core::tracker::words;

/// Readings back to which a repeat is still worth a word, if another waits.
const LATE: usize = 12;

impl Speaker<'_> {
    /// What later evidence shows of an earlier reading: a repeat is said late rather than never, while
    /// another still waits; anything else would come too late to help.
    pub fn brought_to_light(&mut self, index: usize) {
        let assignment = self.state.assignment(index);
        let spoiled =
            assignment.fastener.is_some_and(|one| self.best().members[one].spoiled.is_some());
        if assignment.act == Act::Recheck && !spoiled && !self.state.readings[index].void {
            self.repeat(index, &assignment);
        }
    }

    /// What has become clear of the latest readings while another still waits.
    pub(super) fn late_repeats(&mut self) {
        let all = self.state.readings.len();
        for index in all.saturating_sub(LATE)..all {
            self.brought_to_light(index);
        }
    }

    pub(super) fn repeat(&mut self, index: usize, assignment: &Assignment) {
        let moved_on = index + 1 < self.state.readings.len();
        let enough = match (self.placed(index), self.state.readings[index].marked.is_some()) {
            (false, _) => SPEAK_REPEAT,
            (true, false) if moved_on => SPEAK_REPEAT_MOVED_ON,
            _ => SPEAK_REPEAT_PLACED,
        };
        self.repeat_if(index, assignment, enough);
    }

    /// What is held more likely than not of readings that marks or moves place, once somebody is said to be left out.
    pub(super) fn repeats_beside(&mut self, pass: usize, readings: &[usize]) {
        for index in readings.iter().copied() {
            let assignment = self.state.assignment(index);
            let again = assignment.act == Act::Recheck && assignment.pass == pass;
            if again && self.placed(index) && !self.state.readings[index].void {
                self.repeat_if(index, &assignment, SPEAK_REPEAT_BESIDE);
            }
        }
    }

    /// True if a mark or a move tells where the reading was.
    fn placed(&self, index: usize) -> bool {
        let placed = &self.state.readings[index];
        placed.marked.is_some() || placed.seen.moved.is_some()
    }

    fn repeat_if(&mut self, index: usize, assignment: &Assignment, enough: f64) {
        let Some(fastener) = assignment.fastener else { return };
        let step = self.scene().step_of(fastener);
        let again = |one: &Assignment| {
            let its_own = one.fastener.filter(|_| one.act == Act::Recheck);
            its_own.is_some_and(|one| self.scene().step_of(one) == step)
                && !self.scene().pass(step, one.pass).check
        };
        let since = self.state.readings.len() - index - 1;
        // Whoever was waited for may have come since; where nothing tells the place, only just now.
        let come = if self.placed(index) { since } else { since.min(1) };
        // Once the pass is over, who waits does so for the next, and a pull on the first of it may be its beginning.
        let waits = |account: &Hypothesis| {
            let over = account.rounds[step].pass > Some(assignment.pass);
            let missed = |one: usize| account.missed.contains(&(one, assignment.pass));
            if over {
                self.scene().fasteners_of(step).any(missed)
            } else {
                account.waits_for_untried(self.scene(), step)
            }
        };
        let waited = |account: &Hypothesis| {
            waits(account) || account.tightened(self.scene(), (step, assignment.pass), come)
        };
        let sure = self.state.probability_with(index, |account, one| again(one) && waited(account));
        if sure < enough || !waited(self.best()) {
            return;
        }
        // A pull that stays below its window may be a swing that is gone on from: the next one tells.
        let left = since > 0 && self.state.assignment(index + 1).fastener != Some(fastener);
        if self.stays_below(index, assignment) && !left {
            return;
        }
        // Pauses alone are no evidence, and one after the other is a check round.
        let before = index.checked_sub(1).filter(|before| !self.by_habit(*before));
        let round = before.map(|before| self.state.assignment(before));
        let round = round.is_some_and(|one| again(&one) && one.fastener != Some(fastener));
        if !self.state.bears_on_place(index) || round || self.by_habit(index) {
            return;
        }
        let waiting = self.waiting(step);
        let about = self.named(index, fastener);
        let text = words::repeat(self.scene(), about.fastener, &waiting, self.doubtful(step));
        let reason = Reason::OfReading { code: WarningCode::Repeat, index };
        self.say(reason, WarningCode::Repeat, about, text);
    }

    /// True if the reading is below the window that it was for.
    fn stays_below(&self, index: usize, was: &Assignment) -> bool {
        let window = was.fastener.and_then(|one| self.scene().window_for(one, was.pass));
        window.is_some_and(|window| self.pulled(index, was) < window.low.nm())
    }

    /// True if a pull on what is tight stays below its window, or well below its target.
    fn proves_little(&self, index: usize, was: &Assignment) -> bool {
        let window = was.fastener.and_then(|one| self.scene().window_for(one, was.pass));
        let weak = window.is_some_and(|window| self.pulled(index, was) < WEAK * window.target.nm());
        weak || self.stays_below(index, was)
    }

    /// Torque of a reading in the tightening direction of a fastener, N·m.
    fn pulled(&self, index: usize, on: &Assignment) -> f64 {
        let peak = self.state.readings[index].reading.peak;
        on.fastener.map_or(0.0, |one| self.scene().tightening(self.scene().step_of(one), peak))
    }

    /// True if the reading is the second of two pulls at once, or goes on with one that proved little: nobody takes it
    /// for another fastener's.
    fn by_habit(&self, index: usize) -> bool {
        let mut index = index;
        while let Some(before) = index.checked_sub(1) {
            let at_once = self.state.readings[index].seen.gap_s.is_some_and(|gap| gap <= AT_ONCE_S);
            let (first, second) = (self.state.assignment(before), self.state.assignment(index));
            let goes_on =
                at_once || first.act == Act::Recheck && self.proves_little(before, &first);
            if !goes_on || first.fastener != second.fastener {
                return false;
            }
            if first.act == Act::Tighten {
                return true;
            }
            index = before;
        }
        false
    }
}
