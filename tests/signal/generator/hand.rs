//! The hand on the handle.

use super::random::Chance;

/// A person, for an evening.
#[derive(Debug, Clone)]
pub struct Hand {
    /// Seconds from snug to target on a fresh joint.
    pub rise_s: f64,
    pub rise_spread: f64,
    /// Give of arm and handle at full torque, degrees: muscles stiffen with the force they give, so
    /// that hand and body yield by some centimetres whatever the torque, on 0.25 to 0.5 m of handle.
    pub give_deg: f64,
    /// Seconds that muscles need to give the whole force at once.
    pub gather_s: f64,
    /// Share of torque and frequency of the tremor.
    pub tremor: f64,
    pub tremor_hz: f64,
    /// Unevenness of the pace.
    pub uneven: f64,
    /// How far beyond the target a pull goes: middle and spread.
    pub over: f64,
    pub over_spread: f64,
    pub swing_deg: f64,
    /// Share of pulls that are made a second time by habit.
    pub habit: f64,
    /// Seconds between pulls: bounds.
    pub pause_s: (f64, f64),
    /// Share of upstream tools that click.
    pub clicks: bool,
}

impl Hand {
    pub fn any(wide: bool, chance: &mut Chance) -> Self {
        let stretch = if wide { 1.5 } else { 1.0 };
        let under_car = chance.happens(0.6);
        Self {
            rise_s: chance.ratio(0.3 / stretch, 1.3 * stretch),
            rise_spread: 0.2 * stretch,
            give_deg: chance.ratio(4.0, 24.0 * stretch * stretch),
            gather_s: chance.ratio(0.15 / stretch, 0.35),
            tremor: chance.ratio(0.001, 0.008 * stretch),
            tremor_hz: chance.even(6.0, 12.0),
            uneven: chance.even(0.05, 0.25 * stretch),
            over: chance.even(1.0, 1.04),
            over_spread: chance.ratio(0.006, 0.03 * stretch),
            swing_deg: chance.even(40.0, 90.0),
            habit: if chance.happens(0.4) { chance.even(0.3, 0.9) } else { 0.05 },
            pause_s: if under_car { (5.0, 20.0) } else { (1.2, 8.0) },
            clicks: chance.happens(0.12),
        }
    }
}

/// What one pull is meant to be.
#[derive(Debug, Clone, Copy)]
pub struct Intent {
    /// +1 tightens.
    pub sign: f64,
    pub stop_nm: f64,
    /// Seconds the rise would take on a fresh joint.
    pub rise_s: f64,
    /// Seconds it is held.
    pub hold_s: f64,
    /// Seconds letting go takes.
    pub release_s: f64,
    /// The socket slips once at this torque.
    pub slips_at_nm: Option<f64>,
    /// The tool upstream clicks at this torque.
    pub clicks_at_nm: Option<f64>,
    /// Nothing turns: a vice, a stand.
    pub fixed: bool,
    /// Jerked with the weight of the body, not pulled with the arm.
    pub jerked: bool,
    /// Seconds after which the hand gives up.
    pub patience_s: f64,
}

impl Intent {
    pub fn tighten(hand: &Hand, stop_nm: f64, chance: &mut Chance) -> Self {
        Self {
            sign: 1.0,
            stop_nm,
            rise_s: chance.around(hand.rise_s, hand.rise_spread).clamp(0.25, 1.6),
            hold_s: if chance.happens(0.3) { 0.0 } else { chance.even(0.02, 0.4) },
            release_s: chance.ratio(0.08, 0.3),
            slips_at_nm: None,
            clicks_at_nm: None,
            fixed: false,
            jerked: false,
            patience_s: chance.even(2.5, 4.0),
        }
    }
}
