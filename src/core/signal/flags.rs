//! What may be wrong with a pull.

use super::constants::{LEAST_S, SNATCH_LN_SPREAD, SNATCH_S};
use super::description::{Description, Flags, twentieths};
use super::inputs::{self, TRACE};
use super::judges::Judges;
use super::weights::{IMPACT, SLIP};

/// `trace` is [`inputs::trace`] of the pull.
pub(super) fn judge(pull: &Description, trace: &[f64; TRACE], judges: &Judges) -> Flags {
    let texture = inputs::texture(pull);
    let (yielding, thread_damage, bottomed_or_crossed) = match inputs::trace_turned(pull, trace) {
        Some(turned) => (
            judges.yielding_turned.probability(&turned),
            judges.thread_damage_turned.probability(&turned),
            judges.bottomed_turned.probability(&turned),
        ),
        None => (
            judges.yielding.probability(trace),
            judges.thread_damage.probability(trace),
            judges.bottomed.probability(trace),
        ),
    };
    // Torque that sinks while the fastener turns is what loosening looks like.
    let tightens = f64::from(u8::from(pull.peak.torque.nm() > 0.0));
    Flags {
        slip: SLIP.model.probability(&texture),
        stick_slip: judges.stick_slip.probability(trace),
        snatch: snatch(pull),
        yielding: yielding * tightens,
        thread_damage: thread_damage * tightens,
        bottomed_or_crossed: bottomed_or_crossed * tightens,
        impact: IMPACT.model.probability(&texture),
        under_sampled: judges.under_sampled.probability(trace),
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
