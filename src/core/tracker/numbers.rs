//! Which readings have come already. What is missing is said by whoever talks to the adapter.

use crate::core::time::Stamp;
use std::collections::BTreeSet;

/// Numbers of one hole that are kept apart.
pub(super) const MOST_LOST: usize = 1000;

/// Readings by adapter, number and time of the peak: an adapter that has begun to count anew gives
/// the same number at another time.
#[derive(Debug, Clone, Default)]
pub(super) struct Numbers {
    seen: BTreeSet<(String, u64, Stamp)>,
}

impl Numbers {
    /// True if the reading has not come before.
    pub fn is_new(&mut self, adapter: &str, seq: u64, at: Stamp) -> bool {
        self.seen.insert((adapter.to_owned(), seq, at))
    }
}
