//! From the lines of a recording to what the core is told.

use super::Recording;
use super::fault::{Fault, Problem};
use super::line::{Item, Line, Trace};
use crate::adapter::traces::{self, Traces};
use crate::core::event::{AdapterInfo, Described, Gap, Input, Reading, What};
use crate::core::signal::{PeakHold, Pull, Source};
use crate::core::time::Stamp;
use crate::core::units::Torque;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// What the core is told, and what was wrong on the way.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Converted {
    /// The inputs in order of arrival, closed by [`What::End`].
    pub inputs: Vec<Input>,
    /// Readings that contradict an earlier one of the same number.
    pub problems: Vec<Problem>,
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
    ranges: HashMap<&'a str, Option<Torque>>,
    infos: HashMap<&'a str, &'a AdapterInfo>,
    /// Of adapters that tell readings and their traces.
    shown: BTreeMap<&'a str, Traces<u64>>,
    // Ordered, so that several pulls still open at the end always come out in the same order.
    traces: BTreeMap<&'a str, Traced>,
    latest: Stamp,
}

/// The state of one adapter whose pulls are found by us.
struct Traced {
    hold: PeakHold,
    pulls: u64,
    /// Rotation up to the end of the last block, degrees.
    turned_deg: f64,
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
                Item::Trace(trace) => {
                    traced.insert(trace.adapter.as_str());
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
            ranges: HashMap::new(),
            infos: HashMap::new(),
            shown: BTreeMap::new(),
            traces: BTreeMap::new(),
            latest: Stamp::default(),
        }
    }

    fn take(&mut self, line: &'a Line) {
        if let Some(at) = line.item.at() {
            self.latest = self.latest.max(at);
        }
        match &line.item {
            // What the core does not weigh yet stays in the recording.
            Item::Header(_) | Item::Motion(_) | Item::Button(_) => {}
            Item::Adapter { at, info } => {
                self.infos.insert(&info.id, info);
                self.ranges.insert(&info.id, info.range.map(|(_, high)| high));
                self.push(*at, What::Adapter(info.clone()));
            }
            Item::Reading { at, reading } => self.take_reading(line.number, *at, reading),
            Item::Trace(trace) => {
                let last = trace.torque.len().saturating_sub(1);
                self.latest = self.latest.max(trace.time_of(last));
                if self.delivered.contains_key(trace.adapter.as_str()) {
                    let samples = trace.samples();
                    let shown = self.shown(&trace.adapter).block(samples);
                    self.push_shown(&trace.adapter, shown);
                } else {
                    self.take_trace(trace);
                }
            }
            Item::Mark { at, mark } => self.push(*at, What::Mark(mark.clone())),
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
            let shown = self.shown(adapter).reading(reading.seq, at, 0.0, reading.peak);
            self.push_shown(adapter, shown);
        }
    }

    fn shown(&mut self, adapter: &'a str) -> &mut Traces<u64> {
        let info = self.infos.get(adapter);
        self.shown.entry(adapter).or_insert_with(|| {
            Traces::new(info.map_or_else(Source::default, |info| traces::source(info)))
        })
    }

    fn push_shown(&mut self, adapter: &str, shown: Vec<traces::Described<u64>>) {
        for one in shown {
            let described = Described {
                adapter: adapter.to_owned(),
                seq: one.key,
                description: Box::new(one.description),
            };
            self.push(one.at, What::Described(described));
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

    fn take_trace(&mut self, trace: &'a Trace) {
        let adapter = trace.adapter.as_str();
        let range_max = self.ranges.get(adapter).copied().flatten();
        let traced = self.traces.entry(adapter).or_insert_with(|| Traced {
            hold: PeakHold::new(range_max),
            pulls: 0,
            turned_deg: 0.0,
        });
        let mut found = Vec::new();
        for (index, torque) in trace.torque.iter().enumerate() {
            let at = trace.time_of(index);
            let turned = trace.deg.as_ref().and_then(|deg| deg.get(index));
            let turned = turned.map(|deg| traced.turned_deg + deg);
            if let Some(pull) = traced.hold.push(at, *torque, turned) {
                found.push(traced.number(adapter, &pull));
            }
        }
        if let Some(last) = trace.deg.as_ref().and_then(|deg| deg.last()) {
            traced.turned_deg += last;
        }
        for (at, reading) in found {
            self.push(at, What::Reading(reading));
        }
    }

    fn push(&mut self, at: Stamp, what: What) {
        self.done.inputs.push(Input { at, what });
    }

    fn end(mut self) -> Converted {
        for (adapter, mut traced) in std::mem::take(&mut self.traces) {
            if let Some(pull) = traced.hold.finish() {
                let (at, reading) = traced.number(adapter, &pull);
                self.push(at, What::Reading(reading));
            }
        }
        for (adapter, mut traces) in std::mem::take(&mut self.shown) {
            let shown = traces.ended();
            self.push_shown(adapter, shown);
        }
        self.push(self.latest, What::End);
        self.done
    }
}

impl Traced {
    fn number(&mut self, adapter: &str, pull: &Pull) -> (Stamp, Reading) {
        self.pulls += 1;
        let reading = Reading {
            adapter: adapter.to_owned(),
            seq: self.pulls,
            peak: pull.peak,
            rotation_deg: pull.rotation_deg,
            duration_ms: Some(pull.duration_ms),
            description: None,
        };
        (pull.at, reading)
    }
}
