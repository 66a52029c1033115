//! What the shape of a pull tells, where samples of it were seen: had the fastener been tight already?
//!
//! A description tells that as ln of a ratio, for people in general. What turning pulls look like differs
//! from hand to hand and is learned; before anything is learned, the ratio is what the description told.
//! Where rotation is told, too, it is weighed alone: the two are one observation, and the description
//! holds them both.

use crate::core::event::Act;
use crate::core::tracker::evidence::{ln_normal, ln_sum};
use crate::core::tracker::hypothesis::{Assignment, Hypothesis};

/// What descriptions tell of pulls that turned: middle, and spreads between hands and between pulls of
/// one.
const TURNED: f64 = -2.6;
const TURNED_HANDS: f64 = 1.8;
const TURNED_PULLS: f64 = 1.4;
/// Share of pulls that turned and look unlike the others, and how widely those are spread.
const STRAY_SHARE: f64 = 0.06;
const STRAY: (f64, f64) = (-1.0, 3.0);
/// Beyond this a description tells no more.
const BOUNDS: (f64, f64) = (-7.0, 4.0);

/// ln of the likelihood of what a description told.
///
/// `holds`: in this account the fastener already held the torque that it was pulled to.
pub(in crate::core::tracker) fn ln_likelihood(
    account: &Hypothesis,
    ln_tight: f64,
    holds: bool,
    assignment: &Assignment,
) -> f64 {
    let told = bounded(ln_tight);
    let (turned, tight) = (ln_turned(account, told), self::tight(told));
    match assignment.act {
        Act::Recheck => tight,
        Act::Tighten if assignment.unturned || holds => tight,
        Act::Tighten => turned,
        Act::Loosen | Act::Trial => ln_sum(&[0.5f64.ln() + turned, 0.5f64.ln() + tight]),
    }
}

/// What a description told, within what is believed.
pub(in crate::core::tracker) fn bounded(ln_tight: f64) -> f64 {
    ln_tight.clamp(BOUNDS.0, BOUNDS.1)
}

/// True if the trace tells that the fastener turned.
pub(in crate::core::tracker) fn turned(account: &Hypothesis, ln_tight: f64) -> bool {
    let told = bounded(ln_tight);
    ln_turned(account, told) > tight(told)
}

fn ln_turned(account: &Hypothesis, told: f64) -> f64 {
    let (prior, each) = (TURNED_HANDS.powi(-2), TURNED_PULLS.powi(-2));
    let precision = prior + f64::from(account.habit.traces) * each;
    let mean = (TURNED * prior + account.habit.told * each) / precision;
    let usual = ln_normal(told, mean, TURNED_PULLS.hypot(precision.powf(-0.5)));
    ln_sum(&[
        (1.0 - STRAY_SHARE).ln() + usual,
        STRAY_SHARE.ln() + ln_normal(told, STRAY.0, STRAY.1),
    ])
}

fn tight(told: f64) -> f64 {
    // Of people in general, a ratio e^told means just that.
    ln_normal(told, TURNED, TURNED_HANDS.hypot(TURNED_PULLS)) + told
}
