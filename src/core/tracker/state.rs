//! Everything that follows from what was told, in order of time; nothing of what was said about it.

use crate::core::event::{AdapterInfo, Motion, Reading, Say};
use crate::core::plan::Pattern;
use crate::core::time::Stamp;
use crate::core::tracker::belief::Beliefs;
use crate::core::tracker::evidence::motion::Move;
use crate::core::tracker::evidence::trace::Shape;
use crate::core::tracker::hypothesis::{Assignment, Hypothesis, Seen};
use crate::core::tracker::scene::Scene;
use crate::core::tracker::weigh::Weighed;
use std::collections::BTreeSet;

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
    Say(Resolved),
    Missing(Hole),
    End,
}

/// Readings that were missing when they were last looked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Hole {
    pub adapter: String,
    pub numbers: BTreeSet<u64>,
}

/// A mark with its names looked up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Resolved {
    At(usize),
    Confirm(usize),
    Stated(usize),
    Opened(usize),
    Low(usize),
    Skip(usize),
    Note,
}

impl Resolved {
    /// The mark with its names looked up, or the name that is not in the plan.
    pub fn of(scene: &Scene, say: &Say) -> Result<Option<Self>, String> {
        let fastener = |name: &String| {
            scene.plan.fastener(name).map(|id| scene.index(id)).ok_or_else(|| name.clone())
        };
        Ok(Some(match say {
            Say::At { fastener: name } => Self::At(fastener(name)?),
            Say::Stated { fastener: name } => Self::Stated(fastener(name)?),
            Say::Low { fastener: name } => Self::Low(fastener(name)?),
            Say::Opened { fastener: name } => Self::Opened(fastener(name)?),
            Say::Skip { fastener: name, .. } => Self::Skip(fastener(name)?),
            Say::Confirm { hold } => Self::Confirm(
                scene.plan.holds.iter().position(|one| one.name == *hold).ok_or(hold.clone())?,
            ),
            Say::Note { .. } => Self::Note,
            Say::Retract => return Ok(None),
        }))
    }
}

/// A reading as placed in time.
#[derive(Debug, Clone)]
pub(super) struct Placed {
    pub at: Stamp,
    pub reading: Reading,
    pub seen: Seen,
    /// The mark that was standing when it came.
    pub marked: Option<usize>,
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
}

impl State {
    pub fn new(scene: Scene) -> Self {
        Self {
            beliefs: Beliefs::new(&scene),
            scene,
            readings: Vec::new(),
            ended: false,
            moved: None,
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
            Fact::Say(_) if told.void => {}
            Fact::Say(said) => self.hear(*said),
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
            place.map_or(0.0, |place| {
                account.history[place].probability(|one| one.fastener == fastener)
            })
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
        self.beliefs.expected(|account| {
            let place = self.place_in(account.history.len(), index);
            place.map_or(0.0, |place| account.history[place].probability(|one| holds(account, one)))
        })
    }

    /// True if something bears on which fastener a reading was on, beyond order, torque and time.
    pub fn bears_on_place(&self, index: usize) -> bool {
        let placed = &self.readings[index];
        let seen = &placed.seen;
        let turned = seen.turned_deg.is_some() || seen.shape.is_some();
        placed.marked.is_some() || turned || seen.moved.is_some() && self.moves_tell(index)
    }

    /// True if geometry bears on where a move led: on a ring that stands still, or where the tool stayed.
    fn moves_tell(&self, index: usize) -> bool {
        let fastener = |index: usize| self.assignment(index).fastener;
        fastener(index).is_some_and(|one| {
            let step = self.scene.step(self.scene.step_of(one));
            let stayed = index.checked_sub(1).is_some_and(|before| fastener(before) == Some(one));
            !step.turned_to_reach && (step.pattern == Pattern::Ring || stayed)
        })
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
            shape: reading.description.as_deref().filter(|_| slack).and_then(Shape::of),
            // How fast somebody types says nothing of how they moved.
            gap_s: self
                .readings
                .last()
                .filter(|last| !typed && !last.seen.typed)
                .map(|last| at - last.at),
            typed,
            range: adapter
                .and_then(|adapter| adapter.range)
                .map(|(low, high)| (low.nm(), high.nm())),
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
        let seen = self.see(at, reading);
        let marked = self.scene.at;
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
        self.readings.push(Placed { at, reading: reading.clone(), seen, marked, void, taken });
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

    fn hear(&mut self, said: Resolved) {
        match said {
            Resolved::At(fastener) => {
                self.scene.at = Some(fastener);
                self.scene.focus = Some(fastener);
            }
            Resolved::Confirm(hold) => self.scene.confirmed[hold] = true,
            Resolved::Stated(fastener) => {
                self.scene.said[fastener].stated = true;
                self.scene.said[fastener].skipped = false;
            }
            Resolved::Opened(fastener) => {
                self.scene.said[fastener].stated = false;
                self.scene.focus = Some(fastener);
                self.beliefs.for_all(|account| {
                    account.members[fastener].slacken();
                    account.members[fastener].loosened = false;
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
