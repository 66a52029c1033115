//! How the belief about one pull came about: what it could have been, and how much each source of evidence
//! made of that.
//!
//! The sources are taken in one order, each on top of those before it. What a source tells is what it adds to them:
//! in another order the steps between would be others, and the end the same.

use super::evidence::ln_sum;
use super::pull::{Assignment, Seen};
use super::state::State;
use super::weigh::{Terms, Weighed};
use crate::core::event::{Act, Basis, Reading};
use crate::core::time::Stamp;
use crate::core::units::Torque;

/// Guesses that stay below this probability from beginning to end are not told one by one.
const WORTH_TELLING: f64 = 0.01;

/// The order in which the sources are taken.
const SOURCES: [Basis; 7] = [
    Basis::PlanOrder,
    Basis::Torque,
    Basis::Time,
    Basis::Mark,
    Basis::Motion,
    Basis::Rotation,
    Basis::Trace,
];

/// How the belief about one pull came about.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// The adapter's short id.
    pub adapter: String,
    /// The reading's number.
    pub seq: u64,
    /// When the pull peaked.
    pub at: Stamp,
    /// The peak, signed.
    pub peak: Torque,
    /// Magnitude of the drive's rotation in degrees, if the adapter tells.
    pub turned_deg: Option<f64>,
    /// The sources that bear on it, in the order in which they are taken.
    pub sources: Vec<Basis>,
    /// What it could have been, the likeliest in the end first.
    pub guesses: Vec<Guess>,
    /// Probability of all that is not followed any more for want of weight, in all pulls so far, at most: 0..=1.
    pub let_go: f64,
}

/// Something that a pull could have been.
#[derive(Debug, Clone, PartialEq)]
pub struct Guess {
    /// The fastener's name; none for a pull on nothing in the plan.
    pub fastener: Option<String>,
    /// What was done to it.
    pub act: Act,
    /// Probability after each source, in the order of [`Explanation::sources`]: 0..=1.
    pub after: Vec<f64>,
    /// Probability by everything that is known by now, what came later included: 0..=1.
    pub now: f64,
}

/// Of the reading in place `index` of `now`, where `weighed` is everything that it could have been, in every account
/// that was possible before it.
pub(super) fn explain(
    now: &State,
    index: usize,
    reading: &Reading,
    seen: &Seen,
    weighed: &[Weighed],
) -> Explanation {
    let sources: Vec<Basis> = SOURCES
        .into_iter()
        .filter(|source| weighed.iter().any(|one| of(&one.by, *source).is_some()))
        .collect();
    let after: Vec<Vec<f64>> = weighed.iter().map(|one| after_each(one, &sources)).collect();
    let totals: Vec<f64> = (0..sources.len())
        .map(|stage| ln_sum(&after.iter().map(|one| one[stage]).collect::<Vec<f64>>()))
        .collect();
    let mut guesses: Vec<Guess> = Vec::new();
    for (one, after) in weighed.iter().zip(&after) {
        let name = |fastener: usize| now.scene.name(fastener);
        let (fastener, act) = (one.assignment.fastener.map(name), one.assignment.act);
        let place = guesses.iter().position(|guess| guess.fastener == fastener && guess.act == act);
        let place = place.unwrap_or_else(|| {
            let holds = |other: &Assignment| {
                (other.fastener, other.act) == (one.assignment.fastener, one.assignment.act)
            };
            let after = vec![0.0; sources.len()];
            guesses.push(Guess { fastener, act, after, now: now.probability(index, holds) });
            guesses.len() - 1
        });
        for (sum, (ln, total)) in guesses[place].after.iter_mut().zip(after.iter().zip(&totals)) {
            *sum += (ln - total).exp();
        }
    }
    guesses.retain(|guess| {
        guess.now >= WORTH_TELLING || guess.after.iter().any(|after| *after >= WORTH_TELLING)
    });
    guesses.sort_by(|one, other| other.now.total_cmp(&one.now));
    Explanation {
        adapter: reading.adapter.clone(),
        seq: reading.seq,
        at: now.readings[index].at,
        peak: reading.peak,
        turned_deg: seen.turned_deg,
        sources,
        guesses,
        let_go: now.beliefs.let_go(),
    }
}

/// ln of the weight after each source, each on top of those before it.
fn after_each(one: &Weighed, sources: &[Basis]) -> Vec<f64> {
    let mut ln = one.ln;
    let steps = sources.iter().map(|source| {
        ln += of(&one.by, *source).unwrap_or(0.0);
        ln
    });
    steps.collect()
}

/// What one source makes of it.
fn of(terms: &Terms, source: Basis) -> Option<f64> {
    match source {
        Basis::PlanOrder => Some(terms.order),
        Basis::Torque => Some(terms.torque),
        Basis::Time => Some(terms.time),
        Basis::Mark => terms.mark,
        Basis::Motion => terms.motion,
        Basis::Rotation => terms.rotation,
        Basis::Trace => terms.trace,
    }
}
