//! Verdicts with a guard band: four states instead of two.
//!
//! JCGM 106:2012 clause 8 and ILAC-G8:09/2019. Workshop tolerances are written for tools taken at face
//! value, so [`Rule::Simple`] decides unless a plan asks for more; limits are never widened.

use crate::core::decision::normal::phi;
use crate::core::decision::uncertainty::COVERAGE;
use crate::core::units::Torque;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A tolerance. The lower limit is positive and not above the upper one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The lowest torque that counts.
    pub low: Torque,
    /// The highest torque allowed, if there is one.
    pub high: Option<Torque>,
}

/// How a verdict is reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// The reading at face value against the limits.
    #[default]
    Simple,
    /// The reading must lie inside by the expanded uncertainty.
    Guarded,
}

/// What a reading proves, from worst to best.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Conformity {
    /// Outside by more than the guard band.
    Fail,
    /// Outside, but by no more than the guard band.
    ConditionalFail,
    /// Inside, but within the guard band.
    ConditionalPass,
    /// Inside by more than the guard band.
    Pass,
}

/// A verdict and what it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decision {
    /// The four states.
    pub conformity: Conformity,
    /// Whether the rule accepts the reading.
    pub accepted: bool,
    /// Probability that the torque lay within the limits, if the uncertainty is known and above zero.
    pub probability: Option<f64>,
}

impl Rule {
    /// How the report names it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Simple => "simple acceptance: readings at face value",
            Self::Guarded => {
                "guarded acceptance: limits drawn in by the expanded uncertainty (k = 2)"
            }
        }
    }
}

/// Decides one reading. `relative` is its standard uncertainty as a share of the reading; none if it is not
/// known, and then there is no guard band and guarded acceptance accepts nothing.
#[must_use]
pub fn decide(limits: Limits, reading: Torque, relative: Option<f64>, rule: Rule) -> Decision {
    let known = relative.filter(|share| share.is_finite() && *share >= 0.0);
    let band = COVERAGE * known.unwrap_or(0.0);
    let inside = |low: f64, high: Option<f64>| {
        reading.nm() >= low && high.is_none_or(|high| reading.nm() <= high)
    };
    let (low, high) = (limits.low.nm(), limits.high.map(Torque::nm));
    let (inner_low, inner_high) = drawn_in(limits, band);
    let conformity = if inside(low, high) {
        if inside(inner_low, inner_high) { Conformity::Pass } else { Conformity::ConditionalPass }
    } else if inside(low / (1.0 + band), high.map(|high| widened(high, band))) {
        Conformity::ConditionalFail
    } else {
        Conformity::Fail
    };
    Decision {
        conformity,
        accepted: match rule {
            Rule::Simple => conformity >= Conformity::ConditionalPass,
            Rule::Guarded => known.is_some() && conformity == Conformity::Pass,
        },
        probability: known.filter(|share| *share > 0.0).map(|share| {
            let standard = share * reading.nm().abs();
            let below = |limit: f64| phi((limit - reading.nm()) / standard);
            (high.map_or(1.0, below) - below(low)).max(0.0)
        }),
    }
}

/// The readings that pass without condition: T_L / (1 − U_r) to T_U / (1 + U_r), for a relative expanded
/// uncertainty U_r = 2·u_r. None if no reading does.
#[must_use]
pub fn acceptance_zone(limits: Limits, relative: f64) -> Option<(Torque, Option<Torque>)> {
    let (low, high) = drawn_in(limits, COVERAGE * relative);
    (low.is_finite() && high.is_none_or(|high| high >= low))
        .then(|| (Torque::from_nm(low), high.map(Torque::from_nm)))
}

/// (T_U − T_L) / 2U in the middle of the tolerance. Four and more: face value is fine. Below 1.5: this
/// adapter cannot verify this tolerance. None without an upper limit.
#[must_use]
pub fn test_uncertainty_ratio(limits: Limits, relative: f64) -> Option<f64> {
    let (low, high) = (limits.low.nm(), limits.high?.nm());
    let expanded = COVERAGE * relative * f64::midpoint(low, high);
    Some((high - low) / (2.0 * expanded))
}

fn drawn_in(limits: Limits, band: f64) -> (f64, Option<f64>) {
    let low = if band < 1.0 { limits.low.nm() / (1.0 - band) } else { f64::INFINITY };
    (low, limits.high.map(|high| high.nm() / (1.0 + band)))
}

fn widened(high: f64, band: f64) -> f64 {
    if band < 1.0 { high / (1.0 - band) } else { f64::INFINITY }
}

impl fmt::Display for Conformity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Fail => "fail",
            Self::ConditionalFail => "conditional fail",
            Self::ConditionalPass => "conditional pass",
            Self::Pass => "pass",
        })
    }
}
