//! The values of a plan, as they were understood: to be held against the source before work begins.

use crate::core::plan::{Expect, Pass, Plan, Step};
use std::fmt::Write as _;

/// One line a joint that has a value, and the names of those that still wait for one.
#[must_use]
pub fn read_back(plan: &Plan) -> String {
    let mut text = format!("{}:\n", plan.name);
    let width = plan.steps.iter().map(|step| step.group.chars().count()).max().unwrap_or(0);
    let mut waiting = Vec::new();
    for step in &plan.steps {
        match value(step) {
            Some(value) => {
                let times = match step.members {
                    1 => String::new(),
                    members => format!("{members} × "),
                };
                let _ = writeln!(text, "  {:<width$}  {times}{value}", step.group);
            }
            None => waiting.push(step.group.as_str()),
        }
    }
    if !waiting.is_empty() {
        let _ = writeln!(text, "  still \"?\": {}", waiting.join(", "));
    }
    text
}

/// What the last tightening pass expects; nothing if that is still to be looked up.
fn value(step: &Step) -> Option<String> {
    let tightens = |pass: &&Pass| !pass.check && pass.expect != Expect::ByHand;
    let last = step.passes.iter().rev().find(tightens).or(step.passes.last())?;
    match &last.expect {
        Expect::Window(window) => Some(format!("{}, {window}", window.target_text())),
        Expect::NoFigure => Some("no figure published".to_owned()),
        Expect::ByHand => Some("by hand, no reading".to_owned()),
        Expect::ToBeLookedUp => None,
    }
}
