//! What a pull was.

use super::constants::LOOSENING_DOUBT;
use super::description::{Acts, Description};
use super::inputs;
use super::weights::{SHAPE, TIGHT, TIGHT_TURNED, TRIAL};

/// Before anything is judged.
pub(super) const UNKNOWN: Acts = Acts {
    fresh: 0.25,
    already_tight: 0.25,
    loosening: 0.25,
    trial: 0.25,
    ln_tight_over_fresh: 0.0,
};

/// ln of the odds, by the shape of the pull alone, that its fastener was already tight.
pub(super) fn by_shape(pull: &Description) -> f64 {
    SHAPE.model.ln_odds(&inputs::shape(pull))
}

pub(super) fn probability(ln_odds: f64) -> f64 {
    1.0 / (1.0 + (-ln_odds).exp())
}

/// `ln_shape` is [`by_shape`].
pub(super) fn judge(pull: &Description, ln_shape: f64) -> Acts {
    let (ln_tight, evidence) = tight(pull, ln_shape);
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
        ln_tight_over_fresh: evidence,
    }
}

/// ln of the odds with everything that the stream shows, and the evidence of this pull alone.
fn tight(pull: &Description, ln_shape: f64) -> (f64, f64) {
    let ln_tight = TIGHT.model.ln_odds(&inputs::tight(pull, ln_shape));
    let with_turn = |ln_odds: f64| {
        let turned = inputs::turned(pull, ln_odds)?;
        Some(TIGHT_TURNED.model.ln_odds(&turned))
    };
    match (with_turn(ln_tight), with_turn(ln_shape)) {
        (Some(all), Some(alone)) => (all, alone - TIGHT_TURNED.prior_ln_odds),
        _ => (ln_tight, ln_shape - SHAPE.prior_ln_odds),
    }
}
