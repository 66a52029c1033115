//! What the shape of a pull tells, where samples of it were seen: had the fastener been tight already?
//!
//! A description tells that as ln of a ratio of likelihoods, beside the usual pace of the hand and with the rotation
//! where that is told. Where the plan of the work leads is not in it: that is weighed here.

use crate::core::event::Act;
use crate::core::tracker::evidence::ln_sum;
use crate::core::tracker::hypothesis::Assignment;

/// Beyond this a description tells no more.
const BOUNDS: (f64, f64) = (-7.0, 6.0);

/// ln of the likelihood of what a description told, against that of a fastener that turned.
///
/// `holds`: in this account the fastener already held the torque that it was pulled to.
pub(in crate::core::tracker) fn ln_likelihood(
    ln_tight: f64,
    holds: bool,
    assignment: &Assignment,
) -> f64 {
    let tight = ln_tight.clamp(BOUNDS.0, BOUNDS.1);
    match assignment.act {
        Act::Recheck => tight,
        Act::Tighten if assignment.unturned || holds => tight,
        Act::Tighten => 0.0,
        Act::Loosen | Act::Trial => ln_sum(&[0.5f64.ln(), 0.5f64.ln() + tight]),
    }
}

/// True if the trace tells that the fastener turned.
pub(in crate::core::tracker) fn turned(ln_tight: f64) -> bool {
    ln_tight < 0.0
}
