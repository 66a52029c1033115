//! Whether the adapters at hand can prove what the plan asks.

use super::{Remarks, Setting, target};
use crate::core::decision::{Limits, Rule, acceptance_zone, test_uncertainty_ratio};
use crate::core::fixture::Effect;
use crate::core::plan::adapter_sheet::{AdapterSheet, Directions};
use crate::core::plan::fault::{Code, Complaint, Severity};
use crate::core::plan::{Step, Window};
use crate::core::units::{Torque, TorqueUnit, format_torque};

/// Below this an adapter cannot verify a tolerance.
const LEAST_RATIO: f64 = 1.5;

/// Adapters whose calibration has run out.
pub(super) fn due(setting: &Setting<'_>, remarks: &mut Remarks<'_>) {
    let Some(today) = setting.today else { return };
    for sheet in setting.adapters {
        if let Some(due) = sheet.due.as_deref().filter(|due| *due < today) {
            let complaint = Complaint::new(
                Code::CalibrationDue,
                format!(
                    "expected a calibration of `{}` that is in force, but found it due on {due}",
                    sheet.name
                ),
                "have it calibrated; until then its readings are indications",
            );
            remarks.whole(Severity::Warning, complaint);
        }
    }
}

pub(super) fn check(index: usize, step: &Step, setting: &Setting<'_>, remarks: &mut Remarks<'_>) {
    let Some(window) = target(step).filter(|_| !setting.adapters.is_empty()) else { return };
    // A fixture that proves nothing has been spoken of already.
    let Ok(effect) = step.rules.fixture.effect() else { return };
    let read = Torque::from_nm(effect.reading_for(window.target.nm()));
    let able: Vec<&AdapterSheet> =
        setting.adapters.iter().filter(|sheet| sheet.measures(read)).collect();
    if able.is_empty() {
        remarks.add(index, Severity::Warning, out_of_range(step, read, setting.adapters));
        return;
    }
    let mut doubts = Vec::new();
    for sheet in able {
        match doubt(step, window, effect, read, sheet) {
            None => return,
            Some(doubt) => doubts.push(doubt),
        }
    }
    // The doubt that is least: a note goes before a warning.
    doubts.sort_by_key(|(severity, _)| std::cmp::Reverse(*severity));
    if let Some((severity, complaint)) = doubts.into_iter().next() {
        remarks.add(index, severity, complaint);
    }
}

fn out_of_range(step: &Step, read: Torque, adapters: &[AdapterSheet]) -> Complaint {
    let ranges: Vec<String> =
        adapters.iter().map(|sheet| format!("`{}` {}", sheet.name, span(sheet.range))).collect();
    Complaint::new(
        Code::Range,
        format!(
            "expected an adapter that measures {} for `{}`, but found {}",
            nm(read),
            step.group,
            ranges.join(" and ")
        ),
        "use another adapter; without one the joint ends as stated",
    )
}

/// The first thing that keeps this adapter from proving this joint.
fn doubt(
    step: &Step,
    window: &Window,
    effect: Effect,
    read: Torque,
    sheet: &AdapterSheet,
) -> Option<(Severity, Complaint)> {
    let AdapterSheet { name, .. } = sheet;
    if step.left_hand && sheet.directions == Directions::Clockwise {
        return Some((
            Severity::Warning,
            Complaint::new(
                Code::Direction,
                format!(
                    "expected `{name}` calibrated counter-clockwise for the left-hand thread of `{}`, but found clockwise alone",
                    step.group
                ),
                "have it calibrated in both directions, or take one that is; write `directions = \"both\"` if its papers say so",
            ),
        ));
    }
    if let Some(calibrated) = sheet.calibrated
        && !(calibrated.0..=calibrated.1).contains(&read)
    {
        return Some((
            Severity::Warning,
            Complaint::new(
                Code::Calibrated,
                format!(
                    "expected {} for `{}` within what `{name}` is calibrated for, but found {}",
                    nm(read),
                    step.group,
                    span(calibrated)
                ),
                "use another adapter, or have this one calibrated there",
            ),
        ));
    }
    let share = sheet.relative_uncertainty(read)?.hypot(effect.uncertainty);
    let limits = Limits { low: window.low, high: window.high };
    let zone = acceptance_zone(limits, share);
    let narrow = test_uncertainty_ratio(limits, share).is_some_and(|ratio| ratio < LEAST_RATIO);
    let guarded = step.rules.acceptance == Rule::Guarded;
    if narrow || (guarded && zone.is_none()) {
        return Some((
            Severity::Warning,
            Complaint::new(
                Code::CannotVerify,
                format!(
                    "expected a tolerance for `{}` that `{name}` can verify, but found {window} with readings that are certain to ±{:.1} %",
                    step.group,
                    share * 200.0
                ),
                "this adapter cannot verify it: take a more certain one; never widen the tolerance for the tool's sake",
            ),
        ));
    }
    let (low, high) = zone.filter(|_| guarded)?;
    let high = high.map_or(String::new(), |high| format!(" to {}", nm(high)));
    Some((
        Severity::Note,
        Complaint::new(
            Code::GuardBand,
            format!(
                "expected {window} for `{}`, but found that `{name}` shows only {}{high} without condition",
                step.group,
                nm(low)
            ),
            "aim well inside: readings nearer to a limit pass on condition alone, as `acceptance = \"guarded\"` asks",
        ),
    ))
}

fn span((low, high): (Torque, Torque)) -> String {
    format!("{}–{} N·m", low.nm(), high.nm())
}

fn nm(torque: Torque) -> String {
    format_torque(torque, TorqueUnit::NewtonMetre)
}
