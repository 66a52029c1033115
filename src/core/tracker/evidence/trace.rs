//! What the shape of a pull tells, where samples of it were seen: had the fastener been tight already?
//!
//! A description tells that as ln of a ratio of likelihoods, for people in general. Hands differ more from each other
//! than the pulls of one: what is told of pulls that turned, and of those that did not, is learned in each account,
//! and what counts is how a pull stands to both. Where rotation is told, too, that is weighed: the two are one
//! observation.

use crate::core::event::Act;
use crate::core::tracker::evidence::{ln_normal, ln_sum};
use crate::core::tracker::hypothesis::{Assignment, Hypothesis};
use crate::core::tracker::member::Told;

/// What descriptions tell of pulls of one kind: of hands of some sorts, each with its share, the middle and the spread
/// between them; and the spread between the pulls of one hand. From 1 200 generated jobs.
struct Kind {
    sorts: &'static [(f64, f64, f64)],
    pulls: f64,
}

const TURNED: Kind = Kind { sorts: &[(1.0, -3.5, 1.7)], pulls: 1.1 };
/// A quick hand overshoots what the fastener then holds, so that it turns when it is pulled again.
const TIGHT: Kind = Kind { sorts: &[(0.78, 2.0, 1.1), (0.22, -1.5, 2.3)], pulls: 1.2 };
/// Share of pulls that look unlike the others of their hand, and what is told of those: middle and spread.
const STRAY_SHARE: f64 = 0.08;
const STRAY: (f64, f64) = (-1.0, 3.0);
/// Beyond this a description tells no more.
const BOUNDS: (f64, f64) = (-7.0, 6.0);
/// Share of the peak held before from which on a swing that goes on may look like one on a tight fastener, how many
/// do, a share of the peak more, and how many at most.
const GOES_ON_FROM: f64 = 0.65;
const GOES_ON_TIGHT: f64 = 1.6;
const GOES_ON_MOST: f64 = 0.5;

/// ln of the likelihood of what a description told.
///
/// `held`: what the fastener holds already in this account, as a share of the peak.
pub(in crate::core::tracker) fn ln_likelihood(
    account: &Hypothesis,
    ln_tight: f64,
    held: f64,
    assignment: &Assignment,
) -> f64 {
    let told = bounded(ln_tight);
    let (turned, tight) = looks(account, told);
    let partly = |share: f64| ln_sum(&[(1.0 - share).ln() + turned, share.ln() + tight]);
    match assignment.act {
        Act::Recheck => tight,
        Act::Tighten if assignment.unturned => tight,
        Act::Tighten => {
            partly(((held - GOES_ON_FROM) * GOES_ON_TIGHT).clamp(0.0, GOES_ON_MOST))
        }
        Act::Loosen | Act::Trial => partly(0.5),
    }
}

/// What a description told, within what is believed.
pub(in crate::core::tracker) fn bounded(ln_tight: f64) -> f64 {
    ln_tight.clamp(BOUNDS.0, BOUNDS.1)
}

/// True if the trace tells that the fastener turned.
pub(in crate::core::tracker) fn turned(account: &Hypothesis, ln_tight: f64) -> bool {
    let (turned, tight) = looks(account, bounded(ln_tight));
    turned > tight
}

/// ln of the likelihood of what was told, of a fastener that turned and of one that was tight.
fn looks(account: &Hypothesis, told: f64) -> (f64, f64) {
    let habit = &account.habit;
    (TURNED.ln(&habit.turned, told), TIGHT.ln(&habit.tight, told))
}

impl Kind {
    /// Normal priors with known spreads move towards what was seen of this hand.
    fn ln(&self, seen: &Told, told: f64) -> f64 {
        let count = f64::from(seen.count);
        let each = self.pulls.powi(-2);
        let (mut all, mut here) = (Vec::new(), Vec::new());
        for (share, middle, hands) in self.sorts {
            let prior = hands.powi(-2);
            let precision = prior + count * each;
            let mean = (middle * prior + seen.sum * each) / precision;
            let sort = match seen.count {
                0 => share.ln(),
                _ => {
                    let spread = hands.hypot(self.pulls / count.sqrt());
                    share.ln() + ln_normal(seen.sum / count, *middle, spread)
                }
            };
            all.push(sort);
            here.push(sort + ln_normal(told, mean, self.pulls.hypot(precision.powf(-0.5))));
        }
        ln_sum(&[
            (1.0 - STRAY_SHARE).ln() + ln_sum(&here) - ln_sum(&all),
            STRAY_SHARE.ln() + ln_normal(told, STRAY.0, STRAY.1),
        ])
    }
}
