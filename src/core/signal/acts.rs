//! What a pull was, from its shape.

use super::constants::{LEAST_S, LOOSENING_DOUBT, PRIOR_LN_TIGHT_OVER_FRESH};
use super::description::{Acts, Description, GiveKind};
use super::weights::{TIGHT, TIGHT_TURNED, TRIAL};

/// Before anything is judged.
pub(super) const UNKNOWN: Acts = Acts {
    fresh: 0.25,
    already_tight: 0.25,
    loosening: 0.25,
    trial: 0.25,
    ln_tight_over_fresh: 0.0,
};

/// How many inputs tell tight from fresh without, and with rotation.
pub const TIGHT_INPUTS: usize = 9;
pub const TURNED_INPUTS: usize = 4;
/// How many tell a try.
pub const TRIAL_INPUTS: usize = 3;

pub(super) fn judge(pull: &Description) -> Acts {
    let shape = tight_inputs(pull);
    let ln_tight = match turned_inputs(pull) {
        Some(turned) => TIGHT_TURNED.ln_odds(&turned),
        None => TIGHT.ln_odds(&shape),
    };
    let ln_trial = TRIAL.ln_odds(&trial_inputs(pull));
    let (fresh, tight, trial) = (1.0, ln_tight.exp(), ln_trial.exp());
    let sum = fresh + tight + trial;
    let loosening =
        if pull.peak.torque.nm() < 0.0 { 1.0 - LOOSENING_DOUBT } else { LOOSENING_DOUBT };
    let rest = (1.0 - loosening) / sum;
    Acts {
        fresh: fresh * rest,
        already_tight: tight * rest,
        loosening,
        trial: trial * rest,
        ln_tight_over_fresh: ln_tight - PRIOR_LN_TIGHT_OVER_FRESH,
    }
}

/// What tells an already tight fastener from a fresh one by torque over time alone.
#[must_use]
pub fn tight_inputs(pull: &Description) -> [f64; TIGHT_INPUTS] {
    let at = |level: usize| pull.rise.reached_s[level];
    // Seconds a share of the peak took, as ln: a fastener that turns makes its part of the rise slow.
    let pace = |from: usize, to: usize, share: f64| ((at(from) - at(to)).max(LEAST_S) / share).ln();
    let (foot, low, middle, high, last) =
        (pace(0, 2, 0.15), pace(2, 4, 0.2), pace(4, 6, 0.2), pace(6, 8, 0.2), pace(8, 10, 0.15));
    let fastest = foot.min(low).min(middle).min(high);
    let slowest = low.max(middle).max(high);
    let broke = pull.give.filter(|give| give.kind == GiveKind::BreakAway);
    let broke_at = broke.map_or(0.0, |give| give.torque.nm() / pull.peak.torque.nm());
    [
        pace(2, 8, 0.7),
        foot - fastest,
        low - fastest,
        slowest - fastest,
        high - low,
        last - high,
        f64::from(u8::from(broke_at > 0.8)),
        f64::from(u8::from(broke_at > 0.0 && broke_at <= 0.8)),
        pull.texture.level_s.max(0.02).ln(),
    ]
}

/// The same where rotation is told.
#[must_use]
pub fn turned_inputs(pull: &Description) -> Option<[f64; TURNED_INPUTS]> {
    let turned = pull.turned?;
    let shape = TIGHT.ln_odds(&tight_inputs(pull));
    Some([
        (turned.deg.max(0.0) + 0.1).ln(),
        (turned.deg / turned.sd_deg).clamp(-3.0, 6.0),
        turned.wind_up_deg_per_nm * pull.peak.torque.nm().abs(),
        shape,
    ])
}

/// What tells a try or a tug at nothing.
#[must_use]
pub fn trial_inputs(pull: &Description) -> [f64; TRIAL_INPUTS] {
    let at = |level: usize| pull.rise.reached_s[level];
    [
        (pull.peak.torque.nm().abs() / pull.seen.range_nm).max(1e-3).ln(),
        (at(2) - at(8)).max(LEAST_S).ln(),
        pull.duration_ms.max(1.0).ln(),
    ]
}
