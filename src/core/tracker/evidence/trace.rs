//! What the shape of a pull tells, where samples of it were seen: had the fastener been tight already?
//!
//! Whatever rotation the trace has is part of its description, so that a reading's own rotation is not
//! weighed beside it: the two are one observation.

use crate::core::event::Act;
use crate::core::tracker::evidence::ln_sum;
use crate::core::tracker::hypothesis::Assignment;

/// Share of a description's evidence that is believed: pulls of one hand err alike.
const BELIEVED: f64 = 0.9;
/// More than this one pull does not tell, as ln of a ratio.
const MOST: f64 = 6.0;

/// ln of the likelihood of the trace, relative to that of a fastener that turned.
///
/// `holds`: in this account the fastener already held the torque that it was pulled to.
pub(in crate::core::tracker) fn ln_likelihood(
    ln_tight: f64,
    holds: bool,
    assignment: &Assignment,
) -> f64 {
    let ln_tight = weighed(ln_tight);
    match assignment.act {
        Act::Recheck => ln_tight,
        Act::Tighten if assignment.unturned || holds => ln_tight,
        Act::Tighten => 0.0,
        Act::Loosen | Act::Trial => ln_sum(&[0.5f64.ln(), 0.5f64.ln() + ln_tight]),
    }
}

fn weighed(ln_tight: f64) -> f64 {
    (ln_tight * BELIEVED).clamp(-MOST, MOST)
}

/// True if the trace tells that the fastener turned.
pub(in crate::core::tracker) fn turned(ln_tight: f64) -> bool {
    weighed(ln_tight) < 0.0
}
