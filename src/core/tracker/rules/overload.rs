//! Adapters that were overloaded or hit, or whose zero jumped: in doubt until their zero and a comparison with a known torque are right.

use crate::core::event::WarningCode;
use crate::core::tracker::pull::Seen;
use crate::core::tracker::rules::words;
use crate::core::tracker::scene::Scene;
use crate::core::tracker::warn::{About, Reason, Speaker};

/// From this share of its range on an adapter may have been strained: makers mostly allow a tenth to a fifth more than
/// what they measure.
const OVERLOAD_SHARE: f64 = 1.1;

/// An adapter that is in doubt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::core::tracker) struct Overloaded {
    /// Its short id.
    pub adapter: String,
    /// It was found right since.
    pub checked: bool,
}

fn overloads(range: Option<(f64, f64)>, nm: f64) -> bool {
    range.is_some_and(|(_, high)| nm.abs() > high * OVERLOAD_SHARE)
}

impl Scene {
    /// An adapter was pulled with: far over its range, or hit by an impact tool, it is in doubt.
    pub(in crate::core::tracker) fn strain(&mut self, adapter: &str, seen: &Seen) {
        if overloads(seen.range, seen.nm) || seen.hit {
            self.doubt(adapter);
        }
    }

    /// Nothing that an adapter tells is to be relied on before it was checked.
    pub(in crate::core::tracker) fn doubt(&mut self, adapter: &str) {
        self.overloaded.retain(|one| one.adapter != adapter);
        self.overloaded.push(Overloaded { adapter: adapter.to_owned(), checked: false });
    }
}

impl Speaker<'_> {
    /// The adapter of this reading was overloaded by it.
    pub(in crate::core::tracker) fn overload(&mut self, index: usize) {
        let placed = &self.state.readings[index];
        let nm = placed.reading.peak.nm();
        let Some(range) = placed.seen.range.filter(|range| overloads(Some(*range), nm)) else {
            return;
        };
        let text = words::overloaded(&placed.reading.adapter, range.1, nm.abs());
        let code = WarningCode::AdapterSuspect;
        let about = About { fastener: None, reading: Some(index) };
        self.say(Reason::OfReading { code, index }, code, about, text);
    }
}
