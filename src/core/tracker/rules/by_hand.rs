//! Blows of an impact tool through the adapter: what a gun drove is no pull of a joint that is by hand only, and the adapter
//! that was hit is in doubt.

use crate::core::event::{Reading, WarningCode};
use crate::core::tracker::member::Spoiled;
use crate::core::tracker::rules::words;
use crate::core::tracker::warn::{About, Reason, Speaker};

/// Probability from which a trace is taken for blows: whoever is wrongly told so slackens a good joint.
const BLOWS: f64 = 0.95;

/// True if the trace of a reading shows the blows of an impact tool.
pub(in crate::core::tracker) fn was_hit(reading: &Reading) -> bool {
    reading.description.as_deref().is_some_and(|description| description.flags.impact >= BLOWS)
}

impl Speaker<'_> {
    /// The adapter of this reading was hit.
    pub(in crate::core::tracker) fn hit(&mut self, index: usize) {
        let placed = &self.state.readings[index];
        if !placed.seen.hit {
            return;
        }
        let text = words::hit(&placed.reading.adapter);
        let reason = Reason::Hit(placed.reading.adapter.clone());
        let about = About { fastener: None, reading: Some(index) };
        self.say(reason, WarningCode::AdapterSuspect, about, text);
    }

    /// A joint that is by hand only was driven by an impact tool.
    pub(in crate::core::tracker) fn driven(&mut self, index: usize, fastener: usize) {
        let hit = self.state.readings[index].seen.hit;
        if !hit || self.best().members[fastener].spoiled != Some(Spoiled::Driven) {
            return;
        }
        let about = self.named(index, fastener);
        let text = words::driven(self.scene(), about.fastener, fastener);
        let code = WarningCode::Driven;
        self.say(Reason::OfReading { code, index }, code, about, text);
    }
}
