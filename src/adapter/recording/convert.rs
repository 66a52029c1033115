//! From the lines of a recording to what the core is told.

use super::Recording;
use super::fault::{Fault, Problem};
use super::line::{Item, Line};
use crate::adapter::traces::{self, Told, Traces};
use crate::core::event::{AdapterInfo, Described, Gap, Input, Reading, Trace, What};
use crate::core::signal::{Description, Nonsense, Source};
use crate::core::time::Stamp;
use crate::core::units::Torque;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// What the core is told, and what was wrong on the way.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Converted {
    /// The inputs in order of arrival, closed by [`What::End`].
    pub inputs: Vec<Input>,
    /// Readings that contradict an earlier one of the same number, and what cannot be read of traces.
    pub problems: Vec<Problem>,
    /// What traces show of readings, in order.
    pub shown: Vec<Shown>,
}

/// What a trace shows of a reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// The adapter's short id.
    pub adapter: String,
    /// Number of the reading.
    pub seq: u64,
    /// The reading's peak.
    pub peak: Torque,
    /// What was read.
    pub description: Description,
    /// The samples.
    pub trace: Option<Trace>,
}

impl Recording {
    /// What the core is told.
    ///
    /// The file's order is the order of arrival and is kept, also where times run slightly
    /// backwards. A reading delivered twice counts once. Numbers that an adapter never delivers,
    /// although it delivers later ones, become a [`What::Gap`] just before the first later one.
    /// An adapter that sends traces and no reading has its pulls found in them, numbered from 1.
    #[must_use]
    pub fn convert(&self) -> Converted {
        let mut conversion = Conversion::new(&self.lines);
        for line in &self.lines {
            conversion.take(line);
        }
        conversion.end()
    }
}

struct Conversion<'a> {
    done: Converted,
    /// Numbers delivered by each adapter anywhere in the file.
    delivered: HashMap<&'a str, BTreeSet<u64>>,
    /// Adapters with traces anywhere in the file.
    traced: BTreeSet<&'a str>,
    /// Readings taken so far.
    taken: HashMap<(&'a str, u64), (Stamp, &'a Reading)>,
    highest: HashMap<&'a str, u64>,
    infos: HashMap<&'a str, &'a AdapterInfo>,
    /// Nonsense in traces that was told of.
    nonsense: HashMap<&'a str, Told>,
    /// Of adapters that tell readings and their traces.
    shown: BTreeMap<&'a str, Traces<(u64, Torque)>>,
    latest: Stamp,
    /// Number of the line last taken.
    last_line: u64,
}

impl<'a> Conversion<'a> {
    fn new(lines: &'a [Line]) -> Self {
        let mut delivered: HashMap<&str, BTreeSet<u64>> = HashMap::new();
        let mut traced = BTreeSet::new();
        for line in lines {
            match &line.item {
                Item::Reading { reading, .. } => {
                    let numbers = delivered.entry(&reading.adapter).or_default();
                    numbers.insert(reading.seq);
                }
                Item::Trace { adapter, .. } => {
                    traced.insert(adapter.as_str());
                }
                _ => {}
            }
        }
        Self {
            done: Converted::default(),
            delivered,
            traced,
            taken: HashMap::new(),
            highest: HashMap::new(),
            infos: HashMap::new(),
            nonsense: HashMap::new(),
            shown: BTreeMap::new(),
            latest: Stamp::default(),
            last_line: 0,
        }
    }

    fn take(&mut self, line: &'a Line) {
        self.last_line = line.number;
        if let Some(at) = line.item.at() {
            self.latest = self.latest.max(at);
        }
        match &line.item {
            // What the core does not weigh yet stays in the recording.
            Item::Header(_) | Item::Button(_) => {}
            Item::Motion { at, motion } => self.push(*at, What::Motion(motion.clone())),
            Item::Adapter { at, info } => {
                self.infos.insert(&info.id, info);
                self.push(*at, What::Adapter(info.clone()));
            }
            Item::Reading { at, reading } => self.take_reading(line.number, *at, reading),
            Item::Trace { adapter, trace } => {
                let last = trace.torque.len().saturating_sub(1);
                self.latest = self.latest.max(trace.time_of(last));
                let adapter = adapter.as_str();
                let shown = self.shown(adapter).block(trace.clone());
                self.push_shown(adapter, shown);
                let nonsense = self.shown(adapter).nonsense();
                self.complain(line.number, adapter, nonsense);
                if !self.delivered.contains_key(adapter) {
                    let unclaimed = self.shown(adapter).unclaimed();
                    self.number(adapter, unclaimed);
                }
            }
            Item::Mark { at, mark } => self.push(*at, What::Mark(mark.clone())),
            Item::Given { at, given } => self.push(*at, What::Given(given.clone())),
            Item::Link { at, change } => self.push(*at, What::Link(change.clone())),
        }
    }

    fn take_reading(&mut self, number: u64, at: Stamp, reading: &'a Reading) {
        let adapter = reading.adapter.as_str();
        let key = (adapter, reading.seq);
        if let Some(earlier) = self.taken.get(&key) {
            if *earlier != (at, reading) {
                self.done.problems.push(Problem {
                    line: number,
                    fault: Fault::Conflict { adapter: reading.adapter.clone(), seq: reading.seq },
                });
            }
            return;
        }
        self.taken.insert(key, (at, reading));
        self.push_gaps(at, adapter, reading.seq);
        self.push(at, What::Reading(reading.clone()));
        // Without a trace there is nothing to wait for.
        if self.traced.contains(adapter) {
            let shown =
                self.shown(adapter).reading((reading.seq, reading.peak), at, 0.0, reading.peak);
            self.push_shown(adapter, shown);
        }
    }

    fn shown(&mut self, adapter: &'a str) -> &mut Traces<(u64, Torque)> {
        let info = self.infos.get(adapter);
        self.shown.entry(adapter).or_insert_with(|| {
            Traces::new(info.map_or_else(Source::default, |info| traces::source(info)))
        })
    }

    fn push_shown(&mut self, adapter: &str, shown: Vec<traces::Described<(u64, Torque)>>) {
        for one in shown {
            let (seq, peak) = one.key;
            self.done.shown.push(Shown {
                adapter: adapter.to_owned(),
                seq,
                peak,
                description: one.description,
                trace: one.trace,
            });
            let described = Described {
                adapter: adapter.to_owned(),
                seq,
                description: Box::new(one.description),
                rest: one.rest,
            };
            self.push(one.at, What::Described(described));
        }
    }

    fn complain(&mut self, line: u64, adapter: &'a str, nonsense: Vec<Nonsense>) {
        for what in nonsense {
            if self.nonsense.entry(adapter).or_default().is_news(&what) {
                let fault = Fault::Trace { adapter: adapter.to_owned(), what };
                self.done.problems.push(Problem { line, fault });
            }
        }
    }

    /// Tells of every number between the highest so far and `seq` that never comes.
    fn push_gaps(&mut self, at: Stamp, adapter: &'a str, seq: u64) {
        let Some(highest) = self.highest.get(adapter).copied() else {
            self.highest.insert(adapter, seq);
            return;
        };
        if seq <= highest {
            return;
        }
        self.highest.insert(adapter, seq);
        let mut expected = highest + 1;
        let mut gaps = Vec::new();
        if let Some(delivered) = self.delivered.get(adapter) {
            for came in delivered.range(expected..=seq) {
                if *came > expected {
                    gaps.push((expected, *came - 1));
                }
                expected = *came + 1;
            }
        }
        for (first, last) in gaps {
            let gap = Gap { adapter: adapter.to_owned(), epoch: None, first, last };
            self.push(at, What::Gap(gap));
        }
    }

    /// Pulls of an adapter that tells no readings, numbered as they are found.
    fn number(&mut self, adapter: &'a str, pulls: Vec<(Description, Option<Trace>)>) {
        for (description, trace) in pulls {
            let seq = self.highest.entry(adapter).or_default();
            *seq += 1;
            let reading = Reading {
                adapter: adapter.to_owned(),
                seq: *seq,
                peak: description.peak.torque,
                rotation_deg: description.rotation_deg,
                duration_ms: Some(description.duration_ms),
                description: Some(Box::new(description)),
            };
            self.done.shown.push(Shown {
                adapter: adapter.to_owned(),
                seq: reading.seq,
                peak: reading.peak,
                description,
                trace,
            });
            self.push(description.peak.at, What::Reading(reading));
        }
    }

    fn push(&mut self, at: Stamp, what: What) {
        self.done.inputs.push(Input { at, what });
    }

    fn end(mut self) -> Converted {
        for (adapter, mut traces) in std::mem::take(&mut self.shown) {
            let shown = traces.ended();
            let unclaimed = traces.unclaimed();
            let nonsense = traces.nonsense();
            let last = self.last_line;
            self.complain(last, adapter, nonsense);
            self.push_shown(adapter, shown);
            if !self.delivered.contains_key(adapter) {
                self.number(adapter, unclaimed);
            }
        }
        self.push(self.latest, What::End);
        self.done
    }
}
