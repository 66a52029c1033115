//! Parts that are used once.

use super::{Remarks, is_angled};
use crate::core::plan::fault::{Code, Complaint, Severity};
use crate::core::plan::{Reuse, SecuredBy, Step};

pub(super) fn check(index: usize, step: &Step, remarks: &mut Remarks<'_>) {
    if !step.rules.new_parts.is_empty() {
        return;
    }
    let Some(part) = used_once(step) else { return };
    remarks.add(
        index,
        Severity::Warning,
        Complaint::new(
            Code::NoReplacement,
            format!("expected the new part for `{}`, but found {part} that is used once and nothing about a new one", step.group),
            "write what to buy, like `new-parts = [\"1 nut M16×1.5\"]`",
        ),
    );
}

/// A part of this joint that cannot be used again, by the plan's own words.
fn used_once(step: &Step) -> Option<String> {
    let rules = &step.rules;
    if let Some(part) = rules.single_use.first() {
        return Some(format!("`{part}`"));
    }
    if rules.castle.is_some() || rules.secured_by == Some(SecuredBy::Pin) {
        return Some("a pin".to_owned());
    }
    if rules.secured_by == Some(SecuredBy::Stake) {
        return Some("a staked nut".to_owned());
    }
    if is_angled(step) {
        return Some("a bolt turned by an angle".to_owned());
    }
    rules
        .prevailing
        .filter(|nut| nut.reuse == Reuse::Single)
        .map(|_| "a prevailing-torque nut".to_owned())
}
