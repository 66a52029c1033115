//! Which readings have come already, and whether some are still on their way. What is missing for good
//! is said by whoever talks to the adapter.

use crate::core::time::Stamp;
use std::collections::{BTreeMap, BTreeSet};

/// Numbers of one hole that are kept apart.
pub(super) const MOST_LOST: usize = 1000;
/// Readings beyond a hole after which nobody waits for it any longer.
const PATIENCE: u32 = 3;

/// The numbers of all adapters.
#[derive(Debug, Clone, Default)]
pub(super) struct Numbers {
    /// Readings by adapter, number and time of the peak: an adapter that has begun to count anew gives
    /// the same number at another time.
    seen: BTreeSet<(String, u64, Stamp)>,
    series: BTreeMap<String, Series>,
}

#[derive(Debug, Clone, Default)]
struct Series {
    highest: u64,
    /// Numbers jumped over that have neither come nor been given up.
    awaited: BTreeSet<u64>,
    lost: BTreeSet<u64>,
    /// Readings since the last jump that filled no hole.
    beyond: u32,
}

impl Numbers {
    /// Takes the number of an arriving reading. True if the reading has not come before.
    pub fn is_new(&mut self, adapter: &str, seq: u64, at: Stamp) -> bool {
        if !self.seen.insert((adapter.to_owned(), seq, at)) {
            return false;
        }
        let series = self.series.entry(adapter.to_owned()).or_default();
        if series.awaited.remove(&seq) {
            return true;
        }
        series.beyond += 1;
        if seq <= series.highest {
            // Counting anew, or earlier boots' readings: what was jumped over cannot be told.
            series.awaited.clear();
        } else if series.highest > 0 {
            let first = (series.highest + 1).max(seq.saturating_sub(MOST_LOST as u64));
            let before = series.awaited.len();
            series.awaited.extend((first..seq).filter(|number| !series.lost.contains(number)));
            if series.awaited.len() > before {
                series.beyond = 0;
            }
        }
        series.highest = seq;
        true
    }

    /// These numbers will never come.
    pub fn lose(&mut self, adapter: &str, first: u64, last: u64) {
        let series = self.series.entry(adapter.to_owned()).or_default();
        series.awaited.retain(|number| !(first..=last).contains(number));
        series.lost.extend((first..=last).take(MOST_LOST));
    }

    /// True while readings that were made earlier may still come: who was left out cannot be told yet.
    pub fn some_awaited(&self) -> bool {
        self.series.values().any(|one| !one.awaited.is_empty() && one.beyond < PATIENCE)
    }
}
