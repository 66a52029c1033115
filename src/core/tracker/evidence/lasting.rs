//! How long a pull lasted, where no trace shows more: what turns takes longer than what is tight already.
//!
//! Lengths are ln of the seconds that torque stood above a tenth of the peak. Hands differ by more than what is to be
//! told, so that how long this hand takes is learned in each account, and nothing is told before.

use crate::core::event::Act;
use crate::core::tracker::evidence::ln_normal;
use crate::core::tracker::hypothesis::{Assignment, Hypothesis, Seen};

/// Spread of the middles of hands, and of the pulls of one hand that turn the fastener. From 400 generated jobs, as all
/// figures here.
const HANDS: f64 = 0.6;
const TURNED: f64 = 0.27;
/// How much shorter a pull is on what is tight already, and the spread of that.
pub(in crate::core::tracker) const SHORTER: f64 = 0.27;
const TIGHT: f64 = 0.36;
/// The middle of all hands.
const USUAL: f64 = 0.0;
/// A single pull tells no more than this.
const MOST: f64 = 1.2;

/// ln of how much likelier its length is of a pull on what is tight already, if the pull was that; 0 otherwise.
pub(in crate::core::tracker) fn ln_likelihood(
    account: &Hypothesis,
    seen: &Seen,
    assignment: &Assignment,
) -> f64 {
    let Some(lasted) = seen.lasted.filter(|_| assignment.act == Act::Recheck) else { return 0.0 };
    let (prior, each) = (HANDS.powi(-2), TURNED.powi(-2));
    let known = &account.habit.lasted;
    let precision = prior + f64::from(known.count) * each;
    let middle = (USUAL * prior + known.sum * each) / precision;
    let unsure = precision.powf(-0.5);
    let tight = ln_normal(lasted, middle - SHORTER, TIGHT.hypot(unsure));
    let turned = ln_normal(lasted, middle, TURNED.hypot(unsure));
    (tight - turned).clamp(-MOST, MOST)
}
