//! What a reading proves of a tolerance, given how uncertain it is; and readings that look like another unit's.

mod guard;
mod mix_up;
mod normal;
mod uncertainty;

pub use guard::{
    Conformity, Decision, Limits, Rule, acceptance_zone, decide, test_uncertainty_ratio,
};
pub use mix_up::{MIX_UPS, MixUp, SessionMixUp, mix_ups, session_mix_up};
pub use normal::phi;
pub use uncertainty::{COVERAGE, Contribution, combined, rectangular};
