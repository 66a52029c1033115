//! What may be wrong with a pull.

use super::constants::{LEAST_S, SNATCH_LN_SPREAD, SNATCH_S};
use super::description::{Description, Flags, twentieths};
use super::inputs;
use super::weights::{
    BOTTOMED, BOTTOMED_TURNED, IMPACT, SLIP, STICK_SLIP, THREAD_DAMAGE, THREAD_DAMAGE_TURNED,
    UNDER_SAMPLED, YIELDING, YIELDING_TURNED,
};

pub(super) fn judge(pull: &Description) -> Flags {
    let texture = inputs::texture(pull);
    let course = inputs::course(pull);
    let (yielding, thread_damage, bottomed_or_crossed) = match inputs::turned_course(pull) {
        Some(turned) => (
            YIELDING_TURNED.model.probability(&turned),
            THREAD_DAMAGE_TURNED.model.probability(&turned),
            BOTTOMED_TURNED.model.probability(&turned),
        ),
        None => (
            YIELDING.model.probability(&course),
            THREAD_DAMAGE.model.probability(&course),
            BOTTOMED.model.probability(&course),
        ),
    };
    // Torque that sinks while the fastener turns is what loosening looks like.
    let tightens = f64::from(u8::from(pull.peak.torque.nm() > 0.0));
    Flags {
        slip: SLIP.model.probability(&texture),
        stick_slip: STICK_SLIP.model.probability(&texture),
        snatch: snatch(pull),
        yielding: yielding * tightens,
        thread_damage: thread_damage * tightens,
        bottomed_or_crossed: bottomed_or_crossed * tightens,
        impact: IMPACT.model.probability(&texture),
        under_sampled: UNDER_SAMPLED.model.probability(&inputs::missed(pull)),
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
