//! Torque as people read it. Rounding never widens a window and never contradicts a verdict.

use crate::core::units::TorqueUnit;
use crate::report::model::WindowReport;

/// A decimal is only rounded away if it is more than arithmetic's own error.
const SLACK: f64 = 1e-6;

/// The target in the author's unit, with N·m second.
#[must_use]
pub fn target(window: &WindowReport) -> String {
    let stated = format!("{} {}", window.target, window.unit);
    with_newton_metres(stated, window.unit, || nearest(window.target_nm, 1))
}

/// The window in the author's unit, with N·m second; limits are rounded inwards.
#[must_use]
pub fn window(window: &WindowReport) -> String {
    let span = |unit: TorqueUnit| {
        let low = inwards(window.low_nm / unit.newton_metres(), f64::ceil);
        match window.high_nm {
            Some(high) => {
                let high = inwards(high / unit.newton_metres(), f64::floor);
                format!("{low} to {high}")
            }
            None => format!("at least {low}"),
        }
    };
    let stated = format!("{} {}", span(window.unit), window.unit);
    with_newton_metres(stated, window.unit, || span(TorqueUnit::NewtonMetre))
}

/// A peak in `unit`, with N·m second. Shown with as many decimals as it takes to lie on the same side
/// of `window`'s limits as the unrounded peak does.
#[must_use]
pub fn peak(nm: f64, unit: TorqueUnit, window: Option<&WindowReport>) -> String {
    let turned = if nm < 0.0 { " counter-clockwise" } else { "" };
    let magnitude = nm.abs();
    let decimals = (1..=4)
        .find(|&decimals| same_side(magnitude, rounded(magnitude, decimals), window))
        .unwrap_or(4);
    let stated =
        format!("{:.decimals$} {unit}", magnitude / unit.newton_metres(), decimals = decimals);
    let both = with_newton_metres(stated, unit, || format!("{magnitude:.decimals$}"));
    format!("{both}{turned}")
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

/// A probability as per cent, rounded down; never a claim of certainty.
#[must_use]
pub fn confidence(probability: f64) -> String {
    if probability >= 0.995 {
        return "over 99 %".to_owned();
    }
    if !(0.01..=1.0).contains(&probability) {
        return "under 1 %".to_owned();
    }
    format!("{:.0} %", (probability * 100.0 + SLACK).floor())
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

fn with_newton_metres(stated: String, unit: TorqueUnit, nm: impl Fn() -> String) -> String {
    match unit {
        TorqueUnit::NewtonMetre => stated,
        _ => format!("{stated} ({} {})", nm(), TorqueUnit::NewtonMetre),
    }
}

fn inwards(value: f64, round: fn(f64) -> f64) -> String {
    let decimals = if value < 10.0 { 2 } else { 1 };
    let factor = 10_f64.powi(decimals);
    let scaled = value * factor;
    let whole = scaled.round();
    let kept = match (scaled - whole).abs() < SLACK {
        true => whole,
        false => round(scaled),
    };
    nearest(kept / factor, decimals as usize)
}

fn rounded(value: f64, decimals: usize) -> f64 {
    let factor = 10_f64.powi(decimals as i32);
    (value * factor).round() / factor
}

fn same_side(exact: f64, shown: f64, window: Option<&WindowReport>) -> bool {
    window.is_none_or(|window| {
        (exact >= window.low_nm - SLACK) == (shown >= window.low_nm - SLACK)
            && window.high_nm.is_none_or(|high| (exact <= high + SLACK) == (shown <= high + SLACK))
    })
}

#[cfg(test)]
mod tests {
    use super::{confidence, peak, target, window};
    use crate::core::units::TorqueUnit;
    use crate::report::model::WindowReport;

    fn around(unit: TorqueUnit, value: f64, share: f64) -> WindowReport {
        let nm = value * unit.newton_metres();
        WindowReport {
            unit,
            target: value,
            target_nm: nm,
            low_nm: nm * (1.0 - share),
            high_nm: Some(nm * (1.0 + share)),
        }
    }

    #[test]
    fn limits_are_rounded_inwards_in_both_units() {
        let metric = around(TorqueUnit::NewtonMetre, 68.0, 0.08);
        assert_eq!(target(&metric), "68 N·m");
        assert_eq!(window(&metric), "62.6 to 73.4 N·m");
        let imperial = around(TorqueUnit::PoundForceFoot, 122.0, 0.1);
        assert_eq!(target(&imperial), "122 lbf·ft (165.4 N·m)");
        assert_eq!(window(&imperial), "109.8 to 134.2 lbf·ft (148.9 to 181.9 N·m)");
        let bare = WindowReport { high_nm: None, ..around(TorqueUnit::NewtonMetre, 32.0, 0.0) };
        assert_eq!(window(&bare), "at least 32 N·m");
    }

    #[test]
    fn a_peak_just_outside_is_never_rounded_into_the_window() {
        let pin = around(TorqueUnit::NewtonMetre, 26.0, 0.1);
        let text = |nm| peak(nm, TorqueUnit::NewtonMetre, Some(&pin));
        assert_eq!(text(23.4), "23.4 N·m");
        assert_eq!(text(23.38), "23.38 N·m");
        assert_eq!(text(28.62), "28.62 N·m");
        assert_eq!(text(25.04), "25.0 N·m");
        assert_eq!(text(-12.0), "12.0 N·m counter-clockwise");
    }

    #[test]
    fn a_probability_never_reads_as_certainty() {
        let shown = [1.0, 0.994, 0.5, 0.29, 0.0].map(confidence);
        assert_eq!(shown, ["over 99 %", "99 %", "50 %", "29 %", "under 1 %"]);
    }
}
