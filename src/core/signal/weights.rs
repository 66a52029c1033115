//! Fitted weights of the probabilities.

use super::acts::{TIGHT_INPUTS, TRIAL_INPUTS, TURNED_INPUTS};
use super::flags::FLAG_INPUTS;
use super::logistic::Logistic;

pub(super) const TIGHT: Logistic<TIGHT_INPUTS> =
    Logistic { bias: -1.0, weights: [0.0; TIGHT_INPUTS] };
pub(super) const TIGHT_TURNED: Logistic<TURNED_INPUTS> =
    Logistic { bias: -1.0, weights: [0.0; TURNED_INPUTS] };
pub(super) const TRIAL: Logistic<TRIAL_INPUTS> =
    Logistic { bias: -4.0, weights: [0.0; TRIAL_INPUTS] };
const NEVER: Logistic<FLAG_INPUTS> = Logistic { bias: -4.0, weights: [0.0; FLAG_INPUTS] };
pub(super) const SLIP: Logistic<FLAG_INPUTS> = NEVER;
pub(super) const STICK_SLIP: Logistic<FLAG_INPUTS> = NEVER;
pub(super) const YIELDING: Logistic<FLAG_INPUTS> = NEVER;
pub(super) const THREAD_DAMAGE: Logistic<FLAG_INPUTS> = NEVER;
pub(super) const BOTTOMED: Logistic<FLAG_INPUTS> = NEVER;
pub(super) const IMPACT: Logistic<FLAG_INPUTS> = NEVER;
pub(super) const UNDER_SAMPLED: Logistic<FLAG_INPUTS> = NEVER;
