//! What the shape of a pull tells, where samples of it were seen: had the fastener been tight already?
//!
//! What a pull looks like is told as ln of a ratio (`looks`). Hands differ in how well that tells, so that what it is
//! of pulls that turned, and of those that did not, is learned in each account. Where rotation is told, too, it counts
//! less: the two are much the same observation.

use crate::core::event::Act;
use crate::core::tracker::evidence::{ln_normal, ln_sum};
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::looks::Looks;
use crate::core::tracker::member::Told;
use crate::core::tracker::pull::Assignment;

/// What is told of pulls of one kind: the middle of all hands, the spread between hands, and that of the pulls of one
/// hand. From 1 200 generated jobs.
struct Kind {
    middle: f64,
    hands: f64,
    pulls: f64,
}

const TURNED: Kind = Kind { middle: -5.4, hands: 2.1, pulls: 2.0 };
const TIGHT: Kind = Kind { middle: 5.5, hands: 2.2, pulls: 1.9 };
/// Share of pulls that look unlike the others of their hand, and what is told of those: middle and spread.
const STRAY_SHARE: f64 = 0.05;
const STRAY: (f64, f64) = (0.0, 4.0);
/// Beyond this no more is told.
const BOUND: f64 = 9.0;
/// A swing that goes on: what is told of it by the share of its peak that was held before, and the spread of that.
/// Below the first share it looks like any that turns.
const GOES_ON: [(f64, f64); 6] =
    [(0.6, -3.9), (0.7, -1.6), (0.8, 1.0), (0.9, 3.6), (1.05, 3.5), (1.25, 0.9)];
const GOES_ON_SPREAD: f64 = 3.0;

/// ln of the likelihood of what a pull looks like, which is [`told`].
///
/// `held`: what the fastener holds already in this account, as a share of the peak.
pub(in crate::core::tracker) fn ln_likelihood(
    account: &Hypothesis,
    told: f64,
    held: f64,
    assignment: &Assignment,
) -> f64 {
    let (turned, tight) = (|| turned_so(account, told), || tight_so(account, told));
    match assignment.act {
        Act::Recheck => tight(),
        Act::Tighten if assignment.unturned => tight(),
        Act::Tighten => match goes_on(held) {
            Some(middle) => with_strays(ln_normal(told, middle, GOES_ON_SPREAD), told),
            None => turned(),
        },
        Act::Loosen | Act::Trial => ln_sum(&[0.5f64.ln() + turned(), 0.5f64.ln() + tight()]),
    }
}

/// What is told of a pull in this account, as ln of a ratio.
pub(in crate::core::tracker) fn told(account: &Hypothesis, looks: &Looks) -> f64 {
    looks.ln_tight(&account.habit.usual).clamp(-BOUND, BOUND)
}

/// True if the trace tells that the fastener turned.
pub(in crate::core::tracker) fn turned(account: &Hypothesis, told: f64) -> bool {
    turned_so(account, told) > tight_so(account, told)
}

fn turned_so(account: &Hypothesis, told: f64) -> f64 {
    with_strays(TURNED.ln(&account.habit.turned, told), told)
}

fn tight_so(account: &Hypothesis, told: f64) -> f64 {
    with_strays(TIGHT.ln(&account.habit.tight, told), told)
}

/// What is told in the middle of a swing that goes on from so much; none where that is too little to be seen.
fn goes_on(held: f64) -> Option<f64> {
    let after = GOES_ON.iter().position(|(share, _)| *share > held);
    match after {
        Some(0) => None,
        Some(place) => {
            let (from, to) = (GOES_ON[place - 1], GOES_ON[place]);
            Some(from.1 + (to.1 - from.1) * (held - from.0) / (to.0 - from.0))
        }
        None => Some(GOES_ON[GOES_ON.len() - 1].1),
    }
}

fn with_strays(usual: f64, told: f64) -> f64 {
    ln_sum(&[
        (1.0 - STRAY_SHARE).ln() + usual,
        STRAY_SHARE.ln() + ln_normal(told, STRAY.0, STRAY.1),
    ])
}

impl Kind {
    /// A normal prior with known spreads moves towards what was seen of this hand.
    fn ln(&self, seen: &Told, told: f64) -> f64 {
        let (prior, each) = (self.hands.powi(-2), self.pulls.powi(-2));
        let precision = prior + f64::from(seen.count) * each;
        let mean = (self.middle * prior + seen.sum * each) / precision;
        ln_normal(told, mean, self.pulls.hypot(precision.powf(-0.5)))
    }
}
