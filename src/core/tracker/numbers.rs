//! Numbers of readings, as they arrive: delivered twice, late, or missing.

use crate::core::time::Stamp;
use std::collections::{BTreeMap, BTreeSet};

/// Numbers of one hole that are kept apart.
pub(super) const MOST_LOST: usize = 1000;

/// What the number of an arriving reading tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Arrival {
    /// Not seen before.
    New,
    /// Delivered once more.
    Again,
}

/// Numbers known to be missing, of one adapter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Missing {
    pub adapter: String,
    pub first: u64,
    pub last: u64,
    /// When the reading after them peaked.
    pub before: Stamp,
}

#[derive(Debug, Clone, Default)]
struct Series {
    seen: BTreeMap<u64, Stamp>,
    highest: u64,
    /// Numbers jumped over and not yet arrived, with the peak time of the reading that jumped.
    jumped: Vec<(u64, Stamp)>,
    /// Numbers that the adapter's session has reported as lost.
    lost: BTreeSet<u64>,
}

/// The numbers of all adapters.
#[derive(Debug, Clone, Default)]
pub(super) struct Numbers {
    series: BTreeMap<String, Series>,
}

impl Numbers {
    /// Takes the number of an arriving reading, and gives the numbers that are now known to be
    /// missing: those jumped over before, unless this reading fills such a hole itself, since late
    /// readings come one after the other.
    pub fn arrive(&mut self, adapter: &str, seq: u64, at: Stamp) -> (Arrival, Vec<Missing>) {
        let series = self.series.entry(adapter.to_owned()).or_default();
        match series.seen.get(&seq) {
            Some(earlier) if *earlier == at => return (Arrival::Again, Vec::new()),
            // The same number at another time: the adapter has begun to count anew.
            Some(_) => *series = Series::default(),
            None => {}
        }
        let fills = series.jumped.iter().any(|(number, _)| *number == seq);
        series.jumped.retain(|(number, _)| *number != seq);
        let missing = if fills { Vec::new() } else { take_missing(adapter, series) };
        if !series.seen.is_empty() && seq > series.highest {
            // A leap of thousands is a new way of counting, not thousands of lost readings.
            let first = (series.highest + 1).max(seq.saturating_sub(1000));
            let lost = &series.lost;
            let unheard = (first..seq).filter(|number| !lost.contains(number));
            series.jumped.extend(unheard.map(|number| (number, at)));
        }
        series.highest = series.highest.max(seq);
        series.seen.insert(seq, at);
        (Arrival::New, missing)
    }

    /// Nothing more will come: what was jumped over is missing.
    pub fn end(&mut self) -> Vec<Missing> {
        self.series.iter_mut().flat_map(|(adapter, series)| take_missing(adapter, series)).collect()
    }

    /// The adapter's session has reported these as lost.
    pub fn lose(&mut self, adapter: &str, first: u64, last: u64) {
        let series = self.series.entry(adapter.to_owned()).or_default();
        series.jumped.retain(|(number, _)| !(first..=last).contains(number));
        series.lost.extend((first..=last).take(MOST_LOST));
    }
}

fn take_missing(adapter: &str, series: &mut Series) -> Vec<Missing> {
    let mut found: Vec<Missing> = Vec::new();
    for (number, before) in series.jumped.drain(..) {
        match found.last_mut() {
            Some(range) if range.last + 1 == number && range.before == before => {
                range.last = number;
            }
            _ => found.push(Missing {
                adapter: adapter.to_owned(),
                first: number,
                last: number,
                before,
            }),
        }
    }
    found
}
