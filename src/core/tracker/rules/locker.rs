//! Thread locker: once it cures, a pull breaks it, and nothing it reads tells how tight the joint is.

use crate::core::event::WarningCode;
use crate::core::tracker::rules::words;
use crate::core::tracker::warn::{Reason, Speaker};

const SECONDS_A_MINUTE: f64 = 60.0;

impl Speaker<'_> {
    /// A fastener was pulled later after its first pull than its thread locker may still be worked. The locker is on
    /// before the first pull, so that the time is never overstated.
    pub(in crate::core::tracker) fn cured(&mut self, index: usize, fastener: usize) {
        let state = self.state;
        let scene = &state.scene;
        let locker = scene.step(scene.step_of(fastener)).rules.locker.as_ref();
        let Some(allowed) = locker.and_then(|locker| locker.working_minutes) else { return };
        let on_it = |place: &usize| {
            !state.readings[*place].void && state.assignment(*place).fastener == Some(fastener)
        };
        let Some(first) = (0..index).find(on_it) else { return };
        let minutes = (state.readings[index].at - state.readings[first].at) / SECONDS_A_MINUTE;
        if minutes <= allowed {
            return;
        }
        let about = self.named(index, fastener);
        let text = words::cured(scene, about.fastener, fastener, minutes, allowed);
        let code = WarningCode::Cured;
        self.say(Reason::OfReading { code, index }, code, about, text);
    }
}
