//! What may be wrong with a pull.

use super::constants::{LEAST_S, SNATCH_LN_SPREAD, SNATCH_S};
use super::description::{Description, Flags, twentieths};
use super::inputs;
use super::judges::Judged;
use super::weights::{IMPACT, SLIP};

#[inline(always)]
pub(super) fn judge(pull: &Description, judged: &Judged) -> Flags {
    let texture = inputs::texture(pull);
    // Torque that sinks while the fastener turns is what loosening looks like.
    let tightens = f64::from(u8::from(pull.peak.torque.nm() > 0.0));
    Flags {
        slip: SLIP.model.probability(&texture),
        stick_slip: judged.stick_slip,
        snatch: snatch(pull),
        yielding: judged.yielding * tightens,
        thread_damage: judged.thread_damage * tightens,
        bottomed_or_crossed: judged.bottomed * tightens,
        impact: IMPACT.model.probability(&texture),
        under_sampled: judged.under_sampled,
    }
}

/// The limit is a definition; only how well the time is resolved is uncertain.
fn snatch(pull: &Description) -> f64 {
    let at = |level: usize| pull.rise.reached_s[twentieths(level)];
    let took = (at(4) - at(18)).max(LEAST_S);
    let spread = (0.3 / pull.seen.rate_hz / took).hypot(SNATCH_LN_SPREAD);
    let z = (SNATCH_S / took).ln() / spread;
    // A logistic curve within 0.01 of the normal distribution.
    1.0 / (1.0 + (-1.702 * z).exp())
}
