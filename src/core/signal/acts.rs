//! What a pull was.

use super::constants::LOOSENING_DOUBT;
use super::description::{Acts, Description};
use super::inputs;
use super::judges::{Judged, Judges};
use super::weights::{SHAPE, STANDING_TURNED, TIGHT_TURNED, TRIAL};
use fearless_simd::Simd;

/// Before anything is judged.
pub(super) const UNKNOWN: Acts = Acts {
    fresh: 0.25,
    already_tight: 0.25,
    loosening: 0.25,
    trial: 0.25,
    ln_tight_over_fresh: 0.0,
};

/// ln of the odds, by the shape of the pull alone, that its fastener was already tight.
#[inline(always)]
pub(super) fn by_shape(pull: &Description) -> f64 {
    SHAPE.model.ln_odds(&inputs::shape(pull))
}

pub(super) fn probability(ln_odds: f64) -> f64 {
    1.0 / (1.0 + (-ln_odds).exp())
}

/// `ln_shape` is [`by_shape`], `judged` what `judges` say of the pull.
#[inline(always)]
pub(super) fn judge(
    simd: impl Simd,
    pull: &Description,
    ln_shape: f64,
    judged: &Judged,
    judges: &Judges,
) -> Acts {
    let ln_tight = tight(pull, judged.ln_standing);
    let trial = TRIAL.model.probability(&inputs::trial(pull, ln_tight));
    let tight = (1.0 - trial) * probability(ln_tight);
    let clockwise = pull.peak.torque.nm() >= 0.0;
    let loosening = if clockwise { LOOSENING_DOUBT } else { 1.0 - LOOSENING_DOUBT };
    let rest = 1.0 - loosening;
    Acts {
        fresh: (1.0 - trial - tight) * rest,
        already_tight: tight * rest,
        loosening,
        trial: trial * rest,
        ln_tight_over_fresh: alone(simd, pull, ln_shape, judges),
    }
}

/// ln of the odds with everything that the stream shows; `ln_odds` is without rotation.
fn tight(pull: &Description, ln_odds: f64) -> f64 {
    match inputs::turned(pull, ln_odds) {
        Some(turned) => STANDING_TURNED.model.ln_odds(&turned),
        None => ln_odds,
    }
}

/// The evidence of this pull.
fn alone(simd: impl Simd, pull: &Description, ln_shape: f64, judges: &Judges) -> f64 {
    match pull.turned.and_then(|_| inputs::turned(pull, judges.ln_stood(simd, pull))) {
        Some(turned) => TIGHT_TURNED.model.ln_odds(&turned) - TIGHT_TURNED.prior_ln_odds,
        None => ln_shape - SHAPE.prior_ln_odds,
    }
}
