//! Castle nuts: brought to their least torque, then only forward to the next slot, then pinned.
//!
//! The most is what the plan publishes; where it publishes none, the next slot is the limit, and no torque is called
//! too high. Turned back after its torque the nut is open again: the slack that it was to take up is back.

use crate::core::event::{Act, WarningCode};
use crate::core::joint::SlotPitch;
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::pull::{Assignment, Seen};
use crate::core::tracker::rules::words;
use crate::core::tracker::scene::Scene;
use crate::core::tracker::warn::{Reason, Speaker};

/// What an adapter may tell beyond the way to the next slot, degrees: play of socket and square, and its wind-up.
const PLAY_DEG: f64 = 8.0;

/// From slot to slot, if the fastener is a castle nut that goes forward only.
fn pitch(scene: &Scene, fastener: usize) -> Option<SlotPitch> {
    let step = scene.step(scene.step_of(fastener));
    step.rules.castle.filter(|_| step.goes_forward_only())
}

/// True if the fastener has its least torque and no pin yet: whatever is pulled takes it on to its slot.
pub(in crate::core::tracker) fn goes_on(
    scene: &Scene,
    account: &Hypothesis,
    fastener: usize,
) -> bool {
    pitch(scene, fastener).is_some()
        && has_its_torque(scene, account, fastener)
        && !account.members[fastener].kept.secured
        && account.members[fastener].spoiled.is_none()
}

fn has_its_torque(scene: &Scene, account: &Hypothesis, fastener: usize) -> bool {
    let closing = scene.closing_pass(scene.step_of(fastener));
    closing.is_some_and(|closing| account.members[fastener].next_pass > closing)
}

/// A pull on such a nut is no recheck: it is tightened on.
pub(in crate::core::tracker) fn forward(
    scene: &Scene,
    account: &Hypothesis,
    assignment: Assignment,
) -> Assignment {
    let on = assignment.fastener.filter(|_| assignment.act == Act::Recheck);
    match on.filter(|fastener| goes_on(scene, account, *fastener)) {
        Some(_) => Assignment { act: Act::Tighten, ..assignment },
        None => assignment,
    }
}

impl Hypothesis {
    /// The nut went on to its slot.
    pub(in crate::core::tracker) fn went_on(
        &mut self,
        scene: &Scene,
        seen: &Seen,
        fastener: usize,
        nm: f64,
    ) {
        let step = scene.step_of(fastener);
        let wind_up = scene.wind_up(step, nm);
        let kept = &mut self.members[fastener].kept;
        kept.forward_deg += seen.turned_deg.map_or(0.0, |deg| (deg - wind_up).max(0.0));
        let no_most = scene.final_window(step).is_some_and(|window| window.high.is_none());
        let too_far = |pitch: SlotPitch| kept.forward_deg > pitch.degrees() + PLAY_DEG;
        kept.past_slot = no_most && pitch(scene, fastener).is_some_and(too_far);
    }

    /// The nut was turned back: true if that may not be.
    pub(in crate::core::tracker) fn backs_off(&self, scene: &Scene, fastener: usize) -> bool {
        pitch(scene, fastener).is_some() && has_its_torque(scene, self, fastener)
    }
}

impl Speaker<'_> {
    /// It went on further than to the next slot, and that is the only limit there is.
    pub(in crate::core::tracker) fn past_slot(&mut self, index: usize, fastener: usize) {
        let scene = &self.state.scene;
        let Some(pitch) = pitch(scene, fastener) else { return };
        let kept = self.best().members[fastener].kept;
        if !kept.past_slot {
            return;
        }
        let text = words::past_slot(scene, fastener, kept.forward_deg, pitch.degrees());
        let about = self.named(index, fastener);
        self.say(Reason::PastSlot(fastener), WarningCode::PastSlot, about, text);
    }

    /// It was turned back: in the words of a nut that only goes forward. True if that was said.
    pub(in crate::core::tracker) fn backed_off(&mut self, index: usize, fastener: usize) -> bool {
        if !self.best().members[fastener].kept.backed_off {
            return false;
        }
        let about = self.named(index, fastener);
        let text = words::backed_off(self.scene(), about.fastener, fastener);
        let code = WarningCode::BackedOff;
        self.say(Reason::OfReading { code, index }, code, about, text);
        true
    }
}
