//! Thread locker: once it sets, a pull breaks it, and nothing it reads tells how tight the joint is.

use crate::core::event::WarningCode;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::pull::Seen;
use crate::core::tracker::rules::words;
use crate::core::tracker::scene::Scene;
use crate::core::tracker::warn::{Reason, Speaker};

const SECONDS_A_MINUTE: f64 = 60.0;

/// Minutes within which a fastener may still be pulled, if the plan says.
fn allowed(scene: &Scene, fastener: usize) -> Option<f64> {
    let locker = scene.step(scene.step_of(fastener)).rules.locker.as_ref();
    locker.and_then(|locker| locker.working_minutes).filter(|_| !scene.plan.already_tight)
}

impl Hypothesis {
    /// A fastener was pulled. The locker is on before the first pull, so that the time is never overstated.
    pub(in crate::core::tracker) fn mind_locker(
        &mut self,
        scene: &Scene,
        seen: &Seen,
        fastener: usize,
    ) {
        let Some(allowed) = allowed(scene, fastener) else { return };
        let kept = &mut self.members[fastener].kept;
        let first = *kept.first.get_or_insert(seen.at);
        kept.cured |= (seen.at - first) / SECONDS_A_MINUTE > allowed;
    }
}

impl Speaker<'_> {
    /// A fastener was pulled later after its first pull than its thread locker may still be worked.
    pub(in crate::core::tracker) fn cured(&mut self, index: usize, fastener: usize) {
        let scene = &self.state.scene;
        let kept = self.best().members[fastener].kept;
        let (Some(allowed), Some(first)) = (allowed(scene, fastener), kept.first) else { return };
        let minutes = (self.state.readings[index].at - first) / SECONDS_A_MINUTE;
        if minutes <= allowed {
            return;
        }
        let about = self.named(index, fastener);
        let text = words::cured(scene, about.fastener, fastener, minutes, allowed);
        let code = WarningCode::Cured;
        self.say(Reason::OfReading { code, index }, code, about, text);
    }
}
