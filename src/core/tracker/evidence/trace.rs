//! What the shape of a pull tells, where samples of it were seen: had the fastener been tight already?
//!
//! A description tells that as ln of a ratio, for people in general. What turning pulls look like differs
//! from hand to hand and from joint to joint, and is learned: a pull that rises faster than those that
//! turned was rather on a tight one. Weights are judged by a logistic regression on generated jobs, seeds
//! 3 000 001 and up, which nothing is reported on (`cargo bench --bench identity -- fit`), and kept well below
//! what it finds: it sees fasteners that were slack, and those that a gun left half tight look tighter.
//! Where rotation is told, too, it is weighed alone: the two are one observation, and the description
//! holds them both.

use crate::core::event::Act;
use crate::core::signal::{Description, inputs::upper_pace};
use crate::core::tracker::evidence::ln_sum;
use crate::core::tracker::hypothesis::{Assignment, Hypothesis};

/// What is looked at of a pull's shape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::core::tracker) struct Shape {
    /// ln of how much likelier the trace is of a fastener that was tight already than of one that
    /// turned, for people in general.
    pub ln_tight: f64,
    /// ln of the seconds that torque took to rise by a N·m, from 60 % to 85 % of the peak.
    pub ln_pace: f64,
}

impl Shape {
    /// None if the description tells nothing that is a number.
    pub fn of(shown: &Description) -> Option<Self> {
        let ln_peak = shown.peak.torque.nm().abs().max(0.1).ln();
        let ln_tight = shown.act.ln_tight_over_fresh.clamp(BOUNDS.0, BOUNDS.1);
        let shape = Self { ln_tight, ln_pace: upper_pace(shown) - ln_peak };
        (shape.ln_tight.is_finite() && shape.ln_pace.is_finite()).then_some(shape)
    }
}

/// Beyond this a description tells no more.
const BOUNDS: (f64, f64) = (-7.0, 4.0);
/// How many pulls that turned an opinion of people in general is worth.
const OPINION_WORTH: f64 = 1.5;
/// Weights of the ratio's ln: even, and each unit of what the description told;
const TOLD: (f64, f64) = (-1.0, 2.5);
/// and of a hand that is known: even, and each unit of ln by which the pull was quicker than those that
/// turned.
const FAMILIAR: (f64, f64) = (0.0, 5.0);
/// The ratio is not believed beyond this.
const MOST_LN_RATIO: (f64, f64) = (-6.0, MOST);
/// ln of the highest likelihood that a shape can have.
pub(in crate::core::tracker) const MOST: f64 = 4.5;
/// A fastener that held less of the torque than the first looks slack, from the second on tight.
const HALF_HELD: (f64, f64) = (0.62, 0.9);

/// ln of the likelihood of a shape, relative to that of a slack fastener.
///
/// `held`: the share of the torque that the fastener already held, in this account; `still`: how likely it turned
/// nothing all the same.
pub(in crate::core::tracker) fn ln_likelihood(
    account: &Hypothesis,
    shape: &Shape,
    held: f64,
    still: f64,
    assignment: &Assignment,
) -> f64 {
    let tight = ln_tight(account, shape);
    let mixed = |share: f64| {
        if share <= 0.0 {
            0.0
        } else if share >= 1.0 {
            tight
        } else {
            ln_sum(&[(1.0 - share).ln(), share.ln() + tight])
        }
    };
    match assignment.act {
        Act::Recheck => tight,
        Act::Tighten if assignment.unturned => tight,
        Act::Tighten => mixed(still.max((held - HALF_HELD.0) / (HALF_HELD.1 - HALF_HELD.0))),
        Act::Loosen | Act::Trial => mixed(0.5),
    }
}

/// True if the trace tells that the fastener turned.
pub(in crate::core::tracker) fn turned(account: &Hypothesis, shape: &Shape) -> bool {
    ln_tight(account, shape) < 0.0
}

/// ln of how much likelier the shape is of a fastener that was tight already than of one that turned, by
/// what pulls of this hand looked like that turned.
fn ln_tight(account: &Hypothesis, shape: &Shape) -> f64 {
    let habit = &account.habit;
    let count = f64::from(habit.traces);
    let familiar = count / (count + OPINION_WORTH);
    let quicker = habit.paces / count.max(1.0) - shape.ln_pace;
    let told = TOLD.0 + TOLD.1 * shape.ln_tight;
    let ratio = told + familiar * (FAMILIAR.0 + FAMILIAR.1 * quicker);
    ratio.clamp(MOST_LN_RATIO.0, MOST_LN_RATIO.1)
}
