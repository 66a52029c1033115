//! What is concluded of each pull, and when a conclusion has changed.

use crate::core::event::{Act, Basis, Reading, TorqueVerdict, Verdict};
use crate::core::time::Stamp;
use crate::core::tracker::evidence::time::TOO_SHORT_TO_MOVE_S;
use crate::core::tracker::hypothesis::MEMORY;
use crate::core::tracker::policy::{REVISE_BELOW, SURER_BY};
use crate::core::tracker::pull::Assignment;
use crate::core::tracker::state::{Placed, State};
use crate::core::units::Torque;
use std::collections::BTreeMap;

/// What was last announced of each reading, and how sure it was.
pub(super) type Announced = BTreeMap<(String, u64, Stamp), (Assignment, f64)>;

/// The verdict of the reading in place `index`, and every verdict that is no longer held; each is
/// noted as announced. With each comes its reading's place.
pub(super) fn changed(
    state: &State,
    index: Option<usize>,
    announced: &mut Announced,
) -> Vec<(usize, Verdict)> {
    let oldest = state.readings.len().saturating_sub(MEMORY);
    let mut found = Vec::new();
    for place in index.filter(|one| *one < oldest).into_iter().chain(oldest..state.readings.len()) {
        let now = state.assignment(place);
        let placed = &state.readings[place];
        let key = (placed.reading.adapter.clone(), placed.reading.seq, placed.at);
        let before = announced.get(&key);
        let speak = match before {
            None => index == Some(place),
            // At the end nothing is left to wait for.
            Some((before, sure)) if state.ended => {
                !before.same(&now) || (sureness(state, place, &now) - sure).abs() >= SURER_BY
            }
            Some((before, _)) => {
                !before.same(&now) && still_held(state, place, before) < REVISE_BELOW
            }
        };
        if speak {
            let surer = before.is_some_and(|(before, _)| before.same(&now));
            let verdict = Verdict { revised: before.is_some(), surer, ..of(state, place, &now) };
            announced.insert(key, (now, verdict.confidence));
            found.push((place, verdict));
        }
    }
    found
}

/// The verdicts of these readings as they are now, each noted as announced: what is asked of them has changed.
pub(super) fn anew(state: &State, places: &[usize], announced: &mut Announced) -> Vec<Verdict> {
    let verdict = |place: &usize| {
        let now = state.assignment(*place);
        let placed = &state.readings[*place];
        let key = (placed.reading.adapter.clone(), placed.reading.seq, placed.at);
        let verdict = of(state, *place, &now);
        let before = announced.insert(key, (now, verdict.confidence));
        Verdict { revised: before.is_some(), ..verdict }
    };
    places.iter().map(verdict).collect()
}

/// How likely what was announced still is.
fn still_held(state: &State, place: usize, before: &Assignment) -> f64 {
    if state.readings[place].void {
        return 0.0;
    }
    state.probability(place, |one| (one.fastener, one.act) == (before.fastener, before.act))
}

fn sureness(state: &State, place: usize, assignment: &Assignment) -> f64 {
    match state.readings[place].void {
        true => 1.0,
        false => state.sureness(place, assignment.fastener),
    }
}

fn of(state: &State, place: usize, assignment: &Assignment) -> Verdict {
    let placed = &state.readings[place];
    let step = assignment.fastener.map(|fastener| state.scene.step_of(fastener));
    Verdict {
        at: placed.at,
        adapter: placed.reading.adapter.clone(),
        seq: placed.reading.seq,
        step: step.map(|step| state.scene.step(step).group.clone()),
        pass: step.and_then(|_| u32::try_from(assignment.pass + 1).ok()),
        fastener: assignment.fastener.map(|fastener| state.scene.name(fastener)),
        confidence: sureness(state, place, assignment),
        basis: basis(state, placed, assignment),
        peak: placed.reading.peak,
        interval: interval(state, &placed.reading),
        torque: torque(state, placed, assignment),
        act: assignment.act,
        revised: false,
        surer: false,
    }
}

/// Coverage factor of a 95 % interval of a normal distribution (JCGM 100:2008, table G.1).
const COVERAGE: f64 = 1.96;

/// Within what the true peak lies with 95 % probability; none where nothing is stated or seen.
///
/// Where the peak was found in the trace, its own interval. Where the adapter told it, samples that are
/// noisy or far apart say nothing against it: what is left is its accuracy and its zero.
fn interval(state: &State, reading: &Reading) -> Option<(Torque, Torque)> {
    let seen = reading.description.as_deref().map(|description| description.peak);
    let told = seen.filter(|seen| seen.torque == reading.peak);
    let adapter = state.scene.adapter(&reading.adapter);
    let certificate = adapter.and_then(|adapter| adapter.certificate.as_deref());
    if let Some(seen) = told.filter(|_| certificate.is_none()) {
        return Some((seen.low, seen.high));
    }
    let peak = reading.peak.nm();
    let stated = match (adapter?.expanded_pct(reading.peak), told) {
        (None, Some(_)) if certificate?.covers(reading.peak) => 0.0,
        (stated, _) => stated?,
    };
    let certificate_nm = peak.abs() * stated / 100.0;
    // What was seen in the trace has its own figure for what the adapter states; a certificate's takes its place.
    let zero_nm = seen.map_or(0.0, |seen| COVERAGE * seen.zero_nm);
    let trace_nm = told.map_or(0.0, |seen| COVERAGE * seen.noise_nm.hypot(seen.rate_nm));
    let half = certificate_nm.hypot(zero_nm).hypot(trace_nm);
    let (low, high) = ((peak.abs() - half).max(0.0), peak.abs() + half);
    Some((Torque::from_nm(low.copysign(peak)), Torque::from_nm(high.copysign(peak))))
}

fn torque(state: &State, placed: &Placed, assignment: &Assignment) -> TorqueVerdict {
    let Some(fastener) = assignment.fastener.filter(|_| assignment.act != Act::Loosen) else {
        return TorqueVerdict::Na;
    };
    let step = state.scene.step_of(fastener);
    let Some(window) = state.scene.window_for(fastener, assignment.pass) else {
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
    if placed.seen.moved.is_some() {
        found.push(Basis::Motion);
    }
    if placed.seen.turned_deg.is_some() {
        found.push(Basis::Rotation);
    }
    if placed.seen.looks.is_some() {
        found.push(Basis::Trace);
    }
    if state.scene.plan.steps.len() > 1 || step.passes.len() > 1 {
        found.push(Basis::Torque);
    }
    if placed.seen.gap_s.is_some_and(|gap| gap < TOO_SHORT_TO_MOVE_S) {
        found.push(Basis::Time);
    }
    found
}
