//! Guarded acceptance, where a joint asks for it: what counts lies inside its window by the expanded uncertainty of the
//! reading. A limit is never widened.

use crate::core::decision::{COVERAGE, Limits, Rule, acceptance_zone, decide};
use crate::core::event::WarningCode;
use crate::core::plan::Window;
use crate::core::tracker::pull::Seen;
use crate::core::tracker::rules::{words, zero};
use crate::core::tracker::scene::Scene;
use crate::core::tracker::warn::{Reason, Speaker};
use crate::core::units::Torque;

/// What a reading inside its window proves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::core::tracker) enum Proof {
    /// Enough.
    Enough,
    /// It may have been too low, or nothing tells.
    MayBeLow,
    /// It may have been too high.
    MayBeHigh,
}

/// Standard uncertainty of a reading as a share of it: what the adapter states, which is an expanded one (k = 2), and what
/// its fixture adds.
fn relative(scene: &Scene, seen: &Seen, step: usize) -> Option<f64> {
    let own = seen.accuracy_pct? / 100.0 / COVERAGE;
    let fixture = scene.step(step).rules.fixture.effect().ok()?;
    Some(own.hypot(fixture.uncertainty))
}

fn limits(window: &Window) -> Limits {
    Limits { low: window.low, high: window.high }
}

/// What a reading of `nm` proves in the pass that finishes a fastener.
pub(in crate::core::tracker) fn proof(
    scene: &Scene,
    seen: &Seen,
    (step, pass): (usize, usize),
    window: &Window,
    nm: f64,
) -> Proof {
    if let Some(without) = zero::without_jump(scene, seen, step, nm) {
        if without < window.low.nm() {
            return Proof::MayBeLow;
        }
        if window.high.is_some_and(|high| without > high.nm()) {
            return Proof::MayBeHigh;
        }
    }
    let rule = scene.step(step).rules.acceptance;
    if rule == Rule::Simple || scene.closing_pass(step) != Some(pass) || seen.typed {
        return Proof::Enough;
    }
    let relative = relative(scene, seen, step);
    let above = window.high.is_some_and(|high| nm > f64::midpoint(window.low.nm(), high.nm()));
    match decide(limits(window), Torque::from_nm(nm), relative, rule).accepted {
        true => Proof::Enough,
        false if above && relative.is_some() => Proof::MayBeHigh,
        false => Proof::MayBeLow,
    }
}

impl Speaker<'_> {
    /// A reading lies inside its window, and proves too little.
    pub(in crate::core::tracker) fn unproven(
        &mut self,
        index: usize,
        fastener: usize,
        pass: usize,
        nm: f64,
    ) {
        let state = self.state;
        let (scene, placed) = (&state.scene, &state.readings[index]);
        let step = scene.step_of(fastener);
        let Some(window) = scene.window_for(fastener, pass) else { return };
        let proof = proof(scene, &placed.seen, (step, pass), &window, nm);
        if proof != Proof::Enough && self.only_by_zero(index, fastener, &window, nm) {
            return;
        }
        if !window.contains(Torque::from_nm(nm)) || proof == Proof::Enough {
            return;
        }
        let zone = relative(scene, &placed.seen, step)
            .and_then(|relative| acceptance_zone(limits(&window), relative));
        let about = self.named(index, fastener);
        let adapter = &placed.reading.adapter;
        let text = words::unproven(scene, about.fastener, fastener, adapter, nm, (proof, zone));
        let code = WarningCode::GuardBand;
        self.say(Reason::OfReading { code, index }, code, about, text);
    }
}
