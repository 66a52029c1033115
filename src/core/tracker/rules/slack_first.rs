//! Rechecks by slackening first: what is only pulled on was not checked as its plan asks.

use crate::core::event::WarningCode;
use crate::core::plan::RecheckMethod;
use crate::core::tracker::hypothesis::{Hypothesis, SPOILS_SHARE};
use crate::core::tracker::rules::words;
use crate::core::tracker::scene::Scene;
use crate::core::tracker::warn::{Reason, Speaker};

/// True if a fastener is to be slackened before it is pulled again, and was not.
pub(in crate::core::tracker) fn lacks(
    scene: &Scene,
    account: &Hypothesis,
    fastener: usize,
) -> bool {
    let recheck = scene.step(scene.step_of(fastener)).rules.recheck.as_ref();
    let slack_first = recheck.is_some_and(|one| one.method == RecheckMethod::BackOffAndPull);
    scene.plan.already_tight && slack_first && !account.members[fastener].kept.opened
}

impl Speaker<'_> {
    /// A fastener whose recheck is by slackening first was pulled as it stood.
    pub(in crate::core::tracker) fn not_slackened(
        &mut self,
        index: usize,
        fastener: usize,
        nm: f64,
    ) {
        let scene = self.scene();
        let low = scene.final_window(scene.step_of(fastener)).map_or(0.0, |one| one.low.nm());
        if !lacks(scene, self.best(), fastener) || nm < low * SPOILS_SHARE {
            return;
        }
        let about = self.named(index, fastener);
        let text = words::not_slackened(scene, about.fastener, fastener);
        let code = WarningCode::RedoSlack;
        self.say(Reason::OfReading { code, index }, code, about, text);
    }
}
