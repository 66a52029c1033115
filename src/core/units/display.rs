//! Torque as text: for people only, never compared.
//!
//! A tool's resolution should be at most a quarter of its permissible deviation (ISO 6789-1:2017),
//! so about 1 % of the value: two decimals below 10, one from 10 up.

use crate::core::units::{StatedTorque, Torque, TorqueUnit};
use std::fmt;

/// Which way a displayed number may differ from the real one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Round {
    /// To the nearest: a reading, a target.
    Nearest,
    /// Never below the real one: a lower limit.
    Up,
    /// Never above the real one: an upper limit.
    Down,
}

/// How many decimals a value of this size is shown with, whatever its unit.
#[must_use]
pub fn decimals(value: f64) -> usize {
    if value.abs() < 10.0 { 2 } else { 1 }
}

/// The number of `torque` in `unit`, without the symbol, with so many decimals.
///
/// Rounded up or down, the displayed number taken back into newton metres never lies on the wrong
/// side of `torque`.
#[must_use]
pub fn format_value(torque: Torque, unit: TorqueUnit, decimals: usize, round: Round) -> String {
    let value = torque.nm() / unit.newton_metres();
    let shown = format!("{value:.decimals$}");
    let back = |text: &str| text.parse::<f64>().unwrap_or(value) * unit.newton_metres();
    let wrong = |text: &str| match round {
        Round::Nearest => false,
        Round::Up => back(text) < torque.nm(),
        Round::Down => back(text) > torque.nm(),
    };
    if !wrong(&shown) {
        return shown;
    }
    let last = 10f64.powi(-i32::try_from(decimals).unwrap_or(0));
    let step = if round == Round::Up { last } else { -last };
    format!("{:.decimals$}", shown.parse::<f64>().unwrap_or(value) + step)
}

/// `torque` in the author's unit, with N·m second where that is another: `81.1 lbf·ft (110.0 N·m)`.
#[must_use]
pub fn format_torque(torque: Torque, unit: TorqueUnit) -> String {
    let one = |unit: TorqueUnit| {
        let places = decimals(torque.nm() / unit.newton_metres());
        format!("{} {unit}", format_value(torque, unit, places, Round::Nearest))
    };
    if unit == TorqueUnit::NewtonMetre {
        one(unit)
    } else {
        format!("{} ({})", one(unit), one(TorqueUnit::NewtonMetre))
    }
}

/// In N·m, at the display resolution.
impl fmt::Display for Torque {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&format_torque(*self, TorqueUnit::NewtonMetre))
    }
}

/// As entered, with the canonical symbol: `75 lbf·ft`.
impl fmt::Display for StatedTorque {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.unit)
    }
}
