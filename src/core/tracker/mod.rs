//! From pulls and marks to verdicts and warnings.
//!
//! The tracker keeps beliefs, not flags: a set of accounts of what happened (`hypothesis`), each with
//! a weight, multiplied by the evidence of every pull (`evidence`). Verdicts are the best account's;
//! confidences and endings are sums of weights; words to the operator follow from both (`policy`).
//!
//! Guarantees: the same inputs give the same effects. A reading is taken once, however often it comes.
//! What comes late is put where its time belongs, so that the state does not depend on the order of
//! delivery. What was said is never said twice.
//!
//! Deliberately absent: what an adapter, a journal or a screen is.

mod alike;
mod belief;
mod due;
mod ending;
mod evidence;
mod explain;
mod hypothesis;
mod images;
mod left;
pub mod looks;
mod looks_weights;
mod member;
mod numbers;
mod passes;
mod policy;
mod pull;
mod repeats;
pub mod ring;
mod rules;
mod scene;
mod shared;
mod sieve;
mod state;
mod verdict;
mod view;
mod warn;
mod weigh;
mod words;

use crate::core::event::{
    Conclusion, Described, Effects, Gap, GivenStep, Input, LinkState, Mark, Motion, Reading, Say,
    Summary, Warning, WarningCode, What,
};
use crate::core::plan::{Condition, Plan, Task, also_name, check_name};
use crate::core::snapshot::Snapshot;
use crate::core::time::Stamp;
pub use explain::{Explanation, Guess};
use numbers::{MOST_LOST, Numbers};
use scene::Scene;
use state::{Fact, Hole, Resolved, State, Told};
use std::collections::{BTreeMap, BTreeSet};
use verdict::Announced;
use warn::{Reason, Speaker};

/// Facts between two kept states.
const CHECKPOINT_EVERY: usize = 16;
/// Kept states; what comes later than they reach back is worked out from the beginning.
const CHECKPOINTS: usize = 4;

/// Motions kept for readings that have not come; of more the oldest go.
const MOST_MOTIONS: usize = 64;

/// Follows one job.
#[derive(Debug, Clone)]
pub struct Tracker {
    told: Vec<Told>,
    state: State,
    checkpoints: Vec<(usize, State)>,
    /// Before the latest reading, of which something more is often told.
    before_latest: Option<(usize, State)>,
    /// Before anything was told.
    base: State,
    /// The same with the values that were given since: they hold for whatever was pulled before, too.
    origin: State,
    numbers: Numbers,
    /// Of readings still to come.
    motions: Vec<Motion>,
    announced: Announced,
    spoken: BTreeSet<Reason>,
    warnings: Vec<Warning>,
    counts: BTreeMap<WarningCode, u64>,
}

impl Tracker {
    /// A tracker for a job that has not begun.
    #[must_use]
    pub fn new(plan: Plan) -> Self {
        let origin = State::new(Scene::new(plan));
        Self {
            told: Vec::new(),
            state: origin.clone(),
            base: origin.clone(),
            checkpoints: Vec::new(),
            before_latest: None,
            origin,
            numbers: Numbers::default(),
            motions: Vec::new(),
            announced: Announced::new(),
            spoken: BTreeSet::new(),
            warnings: Vec::new(),
            counts: BTreeMap::new(),
        }
    }

    /// The plan it follows.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.state.scene.plan
    }

    /// Takes one input and gives what follows from it.
    pub fn step(&mut self, input: Input) -> Effects {
        let mut effects = Effects::default();
        let at = input.at;
        match input.what {
            What::Adapter(info) => {
                // What an adapter first says of itself holds for whatever it made before, too.
                let known = self.state.scene.adapter(&info.id).is_some();
                let at = if known { at } else { Stamp(i64::MIN) };
                self.tell(at, Fact::Adapter(info));
            }
            What::Reading(reading) => self.reading(at, reading, &mut effects),
            What::Described(described) => self.described(at, described, &mut effects),
            What::Motion(motion) => self.moved(at, motion, &mut effects),
            What::Mark(mark) => self.mark(at, &mark, &mut effects),
            What::Given(given) => self.given(at, given.steps, &mut effects),
            What::Link(change) if change.state == LinkState::Lost => {
                let text = words::link_lost(&change.adapter);
                self.warn(at, WarningCode::LinkLost, text, &mut effects);
            }
            What::Gap(gap) => self.missing(at, gap, &mut effects),
            What::Link(_) | What::Tick => {}
            What::End => {
                self.tell(at, Fact::End);
                self.conclude(at, None, &mut effects);
            }
        }
        effects
    }

    /// Where the whole job stands.
    #[must_use]
    pub fn summary(&self) -> Summary {
        let verdicts = self.announced.len() as u64;
        ending::summary(&self.state, verdicts, &self.counts)
    }

    /// How the belief about each reading of this number came about, whatever adapter made it: what it could have
    /// been, by what is known now. Readings that were taken back are left out.
    #[must_use]
    pub fn explain(&self, seq: u64) -> Vec<Explanation> {
        let mut found = Vec::new();
        let mut state = self.origin.clone();
        for told in &self.told {
            if let Fact::Reading(reading) = &told.what
                && reading.seq == seq
                && !told.void
            {
                let (seen, weighed) = state.weighed(told.at, reading);
                let index = state.readings.len();
                found.push(explain::explain(&self.state, index, reading, &seen, &weighed));
            }
            state.advance(told);
        }
        found
    }

    /// Where the job stands, for a screen.
    #[must_use]
    pub fn snapshot(&self) -> Snapshot {
        view::snapshot(&self.state, &self.warnings)
    }

    /// The probability that the next pull is asked for the window that [`Tracker::snapshot`] names, whichever fastener
    /// it is on.
    #[must_use]
    pub fn asked_alike(&self) -> f64 {
        due::alike(&self.state)
    }

    /// True if the part in a fastener's joint, `group/member`, is spent or spoiled and was not renewed.
    #[must_use]
    pub fn is_spent(&self, fastener: &str) -> bool {
        let id = self.state.scene.plan.fastener(fastener);
        let member = id.map(|id| self.state.scene.index(id));
        member.is_some_and(|one| self.state.beliefs.best().members[one].kept.needs_new)
    }

    /// Names that can be confirmed beside those of the plan: of adapters that were heard of, and of what was also opened.
    #[must_use]
    pub fn names_beside(&self) -> Vec<String> {
        let scene = &self.state.scene;
        let adapters = scene.adapters.iter().map(|one| check_name(&one.id));
        scene.also.iter().map(|(name, _)| also_name(name)).chain(adapters).collect()
    }

    /// Why a mark would change nothing, if it would not; what it names is known.
    #[must_use]
    pub fn refuses(&self, say: &Say) -> Option<String> {
        let nothing = Resolved::of(&self.state.scene, say).err();
        nothing.filter(|one| one.code != WarningCode::UnknownName).map(|one| one.text)
    }

    fn reading(&mut self, at: Stamp, reading: Reading, effects: &mut Effects) {
        let new = self.numbers.is_new(&reading.adapter, reading.seq, at);
        if !new || !reading.peak.nm().is_finite() {
            return;
        }
        self.found(&reading);
        let leads =
            |motion: &Motion| (&motion.adapter, motion.to_seq) == (&reading.adapter, reading.seq);
        if let Some(place) = self.motions.iter().position(leads) {
            let motion = self.motions.remove(place);
            self.tell(at, Fact::Motion(motion));
        }
        let key = (reading.adapter.clone(), reading.seq);
        self.tell(at, Fact::Reading(reading));
        let placed = |one: &state::Placed| {
            one.at == at && (&one.reading.adapter, one.reading.seq) == (&key.0, key.1)
        };
        let index = self.state.readings.iter().rposition(placed);
        self.conclude(at, index, effects);
    }

    /// What is shown of a reading that was told, the latest of that number up to `at`.
    fn described(&mut self, at: Stamp, described: Described, effects: &mut Effects) {
        let Described { adapter, seq, description, rest } = described;
        let its_own = |told: &Told| matches!(&told.what, Fact::Reading(one) if one.adapter == adapter && one.seq == seq);
        let Some(place) = self.told.iter().rposition(|told| told.at <= at && its_own(told)) else {
            return;
        };
        if let Fact::Reading(reading) = &mut self.told[place].what {
            reading.description = Some(description);
        }
        let known =
            place.checked_sub(1).filter(|one| matches!(self.told[*one].what, Fact::Rest(_)));
        let from = known.unwrap_or(place);
        if let Some(rest) = rest.filter(|_| known.is_none()) {
            let what = Fact::Rest(rest.nm());
            self.told.insert(place, Told { at: self.told[place].at, what, void: false });
        }
        self.refold(from);
        self.shown_late(at, effects);
        // What a trace shows of its fastener is worth a word however late it comes.
        let its_own = |one: &state::Placed| {
            one.at <= at && (&one.reading.adapter, one.reading.seq) == (&adapter, seq)
        };
        if let Some(index) = self.state.readings.iter().rposition(its_own) {
            self.speak(at, effects, |speaker| speaker.shown_by_trace(index));
        }
    }

    /// Something more was told of a reading that came before: what follows from it for the latest one is
    /// as good as if it had come with it.
    fn shown_late(&mut self, at: Stamp, effects: &mut Effects) {
        let newest = self.told.last().map_or(at, |told| told.at);
        let at = newest.max(at);
        self.conclude(at, None, effects);
        let latest = self.state.readings.len().checked_sub(1);
        let announced = |index: &usize| {
            let placed = &self.state.readings[*index];
            let key = (placed.reading.adapter.clone(), placed.reading.seq, placed.at);
            self.announced
                .get(&key)
                .is_some_and(|(one, _)| one.same(&self.state.assignment(*index)))
        };
        if let Some(index) = latest.filter(announced) {
            self.speak(at, effects, |speaker| speaker.of_reading(index));
        }
    }

    /// The tool moved to a reading: one that was told, or one that is still to come.
    fn moved(&mut self, at: Stamp, motion: Motion, effects: &mut Effects) {
        if !motion.sd_mm.is_finite() || motion.sd_mm <= 0.0 {
            return;
        }
        let leads = |told: &Told| {
            matches!(&told.what, Fact::Reading(one)
                if (&one.adapter, one.seq) == (&motion.adapter, motion.to_seq))
        };
        let Some(place) = self.told.iter().rposition(leads) else {
            if self.motions.len() == MOST_MOTIONS {
                self.motions.remove(0);
            }
            self.motions.push(motion);
            return;
        };
        let what = Fact::Motion(motion);
        self.told.insert(place, Told { at: self.told[place].at, what, void: false });
        self.refold(place);
        self.shown_late(at, effects);
    }

    /// A reading that was given up as missing has come after all.
    fn found(&mut self, reading: &Reading) {
        let hole = self.told.iter_mut().position(|told| match &mut told.what {
            Fact::Missing(hole) if hole.adapter == reading.adapter => {
                hole.numbers.remove(&reading.seq)
            }
            _ => false,
        });
        if let Some(place) = hole {
            self.refold(place);
        }
    }

    fn mark(&mut self, at: Stamp, mark: &Mark, effects: &mut Effects) {
        match Resolved::of(&self.state.scene, &mark.say) {
            Ok(Some(said)) => {
                self.tell(at, Fact::Say(said.clone()));
                self.conclude(at, None, effects);
                match said {
                    Resolved::Confirm(hold) => {
                        self.speak(at, effects, |speaker| speaker.confirmed(hold));
                    }
                    Resolved::Measured(hold, mm) => {
                        match rules::height::refusal(&self.state.scene, hold, mm) {
                            Some(text) => self.warn(at, WarningCode::HoldOpen, text, effects),
                            None => self.speak(at, effects, |speaker| speaker.confirmed(hold)),
                        }
                    }
                    Resolved::Threads(step, found) => {
                        match rules::threads::mismatch(&self.state.scene, step, found) {
                            Some(text) => self.warn(at, WarningCode::HoldOpen, text, effects),
                            None => {
                                self.speak(at, effects, |one| one.threads_put_right(step.0));
                            }
                        }
                    }
                    Resolved::Met(Condition::Joint { task: Task::Threads, step, .. }) => {
                        self.speak(at, effects, |one| one.threads_put_right(step.0));
                    }
                    _ => {}
                }
            }
            Ok(None) => self.retract(at, effects),
            Err(nothing) => self.warn(at, nothing.code, nothing.text, effects),
        }
    }

    /// Values were looked up: what was pulled without them is judged by them.
    fn given(&mut self, at: Stamp, steps: Vec<GivenStep>, effects: &mut Effects) {
        let is_given = |group: &str| steps.iter().any(|given| given.group == group);
        let places: Vec<usize> = (0..self.state.readings.len())
            .filter(|place| {
                let fastener = self.state.assignment(*place).fastener;
                let step = fastener.map(|fastener| self.state.scene.step_of(fastener));
                step.is_some_and(|step| is_given(&self.state.scene.step(step).group))
            })
            .collect();
        self.tell(at, Fact::Given(steps));
        self.know();
        let told = verdict::anew(&self.state, &places, &mut self.announced);
        effects.conclusions.extend(told.into_iter().map(Conclusion::Verdict));
        self.conclude(at, None, effects);
        self.speak(at, effects, |speaker| {
            for place in places {
                speaker.of_reading(place);
            }
        });
    }

    /// Works everything out again with the values that hold now.
    fn know(&mut self) {
        self.origin = self.base.clone();
        for told in self.told.iter().filter(|told| !told.void) {
            if let Fact::Given(steps) = &told.what {
                self.origin.scene.give(steps);
            }
        }
        self.checkpoints.clear();
        self.before_latest = None;
        self.refold(0);
    }

    /// Takes back the last mark or the last reading's assignment, whichever came last.
    fn retract(&mut self, at: Stamp, effects: &mut Effects) {
        let last = self.told.iter().rposition(|told| !told.void && told.what.can_be_taken_back());
        let Some(last) = last else { return };
        self.told[last].void = true;
        match self.told[last].what {
            Fact::Given(_) => self.know(),
            _ => self.refold(last),
        }
        self.conclude(at, None, effects);
    }

    fn missing(&mut self, at: Stamp, gap: Gap, effects: &mut Effects) {
        self.numbers.lose(&gap.adapter, gap.first, gap.last);
        let text = words::gap(&gap.adapter, gap.first, gap.last);
        let numbers = (gap.first..=gap.last).take(MOST_LOST).collect();
        self.tell(at, Fact::Missing(Hole { adapter: gap.adapter, numbers }));
        self.warn(at, WarningCode::Gap, text, effects);
    }

    /// Puts a fact where its time belongs and brings the state up to date.
    fn tell(&mut self, at: Stamp, what: Fact) {
        let place = self.told.partition_point(|told| told.at <= at);
        let told = Told { at, what, void: false };
        if place == self.told.len() {
            if matches!(told.what, Fact::Reading(_)) {
                self.before_latest = Some((place, self.state.clone()));
            }
            self.state.advance(&told);
            self.told.push(told);
            self.checkpoint();
        } else {
            self.told.insert(place, told);
            self.refold(place);
        }
    }

    /// Works the state out again from the facts, since something changed at `place`.
    fn refold(&mut self, place: usize) {
        self.checkpoints.retain(|(facts, _)| *facts <= place);
        self.before_latest = self.before_latest.take().filter(|(facts, _)| *facts <= place);
        let (from, state) = match self.before_latest.as_ref().or(self.checkpoints.last()) {
            Some((facts, state)) => (*facts, state.clone()),
            None => (0, self.origin.clone()),
        };
        self.state = state;
        for index in from..self.told.len() {
            self.state.advance(&self.told[index]);
        }
    }

    fn checkpoint(&mut self) {
        if self.told.len().is_multiple_of(CHECKPOINT_EVERY) {
            if self.checkpoints.len() == CHECKPOINTS {
                self.checkpoints.remove(0);
            }
            self.checkpoints.push((self.told.len(), self.state.clone()));
        }
    }

    /// Says what follows from the state and has not been said: the verdict of the reading in place
    /// `index`, verdicts that later evidence has changed, and warnings.
    fn conclude(&mut self, at: Stamp, index: Option<usize>, effects: &mut Effects) {
        let verdicts = verdict::changed(&self.state, index, &mut self.announced);
        let revised: Vec<usize> = verdicts
            .iter()
            .filter(|(place, verdict)| verdict.revised && Some(*place) != index)
            .map(|(place, _)| *place)
            .collect();
        effects
            .conclusions
            .extend(verdicts.into_iter().map(|(_, verdict)| Conclusion::Verdict(verdict)));
        // Somebody seems left out while a reading made earlier is still on its way, or what tells where it was.
        let awaits = self.numbers.some_awaited() || self.state.awaits_trace();
        let settled = self.state.ended || !awaits;
        self.speak(at, effects, |speaker| {
            for place in revised {
                speaker.brought_to_light(place);
            }
            if let Some(index) = index {
                speaker.of_reading(index);
            }
            if settled {
                speaker.moved_on();
            }
        });
    }

    fn speak(&mut self, at: Stamp, effects: &mut Effects, about: impl FnOnce(&mut Speaker<'_>)) {
        let mut speaker =
            Speaker { state: &self.state, spoken: &mut self.spoken, at, found: Vec::new() };
        about(&mut speaker);
        for warning in speaker.found {
            self.keep(warning, effects);
        }
    }

    fn warn(&mut self, at: Stamp, code: WarningCode, text: String, effects: &mut Effects) {
        let warning = Warning { at, code, fastener: None, adapter: None, seq: None, text };
        self.keep(warning, effects);
    }

    fn keep(&mut self, warning: Warning, effects: &mut Effects) {
        *self.counts.entry(warning.code).or_default() += 1;
        self.warnings.push(warning.clone());
        effects.conclusions.push(Conclusion::Warning(warning));
    }
}
