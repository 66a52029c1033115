//! Every pull of an adapter off by one and the same ratio, and a ratio that units make: asked once, never put right.

use crate::core::decision::{MixUp, session_mix_up};
use crate::core::event::{Act, WarningCode};
use crate::core::tracker::rules::words;
use crate::core::tracker::state::{Placed, State};
use crate::core::tracker::warn::{About, Reason, Speaker};
use crate::core::units::TorqueUnit;

impl Speaker<'_> {
    /// Asks whether a unit was taken for another, if every pull of the adapter of this reading looks like it.
    pub(in crate::core::tracker) fn units(&mut self, index: usize) {
        let adapter = self.state.readings[index].reading.adapter.clone();
        let Some(pulls) = off_by(self.state, &adapter) else { return };
        let ratios: Vec<f64> = pulls.iter().map(|(ratio, _)| *ratio).collect();
        let Some(found) = session_mix_up(&ratios) else { return };
        // One of the two is what the plan is written in.
        let fits = |pair: &&MixUp| {
            pulls.iter().all(|(_, unit)| [pair.meant, pair.taken_for].contains(unit))
        };
        let Some(pair) = found.candidates.iter().find(fits) else { return };
        let text = words::units(&adapter, found.ratio, *pair);
        let about = About { fastener: None, reading: Some(index) };
        self.say(Reason::Units(adapter), WarningCode::UnitMixUp, about, text);
    }
}

/// What every tightening of an adapter came to, as a ratio to what was asked, and the plan's unit. None once one of them
/// was as it should be.
fn off_by(state: &State, adapter: &str) -> Option<Vec<(f64, TorqueUnit)>> {
    let scene = &state.scene;
    let its_own = |(_, placed): &(usize, &Placed)| {
        placed.reading.adapter == adapter && !placed.void && !placed.seen.typed
    };
    let mut pulls = Vec::new();
    for (place, placed) in state.readings.iter().enumerate().filter(its_own) {
        let assignment = state.assignment(place);
        let Some(fastener) = assignment.fastener.filter(|_| assignment.act == Act::Tighten) else {
            continue;
        };
        let step = scene.step_of(fastener);
        let Some(window) = scene.window(step, assignment.pass) else { continue };
        let nm = scene.tightening(step, placed.reading.peak);
        let inside = nm >= window.low.nm() && window.high.is_none_or(|high| nm <= high.nm());
        if inside {
            return None;
        }
        pulls.push((nm / window.target.nm(), window.stated.unit));
    }
    Some(pulls)
}
