//! What is left behind when a job is interrupted.

use crate::core::event::Ending;
use crate::core::plan::Step;
use crate::core::snapshot::JointState;
use crate::core::tracker::Tracker;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Words of a note that speak of a part to be renewed.
const RENEWED: [&str; 6] = ["new", "renew", "replace", "single-use", "one-use", "one-time"];

/// How things are left, for whoever comes back to them.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
pub struct Leaving {
    /// Fasteners that are open, in plan order.
    pub open: Vec<String>,
    /// Those of them that were pulled and are not finished.
    pub started: Vec<String>,
    /// New parts, and notes about parts to be renewed, of joints that are not finished: `joint: part`.
    pub to_buy: Vec<String>,
    /// Open joints whose failure can cost a life: the vehicle must not move. What a recheck has not come to yet is as it
    /// was driven, and not among them.
    pub life_critical: Vec<String>,
}

/// How the job is left.
#[must_use]
pub fn leaving(tracker: &Tracker) -> Leaving {
    let snapshot = tracker.snapshot();
    let mut leaving = Leaving { open: snapshot.open, ..Leaving::default() };
    let plan = tracker.plan();
    for (step, group) in plan.steps.iter().zip(&snapshot.groups) {
        let open = || group.members.iter().filter(|member| member.ending == Ending::Open);
        let pulled = open().filter(|member| member.peak_nm.is_some());
        leaving.started.extend(pulled.map(|member| member.name.clone()));
        if open().next().is_none() {
            continue;
        }
        let names = group.members.iter().map(|member| member.name.as_str());
        let spent = names.filter(|name| tracker.is_spent(name));
        leaving.to_buy.extend(spent.map(|name| format!("{name}: what was in is spent or spoiled")));
        let parts = parts(step).chain(&step.rules.new_parts);
        leaving.to_buy.extend(parts.map(|part| format!("{}: {part}", step.group)));
        if step.life_critical && open().any(|member| member.state != JointState::Closed) {
            leaving.life_critical.push(step.group.clone());
        }
    }
    leaving
}

/// The notes of a joint that name a part to be renewed.
fn parts(step: &Step) -> impl Iterator<Item = &String> {
    step.notes.iter().filter(|note| {
        let lower = note.to_lowercase();
        let mut words = lower.split(|c: char| !(c.is_alphanumeric() || c == '-'));
        words.any(|word| RENEWED.contains(&word))
    })
}
