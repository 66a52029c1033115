//! What is concluded of each pull, and when a conclusion has changed.

use crate::core::event::{Act, Basis, TorqueVerdict, Verdict};
use crate::core::time::Stamp;
use crate::core::tracker::evidence::time::TOO_SHORT_TO_MOVE_S;
use crate::core::tracker::hypothesis::{Assignment, MEMORY};
use crate::core::tracker::policy::REVISE_BELOW;
use crate::core::tracker::state::{Placed, State};
use std::collections::BTreeMap;

/// The verdict of the reading in place `index`, and every verdict that is no longer held.
pub(super) fn changed(
    state: &State,
    index: Option<usize>,
    announced: &BTreeMap<(String, u64, Stamp), Verdict>,
) -> Vec<Verdict> {
    let oldest = state.readings.len().saturating_sub(MEMORY);
    (oldest..state.readings.len())
        .filter_map(|place| {
            let placed = &state.readings[place];
            let key = (placed.reading.adapter.clone(), placed.reading.seq, placed.at);
            let now = of(state, place)?;
            match announced.get(&key) {
                None => (index == Some(place)).then_some(now),
                Some(before) => {
                    let held = still_held(state, place, before);
                    let same = (&before.fastener, before.pass, before.act)
                        == (&now.fastener, now.pass, now.act);
                    (!same && held < REVISE_BELOW).then_some(Verdict { revised: true, ..now })
                }
            }
        })
        .collect()
}

/// How likely what was announced still is.
fn still_held(state: &State, place: usize, before: &Verdict) -> f64 {
    if state.readings[place].void {
        return if before.fastener.is_none() { 1.0 } else { 0.0 };
    }
    state.probability(place, |one| {
        let name = one.fastener.map(|fastener| state.scene.name(fastener));
        name == before.fastener && one.act == before.act
    })
}

fn of(state: &State, place: usize) -> Option<Verdict> {
    let assignment = state.assignment(place)?;
    let placed = &state.readings[place];
    let step = assignment.fastener.map(|fastener| state.scene.step_of(fastener));
    let confidence = state.probability(place, |one| one.fastener == assignment.fastener);
    Some(Verdict {
        at: placed.at,
        adapter: placed.reading.adapter.clone(),
        seq: placed.reading.seq,
        step: step.map(|step| state.scene.step(step).group.clone()),
        pass: step.and_then(|_| u32::try_from(assignment.pass + 1).ok()),
        fastener: assignment.fastener.map(|fastener| state.scene.name(fastener)),
        confidence: if placed.void { 1.0 } else { confidence },
        basis: basis(state, placed, &assignment),
        peak: placed.reading.peak,
        torque: torque(state, placed, &assignment),
        act: assignment.act,
        revised: false,
    })
}

fn torque(state: &State, placed: &Placed, assignment: &Assignment) -> TorqueVerdict {
    let Some(fastener) = assignment.fastener.filter(|_| assignment.act != Act::Loosen) else {
        return TorqueVerdict::Na;
    };
    let step = state.scene.step_of(fastener);
    let Some(window) = state.scene.window(step, assignment.pass) else {
        return TorqueVerdict::Na;
    };
    let nm = state.scene.tightening(step, placed.reading.peak);
    if nm < window.low.nm() {
        TorqueVerdict::Low
    } else if window.high.is_some_and(|high| nm > high.nm()) {
        TorqueVerdict::High
    } else {
        TorqueVerdict::In
    }
}

/// Which evidence bore on the assignment.
fn basis(state: &State, placed: &Placed, assignment: &Assignment) -> Vec<Basis> {
    let Some(fastener) = assignment.fastener else { return vec![Basis::Torque] };
    let step = state.scene.step(state.scene.step_of(fastener));
    let marked = placed.marked == Some(fastener);
    let mut found = Vec::new();
    if !marked {
        found.push(Basis::PlanOrder);
    }
    if marked {
        found.push(Basis::Mark);
    }
    if placed.seen.turned_deg.is_some() {
        found.push(Basis::Rotation);
    }
    if state.scene.plan.steps.len() > 1 || step.passes.len() > 1 {
        found.push(Basis::Torque);
    }
    if placed.seen.gap_s.is_some_and(|gap| gap < TOO_SHORT_TO_MOVE_S) {
        found.push(Basis::Time);
    }
    found
}
