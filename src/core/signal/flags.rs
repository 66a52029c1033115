//! What may be wrong with a pull.

use super::boosted::{Boosted, Inputs};
use super::constants::{LEAST_S, SNATCH_LN_SPREAD, SNATCH_S};
use super::description::{Description, Flags, twentieths};
use super::inputs::{self, TRACE};
use super::judges::Judges;
use super::weights::{IMPACT, SLIP};
use fearless_simd::Simd;

/// `trace` is [`inputs::trace`] of the pull, and `shown` begins with it.
pub(super) fn judge(
    simd: impl Simd,
    pull: &Description,
    trace: &[f64; TRACE],
    shown: &mut Inputs,
    judges: &Judges,
) -> Flags {
    let turned = inputs::trace_turned(pull, trace);
    if let Some(turned) = &turned {
        shown.put(TRACE, &turned[TRACE..]);
    }
    let seems = |model: &Boosted| model.probability(simd, shown);
    let texture = inputs::texture(pull);
    let (yielding, thread_damage, bottomed_or_crossed) = if turned.is_some() {
        (
            seems(&judges.yielding_turned),
            seems(&judges.thread_damage_turned),
            seems(&judges.bottomed_turned),
        )
    } else {
        (seems(&judges.yielding), seems(&judges.thread_damage), seems(&judges.bottomed))
    };
    // Torque that sinks while the fastener turns is what loosening looks like.
    let tightens = f64::from(u8::from(pull.peak.torque.nm() > 0.0));
    Flags {
        slip: SLIP.model.probability(&texture),
        stick_slip: seems(&judges.stick_slip),
        snatch: snatch(pull),
        yielding: yielding * tightens,
        thread_damage: thread_damage * tightens,
        bottomed_or_crossed: bottomed_or_crossed * tightens,
        impact: IMPACT.model.probability(&texture),
        under_sampled: seems(&judges.under_sampled),
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
