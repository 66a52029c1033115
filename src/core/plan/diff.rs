//! Two plans compared joint by joint: what somebody would do otherwise, whatever the lines look like.

use crate::core::plan::show::show_pass;
use crate::core::plan::show_rules::show_rules;
use crate::core::plan::{Cure, Identity, Pattern, Plan, Step};
use serde::Serialize;
use std::fmt;

/// One thing that differs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "change", rename_all = "kebab-case")]
pub enum Change {
    /// A joint that only the first plan has.
    Gone {
        /// Its name.
        joint: String,
    },
    /// A joint that only the second plan has.
    New {
        /// Its name.
        joint: String,
        /// What it asks.
        asks: String,
    },
    /// The order of the joints that both have, in the second plan, where the order binds.
    Moved {
        /// Names, in the second plan's order.
        order: Vec<String>,
    },
    /// A joint of both plans, or the plan as a whole, that asks something else.
    Other {
        /// Its name; none for the plan as a whole.
        joint: Option<String>,
        /// What of it.
        what: String,
        /// What the first plan says; empty for nothing.
        from: String,
        /// What the second plan says.
        to: String,
    },
}

/// What `to` asks otherwise than `from`: first the plan as a whole, then joint by joint in the order of
/// `from`, then what is new.
#[must_use]
pub fn diff(from: &Plan, to: &Plan) -> Vec<Change> {
    let mut changes = Vec::new();
    compare(None, &whole(from), &whole(to), &mut changes);
    let find = |plan: &Plan, name: &str| plan.steps.iter().position(|step| step.group == name);
    for step in &from.steps {
        match find(to, &step.group) {
            None => changes.push(Change::Gone { joint: step.group.clone() }),
            Some(index) => {
                let other = &to.steps[index];
                let name = Some(step.group.as_str());
                compare(name, &facts(from, step), &facts(to, other), &mut changes);
            }
        }
    }
    let shared = |plan: &Plan, other: &Plan| -> Vec<String> {
        let names = plan.steps.iter().map(|step| &step.group);
        names.filter(|name| find(other, name).is_some()).cloned().collect()
    };
    let order = shared(to, from);
    if to.in_order && order != shared(from, to) {
        changes.push(Change::Moved { order });
    }
    for step in to.steps.iter().filter(|step| find(from, &step.group).is_none()) {
        let asks: Vec<String> = facts(to, step)
            .into_iter()
            .filter(|(what, _)| what == "fasteners" || what.starts_with("pass"))
            .map(|(_, text)| text)
            .collect();
        changes.push(Change::New { joint: step.group.clone(), asks: asks.join("; ") });
    }
    changes
}

/// Facts by what they are of; a fact may come several times.
type Facts = Vec<(String, String)>;

fn whole(plan: &Plan) -> Facts {
    let mut facts = vec![
        ("name".to_owned(), plan.name.clone()),
        ("order of the joints".to_owned(), if plan.in_order { "binds" } else { "free" }.to_owned()),
    ];
    facts.extend(plan.holds.iter().map(|hold| {
        let cure = match hold.cure {
            Cure::Slacken => "too early: slacken and pull again",
            Cure::PullAgain => "too early: pull again",
        };
        (format!("hold {}", hold.name), format!("{} ({cure})", hold.text))
    }));
    let around = &plan.around;
    facts.extend(
        around.opened.iter().map(|item| (format!("opened: {}", item.name), item.text.clone())),
    );
    facts.extend(
        around.temporary.iter().map(|item| (format!("put in: {}", item.name), item.text.clone())),
    );
    facts.extend(
        around.as_found.iter().map(|item| (format!("as found: {}", item.name), item.text.clone())),
    );
    facts.extend(
        around.closing.iter().map(|item| (format!("closing: {}", item.name), item.text.clone())),
    );
    facts
}

fn facts(plan: &Plan, step: &Step) -> Facts {
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let mut facts: Facts = vec![
        ("title".to_owned(), text(&step.title)),
        (
            "fasteners".to_owned(),
            match step.pattern {
                Pattern::Single => "one".to_owned(),
                Pattern::Ring => format!("ring of {}", step.members),
                Pattern::Line => step.members.to_string(),
            },
        ),
        (
            "pitch circle".to_owned(),
            step.pitch_circle_mm.map(|mm| format!("{mm} mm")).unwrap_or_default(),
        ),
    ];
    let many = step.passes.len() > 1;
    for (index, pass) in step.passes.iter().enumerate() {
        let what = if many { format!("pass {}", index + 1) } else { "pass".to_owned() };
        facts.push((what, show_pass(plan, step, pass)));
    }
    let holds: Vec<&str> = step.holds.iter().map(|&hold| plan.holds[hold].text.as_str()).collect();
    let mut after: Vec<&str> = step.after.iter().map(|&at| plan.step(at).group.as_str()).collect();
    after.sort_unstable();
    facts.push(("first".to_owned(), holds.join(" ")));
    facts.push(("after".to_owned(), after.join(", ")));
    let flags = [
        (step.left_hand, "left-hand thread"),
        (step.turned_to_reach, "part turned to reach"),
        (step.no_recheck, "never pulled again"),
        (step.identity == Identity::Shown, "each fastener must be shown"),
        (step.life_critical, "life-critical"),
    ];
    for (flag, what) in flags {
        facts.push((what.to_owned(), if flag { "yes" } else { "no" }.to_owned()));
    }
    facts.extend([
        ("thread".to_owned(), text(&step.thread)),
        ("socket".to_owned(), text(&step.socket)),
        ("condition".to_owned(), text(&step.condition)),
        ("source".to_owned(), text(&step.source)),
        ("rules".to_owned(), show_rules(&step.rules).join(" ")),
        ("notes".to_owned(), step.notes.join("; ")),
    ]);
    facts
}

fn compare(joint: Option<&str>, from: &Facts, to: &Facts, changes: &mut Vec<Change>) {
    let find = |facts: &Facts, what: &str| {
        facts.iter().find(|(other, _)| other == what).map(|(_, text)| text.clone())
    };
    let new = to.iter().filter(|(what, _)| find(from, what).is_none());
    for (what, _) in from.iter().chain(new) {
        let texts = (find(from, what).unwrap_or_default(), find(to, what).unwrap_or_default());
        if texts.0 != texts.1 {
            changes.push(Change::Other {
                joint: joint.map(str::to_owned),
                what: what.clone(),
                from: texts.0,
                to: texts.1,
            });
        }
    }
}

/// One line for a person.
impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let said =
            |text: &str| if text.is_empty() { "nothing".to_owned() } else { text.to_owned() };
        match self {
            Self::Gone { joint } => write!(f, "{joint}: no longer in the plan"),
            Self::New { joint, asks } => write!(f, "{joint}: new: {asks}"),
            Self::Moved { order } => write!(f, "order of the joints now: {}", order.join(", ")),
            Self::Other { joint, what, from, to } => {
                let joint = joint.as_deref().unwrap_or("plan");
                write!(f, "{joint}: {what}: {} → {}", said(from), said(to))
            }
        }
    }
}
