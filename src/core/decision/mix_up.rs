//! Numbers that look as if somebody had taken one unit for another.
//!
//! Ratios of numbers, from the exact factors of the units. A mix-up is named as a question and never put right:
//! some ratios cannot be told from each other, and two look like ordinary over- and under-tightening.

use crate::core::units::TorqueUnit;
use TorqueUnit::{
    KilogramForceCentimetre as KgfCm, KilogramForceMetre as KgfM, NewtonMetre as Nm,
    PoundForceFoot as LbfFt, PoundForceInch as LbfIn,
};

/// How far a ratio may be off, as a factor.
const WITHIN: f64 = 1.05;
/// How much the fasteners of one session may differ among each other, as a factor.
const SESSION_SPREAD: f64 = 1.05;
/// How far their mean may be off, as a factor.
const SESSION_MEAN: f64 = 1.03;
/// From how many fasteners on a session says anything.
const SESSION_LEAST: usize = 4;

/// Two units whose numbers are confused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MixUp {
    /// The unit that the number was meant in.
    pub meant: TorqueUnit,
    /// The unit that it was taken in.
    pub taken_for: TorqueUnit,
}

/// The pairs that happen, each both ways round.
pub const MIX_UPS: [(TorqueUnit, TorqueUnit); 9] = [
    (KgfCm, LbfIn),
    (Nm, LbfFt),
    (KgfM, LbfFt),
    (Nm, LbfIn),
    (Nm, KgfM),
    (Nm, KgfCm),
    (LbfIn, LbfFt),
    (KgfCm, LbfFt),
    (KgfM, KgfCm),
];

/// What every fastener of a session being off by one ratio looks like.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionMixUp {
    /// Geometric mean of reading over target.
    pub ratio: f64,
    /// What it may be; more than one where torque cannot tell.
    pub candidates: Vec<MixUp>,
}

impl MixUp {
    /// Torque found over torque expected, if the number was taken so.
    #[must_use]
    pub fn ratio(self) -> f64 {
        self.taken_for.newton_metres() / self.meant.newton_metres()
    }
}

/// What `ratio` (torque found over torque expected) may come from: |ln r − ln ρ| < ln 1.05. Often nothing, at times two.
#[must_use]
pub fn mix_ups(ratio: f64) -> Vec<MixUp> {
    within(ratio, WITHIN)
}

/// The same question for a whole session: at least four fasteners, all off by nearly the same ratio, their
/// mean within 3 % of a known one.
#[must_use]
pub fn session_mix_up(ratios: &[f64]) -> Option<SessionMixUp> {
    if ratios.len() < SESSION_LEAST
        || ratios.iter().any(|ratio| !(ratio.is_finite() && *ratio > 0.0))
    {
        return None;
    }
    let least = ratios.iter().copied().fold(f64::INFINITY, f64::min);
    let most = ratios.iter().copied().fold(0.0, f64::max);
    if most / least > SESSION_SPREAD {
        return None;
    }
    let ratio = (ratios.iter().map(|ratio| ratio.ln()).sum::<f64>() / ratios.len() as f64).exp();
    let candidates = within(ratio, SESSION_MEAN);
    (!candidates.is_empty()).then_some(SessionMixUp { ratio, candidates })
}

fn within(ratio: f64, factor: f64) -> Vec<MixUp> {
    if !(ratio.is_finite() && ratio > 0.0) {
        return Vec::new();
    }
    let both = MIX_UPS
        .iter()
        .flat_map(|&(a, b)| [MixUp { meant: a, taken_for: b }, MixUp { meant: b, taken_for: a }]);
    both.filter(|pair| (ratio.ln() - pair.ratio().ln()).abs() < factor.ln()).collect()
}
