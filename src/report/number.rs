//! Numbers as people read them. Rounding never contradicts a verdict.

use crate::core::plan::Window;
use crate::core::units::{Round, Torque, TorqueUnit, decimals, format_torque, format_value};

/// A share is only rounded down if it lies below by more than arithmetic's own error.
const SLACK: f64 = 1e-6;

/// The magnitude of a peak in `unit`, with N·m second. Shown with as many decimals as it takes to lie on the
/// same side of `window`'s limits as the unrounded peak does. `unit` is the window's own, if there is one.
#[must_use]
pub fn peak(nm: f64, unit: TorqueUnit, window: Option<&Window>) -> String {
    let magnitude = Torque::from_nm(nm.abs());
    let Some(window) = window else {
        return format_torque(magnitude, unit);
    };
    let shown = window.compare(magnitude);
    let stated = format!("{} {}", shown.reading, shown.unit);
    if shown.unit == TorqueUnit::NewtonMetre {
        return stated;
    }
    let decimals = shown.reading.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let second = format_value(magnitude, TorqueUnit::NewtonMetre, decimals, Round::Nearest);
    format!("{stated} ({second} {})", TorqueUnit::NewtonMetre)
}

/// The lower limit of a window in `unit`, rounded up.
#[must_use]
pub fn least(window: &Window, unit: TorqueUnit) -> String {
    let places = decimals(window.low.nm() / unit.newton_metres());
    format!("{} {unit}", format_value(window.low, unit, places, Round::Up))
}

/// From one torque to another in `unit`, rounded outwards to tenths: an interval never looks narrower
/// than it is.
#[must_use]
pub fn span(low_nm: f64, high_nm: f64, unit: TorqueUnit) -> String {
    let tenths = |nm: f64| nm.abs() / unit.newton_metres() * 10.0;
    let low = (tenths(low_nm) + SLACK).floor() / 10.0;
    let high = (tenths(high_nm) - SLACK).ceil() / 10.0;
    format!("{low:.1}–{high:.1} {unit}")
}

/// A plain number with at most `decimals` decimals, without trailing zeros.
#[must_use]
pub fn nearest(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// A probability as it is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Share {
    /// Under 1 %.
    Under,
    /// So many per cent.
    About(u8),
    /// Over 99 %.
    Over,
}

/// A probability as per cent, rounded down; never a claim of certainty.
#[must_use]
pub fn share(probability: f64) -> Share {
    if probability >= 0.995 {
        return Share::Over;
    }
    if !(0.01..=1.0).contains(&probability) {
        return Share::Under;
    }
    Share::About((probability * 100.0 + SLACK).floor() as u8)
}

/// A length of time, coarse enough to read.
#[must_use]
pub fn duration(seconds: f64) -> String {
    match seconds {
        s if s < 1.0 => format!("{:.0} ms", s * 1e3),
        s if s < 90.0 => format!("{s:.0} s"),
        s if s < 5400.0 => format!("{:.0} min", s / 60.0),
        s => format!("{} h", nearest(s / 3600.0, 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::{least, peak, span};
    use crate::core::plan::Window;
    use crate::core::units::{StatedTorque, Torque, TorqueUnit};

    #[test]
    fn an_interval_never_looks_narrower_than_it_is() {
        assert_eq!(span(99.99, 100.01, TorqueUnit::NewtonMetre), "99.9–100.1 N·m");
        assert_eq!(span(-99.9, -100.1, TorqueUnit::NewtonMetre), "99.9–100.1 N·m");
        assert_eq!(span(135.0, 136.0, TorqueUnit::PoundForceFoot), "99.5–100.4 lbf·ft");
    }

    #[test]
    fn a_peak_just_outside_is_never_rounded_into_the_window() {
        let text = |nm, unit, low, high| {
            let stated = StatedTorque { value: low, unit };
            let (low, high) = (Torque::from_nm(low), Some(Torque::from_nm(high)));
            let window = Window { target: low, low, high, stated };
            peak(nm, unit, Some(&window))
        };
        let pin = |nm| text(nm, TorqueUnit::NewtonMetre, 23.4, 28.6);
        assert_eq!(pin(23.4), "23.4 N·m");
        assert_eq!(pin(23.38), "23.38 N·m");
        assert_eq!(pin(28.62), "28.62 N·m");
        assert_eq!(pin(25.04), "25.0 N·m");
        assert_eq!(pin(-12.0), "12.0 N·m");
        let nut = |nm| text(nm, TorqueUnit::PoundForceFoot, 148.9, 181.9);
        assert_eq!(nut(163.4), "120.5 lbf·ft (163.4 N·m)");
    }

    #[test]
    fn a_least_torque_is_never_shown_too_low() {
        let unit = TorqueUnit::PoundForceFoot;
        let stated = StatedTorque { value: 60.0, unit };
        let low = Torque::from_nm(81.35);
        let window = Window { target: low, low, high: None, stated };
        assert_eq!(
            format!(
                "at least {} (at least {})",
                least(&window, unit),
                least(&window, TorqueUnit::NewtonMetre)
            ),
            window.to_string()
        );
    }
}
