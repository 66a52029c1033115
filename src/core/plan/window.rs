//! The torque window: how it is made from a figure and a tolerance, and how it is shown.

use crate::core::plan::Window;
use crate::core::units::{
    Round, StatedTorque, Torque, TorqueUnit, decimals, format_torque, format_value,
};
use std::fmt;

/// Text of a reading and of the window it was held against, with decimals enough that the texts
/// alone show the same result as the unrounded values.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Comparison {
    /// The reading, without its unit.
    pub reading: String,
    /// The lower limit, rounded up.
    pub low: String,
    /// The upper limit, rounded down; `None` where there is none.
    pub high: Option<String>,
    /// The unit of all of them.
    pub unit: TorqueUnit,
}

impl Window {
    /// A window with limits in the unit of `stated`, converted once.
    ///
    /// Limits are taken to nine decimals, so that 165 + 10 % is 181.5 and not 181.500 000 000 000 03.
    pub(super) fn from_limits(stated: StatedTorque, low: f64, high: Option<f64>) -> Self {
        let torque = |value: f64| {
            StatedTorque { value: (value * 1e9).round() / 1e9, unit: stated.unit }.torque()
        };
        let target = stated.torque();
        let (low, high) = (torque(low), high.map(torque));
        Self {
            low: if low > target { target } else { low },
            high: high.map(|high| if high < target { target } else { high }),
            target,
            stated,
        }
    }

    /// The same window, higher by `more`; limits and target alike.
    #[must_use]
    pub fn raised_by(&self, more: Torque) -> Self {
        let up = |torque: Torque| Torque::from_nm(torque.nm() + more.nm());
        let unit = self.stated.unit;
        Self {
            stated: StatedTorque {
                value: self.stated.value + more.nm() / unit.newton_metres(),
                unit,
            },
            target: up(self.target),
            low: up(self.low),
            high: self.high.map(up),
        }
    }

    /// The target as the author wrote it, with N·m second where that is another.
    #[must_use]
    pub fn target_text(&self) -> String {
        if self.stated.unit == TorqueUnit::NewtonMetre {
            self.stated.to_string()
        } else {
            let nm = format_torque(self.target, TorqueUnit::NewtonMetre);
            format!("{} ({nm})", self.stated)
        }
    }

    /// The limits in `unit`, rounded inward: `148.5–181.5 N·m`, or `at least 32.0 N·m`.
    #[must_use]
    pub fn limits_in(&self, unit: TorqueUnit) -> String {
        let base = decimals(self.low.nm() / unit.newton_metres());
        let low = |places| format_value(self.low, unit, places, Round::Up);
        let Some(high) = self.high else {
            return format!("at least {} {unit}", low(base));
        };
        let high = |places| format_value(high, unit, places, Round::Down);
        let places = (base..MOST_DECIMALS)
            .find(|&places| number(&low(places)) <= number(&high(places)))
            .unwrap_or(MOST_DECIMALS);
        format!("{}–{} {unit}", low(places), high(places))
    }

    /// `reading` beside the limits, in the author's unit. Where rounding would hide why a reading
    /// lies outside (or that it lies inside), one more decimal is shown, and so on.
    #[must_use]
    pub fn compare(&self, reading: Torque) -> Comparison {
        let unit = self.stated.unit;
        let at = |places| Comparison {
            reading: format_value(reading, unit, places, Round::Nearest),
            low: format_value(self.low, unit, places, Round::Up),
            high: self.high.map(|high| format_value(high, unit, places, Round::Down)),
            unit,
        };
        let base = decimals(reading.nm() / unit.newton_metres());
        (base..MOST_DECIMALS)
            .map(at)
            .find(|shown| shown.is_inside() == self.contains(reading))
            .unwrap_or_else(|| at(MOST_DECIMALS))
    }
}

/// Limits in the author's unit, with N·m second where that is another:
/// `66.4–81.1 lbf·ft (90.0–110.0 N·m)`.
impl fmt::Display for Window {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.limits_in(self.stated.unit))?;
        if self.stated.unit != TorqueUnit::NewtonMetre {
            write!(f, " ({})", self.limits_in(TorqueUnit::NewtonMetre))?;
        }
        Ok(())
    }
}

impl Comparison {
    fn is_inside(&self) -> bool {
        let reading = number(&self.reading);
        reading >= number(&self.low)
            && self.high.as_ref().is_none_or(|high| reading <= number(high))
    }
}

/// Beyond this, two values count as the same to any eye.
const MOST_DECIMALS: usize = 9;

fn number(text: &str) -> f64 {
    text.parse().unwrap_or(f64::NAN)
}
