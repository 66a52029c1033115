//! Everything that follows from what was told, in order of time; nothing of what was said about it.

use crate::core::event::{AdapterInfo, GivenStep, Motion, Reading, Say, WarningCode};
use crate::core::joint;
use crate::core::plan::{
    Condition, FastenerId, Figure, List, StepIndex, Task, check_name, closed_name,
};
use crate::core::time::Stamp;
use crate::core::tracker::belief::Beliefs;
use crate::core::tracker::evidence::motion::Move;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::looks::Looks;
use crate::core::tracker::pull::{Assignment, Seen};
use crate::core::tracker::rules::{by_hand, height, threads, trace};
use crate::core::tracker::scene::Scene;
use crate::core::tracker::weigh::Weighed;
use crate::core::tracker::words;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Something that was told, kept so that later it can be taken back or preceded by something late.
#[derive(Debug, Clone)]
pub(super) struct Told {
    pub at: Stamp,
    pub what: Fact,
    /// Taken back by the operator.
    pub void: bool,
}

#[derive(Debug, Clone)]
pub(super) enum Fact {
    Adapter(AdapterInfo),
    Reading(Reading),
    /// Told just before the reading that it leads to.
    Motion(Motion),
    /// What the adapter showed nearest to nothing before the reading that follows, N·m.
    Rest(f64),
    Say(Resolved),
    Given(Vec<GivenStep>),
    Missing(Hole),
    End,
}

impl Fact {
    /// True for what the operator did or said.
    pub fn can_be_taken_back(&self) -> bool {
        matches!(self, Self::Reading(_) | Self::Say(_) | Self::Given(_))
    }
}

/// Readings that were missing when they were last looked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Hole {
    pub adapter: String,
    pub numbers: BTreeSet<u64>,
}

/// A mark with its names looked up.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Resolved {
    At(usize),
    Confirm(usize),
    Met(Condition),
    /// An adapter that was overloaded was found right.
    Checked(String),
    /// A length as found, millimetres; none for what is no length.
    Found(usize, Option<f64>),
    /// A hold with its length, millimetres.
    Measured(usize, f64),
    /// A nut's grip, N·m.
    Grip(usize, f64),
    /// What is on the threads of a step's joint.
    Threads(StepIndex, joint::Condition),
    Spoiled(usize),
    /// Something that the plan does not name was opened, or is closed again.
    Also(String, bool),
    Stated(usize),
    Opened(usize),
    Low(usize),
    Skip(usize),
    Note,
}

/// A mark that was noted and changes nothing.
pub(super) struct Nothing {
    pub code: WarningCode,
    /// What is said of it.
    pub text: String,
}

impl Resolved {
    /// The mark with its names looked up, or what is said of one that changes nothing.
    pub fn of(scene: &Scene, say: &Say) -> Result<Option<Self>, Nothing> {
        let unknown = |text| Nothing { code: WarningCode::UnknownName, text };
        let fastener = |name: &String| {
            let id = scene.plan.fastener(name);
            id.map(|id| scene.index(id)).ok_or_else(|| unknown(words::unknown_name(name)))
        };
        Ok(Some(match say {
            Say::At { fastener: name } => Self::At(fastener(name)?),
            Say::Stated { fastener: name } => Self::Stated(fastener(name)?),
            Say::Low { fastener: name } => Self::Low(fastener(name)?),
            Say::Opened { fastener: name } => Self::Opened(fastener(name)?),
            Say::Skip { fastener: name, .. } => Self::Skip(fastener(name)?),
            Say::Confirm { hold, because } => {
                let said = Self::confirmed(scene, hold)
                    .ok_or_else(|| unknown(words::unknown_name(hold)))?;
                let refused = match said {
                    Self::Met(condition) if because.is_none() => threads::refusal(scene, condition),
                    _ => None,
                };
                if let Some(text) = refused {
                    return Err(Nothing { code: WarningCode::HoldOpen, text });
                }
                said
            }
            Say::AlsoOpened { name } if scene.plan.is_new_name(name) => {
                Self::Also(name.clone(), false)
            }
            Say::AlsoOpened { name } => return Err(unknown(words::not_also(name))),
            Say::Spoiled { fastener: name } => Self::Spoiled(fastener(name)?),
            Say::Figure { of, value } => match scene.plan.figure(of, value) {
                Ok(Figure::Found { index, mm }) => Self::Found(index, mm),
                Ok(Figure::Hold { index, mm }) => Self::Measured(index, mm),
                Ok(Figure::Grip { fastener, torque }) => {
                    Self::Grip(scene.index(fastener), torque.nm())
                }
                Ok(Figure::Threads { step, found }) => Self::Threads(step, found),
                Err(fault) => return Err(unknown(words::no_figure(&fault))),
            },
            Say::Note { .. } => Self::Note,
            Say::Retract => return Ok(None),
        }))
    }

    /// What is confirmed by this name.
    fn confirmed(scene: &Scene, name: &str) -> Option<Self> {
        if let Some(hold) = scene.plan.holds.iter().position(|hold| hold.name == name) {
            return Some(Self::Confirm(hold));
        }
        if let Some(condition) = scene.plan.condition(name) {
            return Some(Self::Met(condition));
        }
        let adapter = scene.adapters.iter().find(|one| check_name(&one.id) == name);
        let known = |closed: &&str| scene.also.iter().any(|(also, _)| also == closed);
        let also = || Some(Self::Also(closed_name(name).filter(known)?.to_owned(), true));
        adapter.map(|one| Self::Checked(one.id.clone())).or_else(also)
    }
}

/// A reading as placed in time.
#[derive(Debug, Clone)]
pub(super) struct Placed {
    pub at: Stamp,
    pub reading: Arc<Reading>,
    pub seen: Seen,
    /// The mark that was standing when it came.
    pub marked: Option<usize>,
    /// What the adapter showed nearest to nothing before it, N·m, if that is known.
    pub rest_nm: Option<f64>,
    pub void: bool,
    /// What it was taken for when it came, and how surely: all that is left once the accounts have
    /// forgotten it.
    taken: (Assignment, f64),
}

#[derive(Debug, Clone)]
pub(super) struct State {
    pub scene: Scene,
    pub beliefs: Beliefs,
    pub readings: Vec<Placed>,
    pub ended: bool,
    /// How the tool came to the reading that follows.
    moved: Option<Motion>,
    /// What the adapter showed nearest to nothing before the reading that follows, N·m.
    rest_nm: Option<f64>,
}

impl State {
    pub fn new(scene: Scene) -> Self {
        Self {
            beliefs: Beliefs::new(&scene),
            scene,
            readings: Vec::new(),
            ended: false,
            moved: None,
            rest_nm: None,
        }
    }

    pub fn advance(&mut self, told: &Told) {
        match &told.what {
            Fact::Adapter(info) => {
                self.scene.adapters.retain(|one| one.id != info.id);
                self.scene.adapters.push(info.clone());
            }
            Fact::Reading(reading) => self.read(told.at, reading, told.void),
            Fact::Motion(motion) => self.moved = Some(motion.clone()),
            Fact::Rest(nm) => self.rest_nm = Some(*nm),
            // What was given is known from the beginning on.
            Fact::Given(_) => {}
            Fact::Say(_) if told.void => {}
            Fact::Say(said) => self.hear(said.clone()),
            Fact::Missing(hole) => self.beliefs.miss(&self.scene, hole.numbers.len()),
            Fact::End => {
                self.beliefs.end(&self.scene);
                self.ended = true;
            }
        }
    }

    /// What the best account says of the reading in place `index`.
    pub fn assignment(&self, index: usize) -> Assignment {
        let history = &self.beliefs.best().history;
        self.place_in(history.len(), index)
            .map_or(self.readings[index].taken.0, |place| history[place].was)
    }

    /// The probability that the reading in place `index` was what `holds` tells.
    pub fn probability(&self, index: usize, holds: impl Fn(&Assignment) -> bool) -> f64 {
        self.probability_with(index, |_, one| holds(one))
    }

    /// The probability that the reading in place `index` was on this fastener, or on none.
    pub fn sureness(&self, index: usize, fastener: Option<usize>) -> f64 {
        let remembered = self.place_in(self.beliefs.best().history.len(), index).is_some();
        if !remembered {
            return self.probability(index, |one| one.fastener == fastener);
        }
        self.beliefs.expected(|account| {
            let place = self.place_in(account.history.len(), index);
            let past = place.map(|place| account.history[place]);
            past.map_or(0.0, |past| past.share_of(fastener))
        })
    }

    /// The same, of the reading and the account that it stands in.
    pub fn probability_with(
        &self,
        index: usize,
        holds: impl Fn(&Hypothesis, &Assignment) -> bool,
    ) -> f64 {
        let remembered = self.place_in(self.beliefs.best().history.len(), index).is_some();
        if !remembered {
            let (taken, sure) = &self.readings[index].taken;
            return if holds(self.beliefs.best(), taken) { *sure } else { 0.0 };
        }
        self.beliefs.probability(|account| {
            let place = self.place_in(account.history.len(), index);
            place.is_some_and(|place| holds(account, &account.history[place].was))
        })
    }

    /// True if something bears on which fastener a reading was on, beyond order, torque and time.
    pub fn bears_on_place(&self, index: usize) -> bool {
        let placed = &self.readings[index];
        let seen = &placed.seen;
        let turned = seen.turned_deg.is_some() || seen.looks.is_some();
        // A part that is turned brings every bolt to the same place.
        let comes = |fastener: usize| self.scene.step(self.scene.step_of(fastener)).turned_to_reach;
        let comes = self.assignment(index).fastener.is_some_and(comes);
        placed.marked.is_some() || seen.moved.is_some() && !comes || turned
    }

    /// True if the trace of the latest reading is still to come, as that of the one before has.
    pub fn awaits_trace(&self) -> bool {
        let Some((latest, before)) = self.readings.split_last() else { return false };
        let adapter = &latest.reading.adapter;
        let traces = self.scene.adapter(adapter).is_some_and(|one| one.reports.trace);
        let described = |one: &Placed| one.reading.description.is_some();
        let before = before.iter().rfind(|one| one.reading.adapter == *adapter);
        traces && !described(latest) && before.is_none_or(described)
    }

    /// Where a reading stands in a history of the last `length` assignments.
    fn place_in(&self, length: usize, index: usize) -> Option<usize> {
        length.checked_sub(self.readings.len().checked_sub(index)?)
    }

    /// A reading as the evidence sees it. What was told of how the tool came to it is used up.
    fn see(&mut self, at: Stamp, reading: &Reading) -> Seen {
        let adapter = self.scene.adapter(&reading.adapter);
        let tells_rotation = adapter.is_none_or(|adapter| adapter.reports.rotation);
        let typed = adapter.is_some_and(|adapter| adapter.reports.typed);
        // What is tight already tells nothing by not turning.
        let slack = !self.scene.plan.already_tight;
        Seen {
            nm: reading.peak.nm(),
            turned_deg: reading
                .rotation_deg
                .filter(|deg| slack && tells_rotation && deg.is_finite())
                .map(f64::abs),
            looks: reading.description.as_deref().filter(|_| slack).and_then(Looks::of),
            ln_tight: None,
            at,
            // How fast somebody types says nothing of how they moved.
            gap_s: self
                .readings
                .last()
                .filter(|last| !typed && !last.seen.typed)
                .map(|last| at - last.at),
            typed,
            hit: by_hand::was_hit(reading),
            gives: trace::gives(reading),
            zero_off_nm: self.scene.zero_off(&reading.adapter),
            range: adapter
                .and_then(|adapter| adapter.range)
                .map(|(low, high)| (low.nm(), high.nm())),
            accuracy_pct: adapter.and_then(|adapter| adapter.expanded_pct(reading.peak)),
            moved: self.moved.take().and_then(|motion| self.led_to(&motion, reading)),
        }
    }

    /// Everything that a reading that comes next could be.
    pub fn weighed(&self, at: Stamp, reading: &Reading) -> (Seen, Vec<Weighed>) {
        let mut state = self.clone();
        let seen = state.see(at, reading);
        let weighed = state.beliefs.weighed(&state.scene, &seen);
        (seen, weighed)
    }

    fn read(&mut self, at: Stamp, reading: &Reading, void: bool) {
        let rest_nm = self.rest_nm.take().filter(|nm| nm.is_finite());
        self.scene.put_right(&reading.adapter, rest_nm);
        let seen = self.see(at, reading);
        let marked = self.scene.at;
        if !void {
            self.scene.strain(&reading.adapter, &seen);
        }
        self.scene.focus = None;
        if void {
            self.beliefs.observe_void(&self.scene, &seen);
        } else {
            self.beliefs.observe(&self.scene, &seen);
            self.use_up_mark();
        }
        let last = self.beliefs.best().history.back();
        let best = last.map_or(Assignment::TRIAL, |last| last.was);
        let alike = |one: &Hypothesis| {
            one.history.back().is_some_and(|last| last.was.fastener == best.fastener)
        };
        let taken = (best, self.beliefs.probability(alike));
        let reading = Arc::new(reading.clone());
        self.readings.push(Placed { at, reading, seen, marked, rest_nm, void, taken });
        self.mind_zero();
    }

    /// The motion that leads to this reading, counted from the reading that it leads from.
    fn led_to(&self, motion: &Motion, reading: &Reading) -> Option<Move> {
        if (&motion.adapter, motion.to_seq) != (&reading.adapter, reading.seq) {
            return None;
        }
        let its_own = |one: &Placed| {
            (&one.reading.adapter, one.reading.seq) == (&motion.adapter, motion.from_seq)
        };
        let from = self.readings.iter().rposition(its_own)?;
        let back = self.readings.len() - from;
        Some(Move { back, moved: motion.moved, sd_mm: motion.sd_mm })
    }

    /// "I am at…" holds until the fastener is brought to torque, or the pull was clearly elsewhere.
    fn use_up_mark(&mut self) {
        let best = self.beliefs.best();
        let partial = self.scene.at.is_some_and(|at| {
            best.last.is_some_and(|last| last.fastener == at) && best.members[at].partial.is_some()
        });
        if !partial {
            self.scene.at = None;
        }
    }

    /// How a nut grips its thread was told: what was brought to its torque without it may be short of it now.
    fn grip(&mut self, fastener: usize, nm: f64) {
        self.scene.grip_nm[fastener] = Some(nm);
        let Some(closing) = self.scene.closing_pass(self.scene.step_of(fastener)) else { return };
        let low = self.scene.window_for(fastener, closing).map(|window| window.low.nm());
        self.beliefs.for_all(|account| {
            let member = &mut account.members[fastener];
            let short = low.is_some_and(|low| member.peak_nm.is_some_and(|nm| nm < low));
            if short {
                member.next_pass = member.next_pass.min(closing);
            }
        });
    }

    /// A condition of closing was confirmed.
    fn meet(&mut self, condition: Condition) {
        let Condition::Joint { task, step, member } = condition else {
            self.scene.met.insert(condition);
            return;
        };
        if task == Task::Threads {
            self.threads(step, None);
            return;
        }
        let fasteners = match member {
            Some(member) => {
                let fastener = self.scene.index(FastenerId { step, member });
                fastener..fastener + 1
            }
            None => self.scene.fasteners_of(step.0),
        };
        if task == Task::Grip {
            fasteners.for_each(|fastener| self.grip(fastener, 0.0));
            return;
        }
        if task == Task::Renewed {
            let ids = fasteners.clone().map(|fastener| self.scene.id(fastener));
            let renewed: Vec<Condition> = ids.map(|id| Condition::of(task, id)).collect();
            self.scene.met.extend(renewed);
        }
        self.beliefs.for_all(|account| {
            for fastener in fasteners.clone() {
                account.members[fastener].confirm(task);
            }
        });
    }

    fn hear(&mut self, said: Resolved) {
        match said {
            Resolved::At(fastener) => {
                self.scene.at = Some(fastener);
                self.scene.focus = Some(fastener);
            }
            Resolved::Confirm(hold) => self.scene.confirmed[hold] = true,
            Resolved::Met(condition) => self.meet(condition),
            Resolved::Checked(adapter) => {
                self.scene.zeros_off.retain(|one| one.adapter != adapter);
                let all = self.scene.overloaded.iter_mut();
                all.filter(|one| one.adapter == adapter).for_each(|one| one.checked = true);
            }
            Resolved::Found(index, mm) => {
                self.scene.found[index] = mm;
                self.scene.met.insert(Condition::Item { list: List::AsFound, index });
            }
            Resolved::Measured(hold, mm) => {
                self.scene.confirmed[hold] = height::refusal(&self.scene, hold, mm).is_none();
            }
            Resolved::Also(name, closed) => {
                self.scene.also.retain(|(known, _)| *known != name);
                self.scene.also.push((name, closed));
            }
            Resolved::Grip(fastener, nm) => self.grip(fastener, nm),
            Resolved::Threads(step, found) => {
                let unlike = threads::mismatch(&self.scene, step, found).map(|_| found);
                self.threads(step, unlike);
            }
            Resolved::Spoiled(fastener) => {
                self.beliefs.for_all(|account| account.members[fastener].kept.needs_new = true);
            }
            Resolved::Stated(fastener) => {
                self.scene.said[fastener].stated = true;
                self.scene.said[fastener].skipped = false;
            }
            Resolved::Opened(fastener) => {
                self.scene.said[fastener].stated = false;
                self.scene.focus = Some(fastener);
                let scene = &self.scene;
                self.beliefs.for_all(|account| {
                    account.slacken(scene, fastener);
                    account.members[fastener].loosened = false;
                    account.members[fastener].kept.backed_off = false;
                    account.members[fastener].kept.opened = true;
                });
            }
            Resolved::Low(fastener) => {
                self.scene.said[fastener].stated = false;
                self.scene.focus = Some(fastener);
                let step = self.scene.step_of(fastener);
                if let Some(closing) = self.scene.closing_pass(step) {
                    self.beliefs.for_all(|account| {
                        let member = &mut account.members[fastener];
                        member.next_pass = member.next_pass.min(closing);
                    });
                }
            }
            Resolved::Skip(fastener) => self.scene.said[fastener].skipped = true,
            Resolved::Note => {}
        }
    }
}
