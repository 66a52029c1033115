//! What a trace shows of the fastener itself: that the tool slipped off, that its thread gives way.
//!
//! Both are likely, never certain: they are told with what to look at. A thread that seems to give makes a joint whose
//! failure can cost a life one that must be looked at (`soundness`); no verdict changes.

use crate::core::event::{Act, Reading, WarningCode};
use crate::core::tracker::policy::{SPEAK_GIVES, SPEAK_SLIPPED};
use crate::core::tracker::rules::words;
use crate::core::tracker::warn::{Reason, Speaker};

/// True if the trace of a reading shows torque that sinks while the fastener turns on.
pub(in crate::core::tracker) fn gives(reading: &Reading) -> bool {
    let flags = reading.description.as_deref().map(|description| description.flags);
    flags.is_some_and(|flags| flags.thread_damage >= SPEAK_GIVES)
}

fn slipped(reading: &Reading) -> bool {
    let flags = reading.description.as_deref().map(|description| description.flags);
    flags.is_some_and(|flags| flags.slip >= SPEAK_SLIPPED)
}

impl Speaker<'_> {
    /// What the trace of a reading shows of its fastener.
    pub(in crate::core::tracker) fn shown_by_trace(&mut self, index: usize) {
        let assignment = self.state.assignment(index);
        let placed = &self.state.readings[index];
        let pulled = matches!(assignment.act, Act::Tighten | Act::Recheck) && !placed.void;
        let Some(fastener) = assignment.fastener.filter(|_| pulled) else { return };
        let about = self.named(index, fastener);
        // A thread that gives lets torque drop, too: the graver one is told.
        if gives(&placed.reading) {
            let text = words::gives(self.scene(), about.fastener, fastener);
            let code = WarningCode::ThreadDamage;
            self.say(Reason::OfReading { code, index }, code, about, text);
        } else if slipped(&placed.reading) {
            let text = words::slipped(self.scene(), about.fastener, fastener);
            let code = WarningCode::Slipped;
            self.say(Reason::OfReading { code, index }, code, about, text);
        }
    }
}
