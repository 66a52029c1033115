//! What an adapter's trace shows of each of its readings.

use crate::adapter::source::SourceEvent;
use crate::adapter::trouble::{Trouble, TroubleClass};
use crate::core::event::{self, AdapterInfo, ReadingKey, Trace};
use crate::core::signal::{Description, Found, Nonsense, PullFinder, Source, same_pull};
use crate::core::time::Stamp;
use crate::core::units::Torque;
use std::collections::{HashSet, VecDeque};
use std::mem::{Discriminant, discriminant};

/// Samples are kept for so long after they came, seconds: a reading may come late.
const KEEP_S: f64 = 30.0;
/// Longest hole that a stretch of samples may have, seconds.
const HOLE_S: f64 = 1.0;
/// What is kept of the trace before and after a pull, seconds.
const AROUND_S: f64 = 0.3;
/// A trace whose peak differs by more than this share of the reading, and so much more, N·m, is of
/// another pull.
const OTHER_SHARE: f64 = 0.1;
const OTHER_NM: f64 = 2.0;
/// Pulls, and readings, that may wait for each other.
const WAITING: usize = 64;
/// What is nearest to nothing between two pulls is the mean of so many seconds, so that neither noise nor the swing of a
/// handle through nothing counts.
const REST_MEAN_S: f64 = 0.1;
/// Seconds between two peaks that must have been seen to tell.
const REST_LEAST_S: f64 = 2.0;

/// Finds the pulls in one adapter's trace, and says which reading each of them is. `K` is what
/// tells one reading from another.
#[derive(Debug, Clone)]
pub struct Traces<K> {
    finder: PullFinder,
    stretches: VecDeque<Trace>,
    pulls: VecDeque<Pull>,
    /// Peak of the pull before.
    before: Option<Stamp>,
    readings: VecDeque<Waiting<K>>,
    nonsense: Vec<Nonsense>,
}

/// Which kinds of nonsense were told of an adapter. A spoiled cable spoils thousands of samples: each
/// kind is told once.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Told(HashSet<Discriminant<Nonsense>>);

impl Told {
    /// True the first time that nonsense of this kind is told.
    pub fn is_news(&mut self, what: &Nonsense) -> bool {
        self.0.insert(discriminant(what))
    }
}

/// What the operator is told of nonsense in the trace of `adapter`.
#[must_use]
pub fn trouble(adapter: &str, what: &Nonsense) -> Trouble {
    Trouble {
        class: TroubleClass::BadData,
        adapter: Some(adapter.to_owned()),
        message: format!("sends a trace that cannot all be read: {what}"),
        next_step: what.next_step().to_owned(),
    }
}

/// A pull, and what the adapter showed before it when it was nearest to nothing.
#[derive(Debug, Clone, Copy)]
struct Pull {
    shown: Description,
    rest: Option<Torque>,
}

#[derive(Debug, Clone)]
struct Waiting<K> {
    key: K,
    at: Stamp,
    error_s: f64,
    peak: Torque,
}

/// What the trace shows of a reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Described<K> {
    /// The reading.
    pub key: K,
    /// Time of its peak, as it was told.
    pub at: Stamp,
    /// What its trace shows.
    pub description: Description,
    /// As [`event::Described::rest`].
    pub rest: Option<Torque>,
    /// Its trace, with a little of what was before and after; none if it is not kept any more.
    pub trace: Option<Trace>,
}

impl Described<(ReadingKey, u64)> {
    /// The same as a source says it, of a reading with a key and a number.
    #[must_use]
    pub fn event(self, adapter: &str) -> SourceEvent {
        let (key, seq) = self.key;
        let adapter = adapter.to_owned();
        let description = Box::new(self.description);
        let described = event::Described { adapter, seq, description, rest: self.rest };
        SourceEvent::Described { key, at: self.at, described, trace: self.trace }
    }
}

/// What is known of an adapter, for reading its samples.
#[must_use]
pub fn source(info: &AdapterInfo) -> Source {
    Source {
        range_max: info.range.map(|(_, most)| most),
        accuracy_pct: info.accuracy_pct,
        wind_up_deg_per_nm: None,
    }
}

impl<K> Traces<K> {
    /// Nothing heard yet.
    #[must_use]
    pub fn new(source: Source) -> Self {
        Self {
            finder: PullFinder::new(source),
            stretches: VecDeque::new(),
            pulls: VecDeque::new(),
            before: None,
            readings: VecDeque::new(),
            nonsense: Vec::new(),
        }
    }

    /// The nonsense found since this was last asked, the first of each kind.
    pub fn nonsense(&mut self) -> Vec<Nonsense> {
        std::mem::take(&mut self.nonsense)
    }

    /// A block came.
    pub fn block(&mut self, block: Trace) -> Vec<Described<K>> {
        let (mut pulls, nonsense) = (Vec::new(), &mut self.nonsense);
        self.finder.feed(&block.block(&block.samples_nm()), &mut |found| {
            note(&mut pulls, nonsense, found)
        });
        let newest = block.end();
        let rest = match self.stretches.back_mut() {
            Some(last) => last.join(block, HOLE_S),
            None => Some(block),
        };
        self.stretches.extend(rest);
        self.stretches.retain(|stretch| newest - stretch.end() < KEEP_S);
        self.found(pulls);
        self.matches()
    }

    /// A reading was told: its peak was at `at`, give or take `error_s` seconds.
    pub fn reading(&mut self, key: K, at: Stamp, error_s: f64, peak: Torque) -> Vec<Described<K>> {
        if self.readings.len() == WAITING {
            self.readings.pop_front();
        }
        self.readings.push_back(Waiting { key, at, error_s, peak });
        self.matches()
    }

    /// The pulls that no reading claims, of an adapter that tells none.
    pub fn unclaimed(&mut self) -> Vec<(Description, Option<Trace>)> {
        let pulls = std::mem::take(&mut self.pulls);
        pulls.into_iter().map(|pull| (pull.shown, self.around(&pull.shown))).collect()
    }

    /// The pull under way has ended, or nothing more of it will come.
    pub fn ended(&mut self) -> Vec<Described<K>> {
        let (mut pulls, nonsense) = (Vec::new(), &mut self.nonsense);
        self.finder.finish(&mut |found| note(&mut pulls, nonsense, found));
        self.found(pulls);
        self.matches()
    }

    fn found(&mut self, pulls: Vec<Description>) {
        for shown in pulls {
            let rest = self.rest(self.before, shown.peak.at);
            self.before = Some(shown.peak.at);
            if self.pulls.len() == WAITING {
                self.pulls.pop_front();
            }
            self.pulls.push_back(Pull { shown, rest });
        }
    }

    /// What was nearest to nothing between two peaks, of what is kept of the trace.
    fn rest(&self, before: Option<Stamp>, peak: Stamp) -> Option<Torque> {
        let from = before.unwrap_or(Stamp(i64::MIN)).max(peak + -KEEP_S);
        let parts = self.stretches.iter().filter_map(|stretch| stretch.part(from, peak));
        let (mut seen_s, mut nearest) = (0.0, None::<f64>);
        for part in parts {
            seen_s += part.torque.len() as f64 / part.rate_hz;
            let mean = ((REST_MEAN_S * part.rate_hz).ceil() as usize).max(1);
            for some in part.torque.chunks_exact(mean) {
                let nm = some.iter().map(|torque| torque.nm()).sum::<f64>() / mean as f64;
                if nm.is_finite() && nearest.is_none_or(|nearest| nm.abs() < nearest.abs()) {
                    nearest = Some(nm);
                }
            }
        }
        nearest.filter(|_| seen_s >= REST_LEAST_S).map(Torque::from_nm)
    }

    fn matches(&mut self) -> Vec<Described<K>> {
        let mut described = Vec::new();
        let mut waiting = VecDeque::new();
        for reading in std::mem::take(&mut self.readings) {
            // Of two that overlap, the one whose peak is nearest.
            let off = |pull: &Pull| (pull.shown.peak.at - reading.at).abs();
            let fits = (0..self.pulls.len())
                .filter(|index| same_pull(&self.pulls[*index].shown, reading.at, reading.error_s))
                .filter(|index| agrees(&self.pulls[*index].shown, reading.peak));
            let nearest = fits.min_by(|a, b| off(&self.pulls[*a]).total_cmp(&off(&self.pulls[*b])));
            match nearest.and_then(|index| self.pulls.remove(index)) {
                Some(pull) => described.push(Described {
                    key: reading.key,
                    at: reading.at,
                    description: pull.shown.beside(reading.peak),
                    rest: pull.rest,
                    trace: self.around(&pull.shown),
                }),
                None => waiting.push_back(reading),
            }
        }
        self.readings = waiting;
        described
    }

    fn around(&self, pull: &Description) -> Option<Trace> {
        let (from, to) = (pull.from + -AROUND_S, pull.to + AROUND_S);
        let stretch = self.stretches.iter().rev().find(|stretch| stretch.start <= pull.peak.at)?;
        stretch.part(from, to)
    }
}

/// True unless the pull reached something else than the reading says. Samples that are few or missing
/// may fall short of the peak; none goes far beyond it.
fn agrees(pull: &Description, peak: Torque) -> bool {
    let (seen, told) = (pull.peak.torque.nm(), peak.nm());
    let slack = told.abs() * OTHER_SHARE + OTHER_NM;
    let short = pull.seen.missing > 0 || pull.flags.under_sampled > 0.5;
    let within = (told.abs() - seen.abs()).abs() <= slack;
    seen * told >= 0.0 && (within || (short && seen.abs() < told.abs()))
}

fn note(pulls: &mut Vec<Description>, nonsense: &mut Vec<Nonsense>, found: Found) {
    match found {
        Found::Pull(description) => pulls.push(description),
        Found::Nonsense { what, .. } => {
            if nonsense.iter().all(|one| discriminant(one) != discriminant(&what)) {
                nonsense.push(what);
            }
        }
        // Zeros and bumps are no reading, and no fault.
        Found::Zero { .. } | Found::Knock { .. } => {}
    }
}
