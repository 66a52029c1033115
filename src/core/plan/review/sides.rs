//! Left and right of one vehicle: the same fastener has the same value.

use super::{Remarks, target};
use crate::core::decision::mix_ups;
use crate::core::plan::fault::{Code, Complaint, Severity};
use crate::core::plan::{Expect, Plan, Step};

pub(super) fn check(plan: &Plan, remarks: &mut Remarks<'_>) {
    for (left, right) in plan.sides() {
        let later = left.max(right);
        let (a, b) = (&plan.steps[left], &plan.steps[right]);
        if let Some(complaint) = mixed_up(a, b).or_else(|| differ(a, b)) {
            remarks.add(later, Severity::Warning, complaint);
        }
    }
}

/// Two values whose ratio is that of two units.
fn mixed_up(left: &Step, right: &Step) -> Option<Complaint> {
    let (a, b) = (target(left)?, target(right)?);
    if a.stated.unit != b.stated.unit {
        return None;
    }
    let found = mix_ups(b.target.nm() / a.target.nm());
    let unit = a.stated.unit;
    let pair = found.iter().find(|pair| pair.meant == unit || pair.taken_for == unit)?;
    Some(Complaint::new(
        Code::UnitMixUp,
        format!(
            "expected like values for `{}` and `{}`, but found {} and {}, as far apart as {} and {}",
            left.group,
            right.group,
            a.target_text(),
            b.target_text(),
            pair.meant,
            pair.taken_for
        ),
        "look at the units in the source",
    ))
}

fn differ(left: &Step, right: &Step) -> Option<Complaint> {
    let facts: [(&str, String, String); 5] = [
        ("fasteners", left.members.to_string(), right.members.to_string()),
        ("values", values(left), values(right)),
        ("threads", text(left.thread.as_ref()), text(right.thread.as_ref())),
        ("conditions", condition(left), condition(right)),
        ("holds", holds(left), holds(right)),
    ];
    let (what, a, b) = facts.into_iter().find(|(_, a, b)| a != b)?;
    Some(Complaint::new(
        Code::SidesDiffer,
        format!(
            "expected like {what} for `{}` and `{}`, but found {a} and {b}",
            left.group, right.group
        ),
        "correct one of them, if the source does not say so",
    ))
}

/// What each pass asks.
fn values(step: &Step) -> String {
    let one = |expect: &Expect| match expect {
        Expect::Window(window) => format!("{} in {window}", window.target_text()),
        Expect::ByHand => "by hand".to_owned(),
        Expect::NoFigure => "no figure".to_owned(),
        Expect::ToBeLookedUp => "?".to_owned(),
    };
    let passes: Vec<String> = step.passes.iter().map(|pass| one(&pass.expect)).collect();
    passes.join(", then ")
}

fn condition(step: &Step) -> String {
    match (&step.condition, step.rules.lubrication) {
        (Some(text), _) => text.clone(),
        (None, Some(condition)) => condition.to_string(),
        (None, None) => "none".to_owned(),
    }
}

fn holds(step: &Step) -> String {
    let of_passes = step.passes.iter().map(|pass| pass.holds.len()).sum::<usize>();
    (step.holds.len() + of_passes).to_string()
}

fn text(text: Option<&String>) -> String {
    text.cloned().unwrap_or_else(|| "none".to_owned())
}
