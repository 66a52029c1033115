//! What an adapter shows with nothing on it, as its trace tells: where that moves, the peaks that it tells are off by as much.

use crate::core::event::WarningCode;
use crate::core::signal::Description;
use crate::core::tracker::rules::words;
use crate::core::tracker::state::Placed;
use crate::core::tracker::warn::{About, Reason, Speaker};

impl Speaker<'_> {
    /// The adapter of this reading shows something else with nothing on it than at the job's first pull with it.
    pub(in crate::core::tracker) fn zero_moved(&mut self, index: usize) {
        let state = self.state;
        let placed = &state.readings[index];
        let adapter = &placed.reading.adapter;
        // Where peaks are found in the trace, its zero is taken off them.
        let tells_peaks = state.scene.adapter(adapter).is_some_and(|one| one.reports.peak);
        let its_own = |one: &&Placed| one.reading.adapter == *adapter;
        let first = state.readings.iter().filter(its_own).find_map(seen);
        let (Some(first), Some(now)) = (first, seen(placed).filter(|_| tells_peaks)) else {
            return;
        };
        let Some(moved) = now.zero_moved_since(first) else { return };
        let text = words::zero_moved(adapter, moved);
        let about = About { fastener: None, reading: Some(index) };
        self.say(Reason::Zero(adapter.clone()), WarningCode::AdapterSuspect, about, text);
    }
}

fn seen(placed: &Placed) -> Option<&Description> {
    placed.reading.description.as_deref()
}
