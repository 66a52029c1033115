//! Plays a recording step by step: no I/O, no clock.

use super::device::Device;
use super::fates::{self, Fate};
use crate::adapter::recording::{Item, Recording};
use crate::adapter::session::{Heard, Record, Session, Step, When};
use crate::adapter::source::{Known, SourceEvent};
use crate::adapter::spec::SimulatedSpec;
use crate::adapter::traces::{self, Traces};
use crate::adapter::trouble::{Trouble, TroubleClass};
use crate::core::event::{
    AdapterInfo, Input, LinkState, Reading, ReadingKey, Reports, Trace, What,
};
use crate::core::time::Stamp;
use crate::core::units::Torque;
use std::collections::{BTreeMap, VecDeque};

/// How long a link is down that the session gave up, seconds.
const REBUILD_S: f64 = 1.0;
/// How long after the end sessions may go on to fetch what they miss, seconds.
const AFTERMATH_S: f64 = 60.0;

/// How often torque is told while it is played, seconds: as often as an adapter tells it in a pull.
const FELT_EVERY_S: f64 = 0.05;

/// A recording being played.
#[derive(Debug)]
pub struct Player {
    /// What is still to happen, in order of time and then of arrival.
    due: BTreeMap<(Stamp, u64), Due>,
    scheduled: u64,
    fates: VecDeque<Fate>,
    adapters: BTreeMap<String, Adapter>,
    serials: BTreeMap<String, u32>,
    known: Known,
    now: Stamp,
    /// Once everything has happened: until when sessions may go on.
    aftermath: Option<Stamp>,
    events: Vec<SourceEvent>,
}

#[derive(Debug)]
struct Adapter {
    session: Session,
    device: Device,
    info: AdapterInfo,
    epoch: u32,
    linked: bool,
    /// The link is down because the recording says so, and comes back when it says so.
    down_as_recorded: bool,
    traces: Traces<(ReadingKey, u64)>,
}

#[derive(Debug)]
enum Due {
    Happens { at: Stamp, what: What },
    Arrives { adapter: String, sequence: u32, heard: Heard },
    Sampled { adapter: String, trace: Trace },
    Felt { adapter: String, at: Stamp, torque: Torque },
    LinkBack { adapter: String },
}

impl Player {
    /// Plays `recording` as if it had started at `origin`.
    #[must_use]
    pub fn new(recording: &Recording, origin: Stamp, spec: &SimulatedSpec, known: &Known) -> Self {
        let converted = recording.convert();
        let inputs = converted.inputs;
        let readings = inputs.iter().filter(|input| matches!(input.what, What::Reading(_))).count();
        let mut player = Self {
            due: BTreeMap::new(),
            scheduled: 0,
            fates: fates::decide(readings, spec.faults, spec.seed).into(),
            adapters: BTreeMap::new(),
            serials: BTreeMap::new(),
            known: known.clone(),
            now: origin,
            aftermath: None,
            events: Vec::new(),
        };
        for problem in recording.problems.iter().chain(&converted.problems) {
            player.events.push(SourceEvent::Trouble {
                at: origin,
                trouble: Trouble {
                    class: TroubleClass::Recording,
                    adapter: None,
                    message: format!("{}: {problem}", spec.file.display()),
                    next_step: String::new(),
                },
            });
        }
        let mut arrival = origin;
        for Input { at, what } in inputs {
            // The order of the file is the order of arrival, also where times run backwards.
            let at = origin + at.seconds();
            arrival = arrival.max(at);
            match what {
                // Numbers that never come are found missing by the session.
                // A value is for the plan that it was looked up for, and that may be another one.
                What::Given(_) | What::Gap(_) | What::Described(_) | What::Tick | What::End => {}
                What::Reading(_)
                | What::Adapter(_)
                | What::Motion(_)
                | What::Mark(_)
                | What::Link(_) => {
                    player.plan(arrival, Due::Happens { at, what });
                }
            }
        }
        for line in &recording.lines {
            let Item::Trace { adapter, trace } = &line.item else { continue };
            let start = origin + trace.start.seconds();
            let trace = Trace { start, ..trace.clone() };
            let each = (FELT_EVERY_S * trace.rate_hz).round().max(1.0) as usize;
            for index in (0..trace.torque.len()).step_by(each) {
                let (at, torque) = (trace.time_of(index), trace.torque[index]);
                player.plan(at, Due::Felt { adapter: adapter.clone(), at, torque });
            }
            player.plan(trace.end(), Due::Sampled { adapter: adapter.clone(), trace });
        }
        player
    }

    /// When [`Player::advance`] is due; `None` once everything is told.
    #[must_use]
    pub fn next_at(&self) -> Option<Stamp> {
        if !self.events.is_empty() {
            return Some(self.now);
        }
        let due = self.due.keys().next().map(|(at, _)| *at);
        let wake = self.adapters.values().filter_map(|adapter| adapter.session.wake_at()).min();
        match (due, self.aftermath) {
            (Some(due), _) => Some(wake.map_or(due, |wake| wake.min(due))),
            (None, None) => Some(self.now),
            (None, Some(end)) => {
                let settled = self.adapters.values().all(|adapter| adapter.session.is_settled());
                wake.filter(|wake| !settled && *wake <= end)
            }
        }
    }

    /// Does whatever is due next, and says what came of it.
    pub fn advance(&mut self) -> Vec<SourceEvent> {
        let Some(at) = self.next_at() else { return Vec::new() };
        if !self.events.is_empty() {
            return std::mem::take(&mut self.events);
        }
        self.now = self.now.max(at);
        let first = self.due.first_entry().filter(|entry| entry.key().0 <= self.now);
        if let Some(entry) = first {
            let due = entry.remove();
            self.happen(due);
        } else if self.due.is_empty() && self.aftermath.is_none() {
            self.aftermath = Some(self.now + AFTERMATH_S);
            self.tell_newest();
        } else {
            self.tick();
        }
        std::mem::take(&mut self.events)
    }

    /// Takes in that a reading is committed.
    pub fn stored(&mut self, key: &ReadingKey) -> Vec<SourceEvent> {
        let now = self.now;
        let ids: Vec<String> = self.adapters.keys().cloned().collect();
        for id in ids {
            self.with(&id, |session| session.stored(now, key));
        }
        std::mem::take(&mut self.events)
    }

    fn plan(&mut self, at: Stamp, due: Due) {
        self.scheduled += 1;
        self.due.insert((at, self.scheduled), due);
    }

    fn happen(&mut self, due: Due) {
        match due {
            Due::Happens { at, what } => match what {
                What::Adapter(info) => self.meet(info),
                What::Reading(reading) => self.make(at, reading),
                What::Motion(motion) => self.events.push(SourceEvent::Motion { at, motion }),
                What::Mark(mark) => self.events.push(SourceEvent::Mark { at, mark }),
                What::Link(change) => match change.state {
                    LinkState::Lost => self.unlink(&change.adapter, true),
                    LinkState::Asleep => {
                        self.status(&change.adapter, true);
                        self.unlink(&change.adapter, true);
                    }
                    LinkState::Back => self.link(&change.adapter),
                },
                What::Given(_) | What::Gap(_) | What::Described(_) | What::Tick | What::End => {}
            },
            Due::Sampled { adapter: id, trace } => {
                if let Some(adapter) = self.adapters.get_mut(&id).filter(|adapter| adapter.linked) {
                    let shown = adapter.traces.block(trace);
                    self.events.extend(described(&id, shown));
                }
            }
            Due::Felt { adapter, at, torque } => {
                if self.adapters.get(&adapter).is_some_and(|adapter| adapter.linked) {
                    self.events.push(SourceEvent::Live { at, adapter, torque });
                }
            }
            Due::Arrives { adapter, sequence, heard } => {
                let held = self
                    .adapters
                    .get(&adapter)
                    .is_some_and(|adapter| adapter.linked && adapter.device.holds(sequence));
                if held {
                    self.hear(&adapter, heard);
                }
            }
            Due::LinkBack { adapter } => {
                if self.adapters.get(&adapter).is_some_and(|adapter| !adapter.down_as_recorded) {
                    self.link(&adapter);
                }
            }
        }
    }

    /// An adapter is seen for the first time, or tells other abilities.
    fn meet(&mut self, info: AdapterInfo) {
        let id = info.id.clone();
        if let Some(adapter) = self.adapters.get_mut(&id) {
            adapter.info = info.clone();
            self.events.push(SourceEvent::Adapter { at: self.now, info });
            return;
        }
        // One adapter under several ids: it was started anew in between.
        let epoch = self.serials.entry(info.serial.clone()).or_insert(0);
        *epoch += 1;
        let epoch = *epoch;
        let adapter = Adapter {
            session: Session::new(&id, &info.serial, &self.known),
            device: Device::new(epoch),
            traces: Traces::new(traces::source(&info)),
            info,
            epoch,
            linked: false,
            down_as_recorded: false,
        };
        self.adapters.insert(id.clone(), adapter);
        self.link(&id);
    }

    fn make(&mut self, at: Stamp, reading: Reading) {
        let fate = self.fates.pop_front().unwrap_or_default();
        let id = reading.adapter.clone();
        if !self.adapters.contains_key(&id) {
            self.meet(undeclared(&id));
        }
        if let Some(seconds) = fate.link_lost_s {
            self.unlink(&id, false);
            self.plan(self.now + seconds, Due::LinkBack { adapter: id.clone() });
        }
        let Some(adapter) = self.adapters.get_mut(&id) else { return };
        let sequence = u32::try_from(reading.seq).unwrap_or(u32::MAX);
        let record = Record {
            epoch: adapter.epoch,
            sequence,
            when: When::At(at),
            peak: reading.peak,
            rotation_deg: reading.rotation_deg,
            duration_ms: reading.duration_ms,
            raw: None,
        };
        adapter.device.make(record.clone(), fate.lost);
        if !adapter.linked || fate.lost || fate.skipped {
            return;
        }
        let times = if fate.doubled { 2 } else { 1 };
        for _ in 0..times {
            let heard = Heard::Record(record.clone());
            if fate.late_s > 0.0 {
                let due = Due::Arrives { adapter: id.clone(), sequence, heard };
                self.plan(self.now + fate.late_s, due);
            } else {
                self.hear(&id, heard);
            }
        }
    }

    fn link(&mut self, id: &str) {
        let now = self.now;
        let Some(adapter) = self.adapters.get_mut(id) else { return };
        adapter.down_as_recorded = false;
        if !std::mem::replace(&mut adapter.linked, true) {
            let info = adapter.info.clone();
            self.with(id, |session| session.heard(now, Heard::Connected(info)));
        }
    }

    fn unlink(&mut self, id: &str, as_recorded: bool) {
        let Some(adapter) = self.adapters.get_mut(id) else { return };
        adapter.down_as_recorded |= as_recorded;
        if std::mem::replace(&mut adapter.linked, false) {
            self.hear(id, Heard::Disconnected);
        }
    }

    fn status(&mut self, id: &str, asleep_soon: bool) {
        let linked = self.adapters.get(id).filter(|adapter| adapter.linked);
        if let Some(beat) = linked.map(|adapter| adapter.device.status(false, asleep_soon)) {
            self.hear(id, beat);
        }
    }

    /// Every adapter says which reading is its newest, so that nothing is missed at the end.
    fn tell_newest(&mut self) {
        let ids: Vec<String> = self.adapters.keys().cloned().collect();
        for id in ids {
            self.status(&id, false);
            if let Some(adapter) = self.adapters.get_mut(&id) {
                let shown = adapter.traces.ended();
                self.events.extend(described(&id, shown));
            }
        }
    }

    fn tick(&mut self) {
        let now = self.now;
        let ids: Vec<String> = self.adapters.keys().cloned().collect();
        for id in ids {
            let due = self.adapters.get(&id).and_then(|adapter| adapter.session.wake_at());
            if due.is_some_and(|due| due <= now) {
                self.with(&id, |session| session.tick(now));
            }
        }
    }

    fn hear(&mut self, id: &str, heard: Heard) {
        let now = self.now;
        self.with(id, |session| session.heard(now, heard));
    }

    /// Lets a session speak, and carries out what it wants until it wants nothing more.
    fn with(&mut self, id: &str, speak: impl FnOnce(&mut Session) -> Vec<Step>) {
        let now = self.now;
        let Some(adapter) = self.adapters.get_mut(id) else { return };
        let mut steps: VecDeque<Step> = speak(&mut adapter.session).into();
        let mut rebuild = false;
        while let Some(step) = steps.pop_front() {
            match step {
                Step::Event(event) => {
                    let shown = match &event {
                        SourceEvent::Reading { key, at, at_error_us, reading, .. }
                            if adapter.info.reports.trace =>
                        {
                            let error_s = at_error_us.map_or(0.0, |us| f64::from(us) / 1e6);
                            let key = (key.clone(), reading.seq);
                            adapter.traces.reading(key, *at, error_s, reading.peak)
                        }
                        _ => Vec::new(),
                    };
                    self.events.push(event);
                    self.events.extend(described(id, shown));
                }
                Step::Order(order) if adapter.linked => {
                    for heard in adapter.device.obey(order) {
                        steps.extend(adapter.session.heard(now, heard));
                    }
                }
                Step::Order(_) => {}
                Step::TearDown(_) => {
                    adapter.linked = false;
                    steps.extend(adapter.session.heard(now, Heard::Disconnected));
                    rebuild = true;
                }
            }
        }
        if rebuild {
            self.plan(now + REBUILD_S, Due::LinkBack { adapter: id.to_owned() });
        }
    }
}

fn described(
    adapter: &str,
    shown: Vec<traces::Described<(ReadingKey, u64)>>,
) -> impl Iterator<Item = SourceEvent> {
    shown.into_iter().map(|one| one.event(adapter))
}

fn undeclared(id: &str) -> AdapterInfo {
    AdapterInfo {
        overdue_since: None,
        certificate: None,
        id: id.to_owned(),
        serial: id.to_owned(),
        drive: None,
        range: None,
        accuracy_pct: None,
        reports: Reports { peak: true, ..Reports::default() },
    }
}
