//! What may be wrong with a pull, from its shape.

use super::constants::{LEAST_S, SNATCH_LN_SPREAD, SNATCH_S};
use super::description::{Description, Flags};
use super::weights::{BOTTOMED, IMPACT, SLIP, STICK_SLIP, THREAD_DAMAGE, UNDER_SAMPLED, YIELDING};

/// How many inputs the flags share.
pub const FLAG_INPUTS: usize = 10;

pub(super) fn judge(pull: &Description) -> Flags {
    let inputs = flag_inputs(pull);
    Flags {
        slip: SLIP.probability(&inputs),
        stick_slip: STICK_SLIP.probability(&inputs),
        snatch: snatch(pull),
        yielding: YIELDING.probability(&inputs),
        thread_damage: THREAD_DAMAGE.probability(&inputs),
        bottomed_or_crossed: BOTTOMED.probability(&inputs),
        impact: IMPACT.probability(&inputs),
        under_sampled: UNDER_SAMPLED.probability(&inputs),
    }
}

fn snatch(pull: &Description) -> f64 {
    let took = (pull.rise.reached_s[2] - pull.rise.reached_s[8]).max(LEAST_S);
    let spread = (0.5 / pull.seen.rate_hz / took).hypot(SNATCH_LN_SPREAD);
    let z = (SNATCH_S / took).ln() / spread;
    1.0 / (1.0 + (-1.7 * z).exp())
}

/// What tells the other flags.
#[must_use]
pub fn flag_inputs(pull: &Description) -> [f64; FLAG_INPUTS] {
    let texture = &pull.texture;
    [
        f64::from(texture.falls).min(12.0).ln_1p(),
        texture.largest_fall,
        texture.falls_hz.min(80.0).ln_1p(),
        texture.level_s,
        texture.sinking_s.min(3.0),
        texture.sunk,
        0.0,
        0.0,
        pull.peak.rate_nm / pull.peak.torque.nm().abs().max(1.0),
        0.0,
    ]
}
