//! Rechecks: what is due after a job, and the plan of the job that does it.

use crate::core::event::{Ending, Summary};
use crate::core::plan::{Around, Expect, Interval, Plan, Recheck, RecheckMethod, Step};
use crate::core::time::Stamp;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What is taken for a wheel whose plan says nothing of a recheck. The maker's own distance comes first.
pub const WHEEL: Interval = Interval { km: Some(80.0), days: Some(14) };

/// So many days after the job the program reminds of a recheck for which no day is set. Only the distance counts: at
/// some 12 000 km a year the usual 80 km are driven within three days, and after a week somebody still knows whether
/// they were. What is set for hundreds of kilometres is reminded of early rather than forgotten.
pub const REMINDER_DAYS: u16 = 7;

const SECONDS_A_DAY: f64 = 86_400.0;

/// A group that is to be pulled again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Due {
    /// The group's name.
    pub group: String,
    /// After so many kilometres, if a distance is set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub km: Option<f64>,
    /// By then, if a time is set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<Stamp>,
    /// Where no time is set: a day to remember it by, of the program's own. What is set counts, not this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reminder: Option<Stamp>,
    /// False: the plan says nothing, and this is what is usual for a wheel.
    pub in_plan: bool,
}

/// What is due after a job on `plan` that was closed at `closed` and ended so, in plan order. A group of which
/// everything is open has nothing to be pulled again.
#[must_use]
pub fn due(plan: &Plan, summary: &Summary, closed: Stamp) -> Vec<Due> {
    let done = |step: &Step| {
        let mut names = (1..=step.members).map(|member| format!("{}/{member}", step.group));
        names.any(|name| summary.fasteners.get(&name).is_some_and(|ending| *ending != Ending::Open))
    };
    let of = |step: &Step| {
        let recheck = wanted(step).filter(|_| done(step))?;
        Some(Due {
            group: step.group.clone(),
            km: recheck.km,
            by: recheck.days.map(|days| closed + f64::from(days) * SECONDS_A_DAY),
            reminder: recheck.days.is_none().then(|| reminder(closed)),
            in_plan: step.rules.recheck.is_some(),
        })
    };
    // A recheck asks for no other.
    match plan.already_tight {
        true => Vec::new(),
        false => plan.steps.iter().filter_map(of).collect(),
    }
}

/// When the program reminds of what has no day, after a job that was closed then.
#[must_use]
pub fn reminder(closed: Stamp) -> Stamp {
    closed + f64::from(REMINDER_DAYS) * SECONDS_A_DAY
}

/// The plan of the job that pulls again what is due after one on `plan`: one round at the final window; none
/// if nothing is due. Every fastener was tight before.
#[must_use]
pub fn plan(plan: &Plan) -> Option<Plan> {
    let steps: Vec<Step> = plan.steps.iter().filter_map(again).collect();
    (!steps.is_empty() && !plan.already_tight).then(|| Plan {
        name: format!("Recheck: {}", plan.name),
        in_order: false,
        holds: Vec::new(),
        steps,
        around: Around::default(),
        already_tight: true,
    })
}

fn again(step: &Step) -> Option<Step> {
    wanted(step)?;
    let closing =
        step.passes.iter().rfind(|pass| !pass.check && matches!(pass.expect, Expect::Window(_)))?;
    let mut pass = closing.clone();
    pass.ordered = false;
    pass.holds.clear();
    let mut rules = step.rules.clone();
    // How it is done stays; when is settled.
    let method = rules.recheck.as_ref().map_or(RecheckMethod::default(), |recheck| recheck.method);
    rules.recheck = Some(Recheck { method, when: None, after: Interval::default() });
    Some(Step { passes: vec![pass], holds: Vec::new(), after: Vec::new(), rules, ..step.clone() })
}

/// When a group is to be pulled again; none if it is not.
fn wanted(step: &Step) -> Option<Interval> {
    let after = match &step.rules.recheck {
        Some(recheck) if recheck.method == RecheckMethod::None => return None,
        // What is only said in words gets the usual date, if there is one.
        Some(recheck) if recheck.after.is_none() && step.is_wheel() => WHEEL,
        Some(recheck) => recheck.after,
        None => step.is_wheel().then_some(WHEEL)?,
    };
    let pulled = step.passes.iter().any(|pass| matches!(pass.expect, Expect::Window(_)));
    (!step.no_recheck && pulled).then_some(after)
}

#[cfg(test)]
mod tests {
    use super::{due, plan};
    use crate::core::event::Ending;
    use crate::core::plan::parse;
    use crate::core::time::Stamp;
    use crate::core::tracker::Tracker;

    const TEXT: &str = r#"plan = "Corner"
tolerance = "±10 %"
source = "sheet 1"
[joints]
hub-nut = "228 N·m"
[joints.wheel-bearing]
ring = 4
target = "70 N·m"
[joints.left-wheel-2]
ring = 6
target = "165 N·m"
passes = ["by hand", "80 N·m", "final", "check"]
[joints.spare-wheel]
ring = 5
target = "120 N·m"
recheck = "none"
[joints.clamp]
target = "9 N·m"
recheck = "1 week"
[joints.link]
target = "30 N·m"
recheck = "500 km"
[joints.strap]
target = "5 N·m"
recheck = "once it has been loaded"
"#;

    #[test]
    fn wheels_and_whatever_the_plan_says_are_due() {
        let file = parse(TEXT).unwrap();
        let mut summary = Tracker::new(file.plan.clone()).summary();
        assert_eq!(due(&file.plan, &summary, Stamp(0)), [], "nothing was tightened");
        for name in ["left-wheel-2/3", "spare-wheel/1", "hub-nut/1", "clamp/1", "link/1", "strap/1"]
        {
            summary.fasteners.insert(name.to_owned(), Ending::Counted);
        }
        let due = due(&file.plan, &summary, Stamp(0));
        let told: Vec<_> = due
            .iter()
            .map(|due| (due.group.as_str(), due.km, due.by, due.reminder, due.in_plan))
            .collect();
        let days = |days: i64| Some(Stamp(days * 86_400_000_000));
        assert_eq!(
            told,
            [
                ("left-wheel-2", Some(80.0), days(14), None, false),
                ("clamp", None, days(7), None, true),
                ("link", Some(500.0), None, days(7), true),
                ("strap", None, None, days(7), true),
            ]
        );
    }

    #[test]
    fn the_recheck_is_one_round_at_the_final_window() {
        let again = plan(&parse(TEXT).unwrap().plan).unwrap();
        assert_eq!(again.name, "Recheck: Corner");
        assert!(again.already_tight);
        let shape: Vec<_> = again
            .steps
            .iter()
            .map(|step| (step.group.as_str(), step.members, step.passes.len()))
            .collect();
        assert_eq!(
            shape,
            [("left-wheel-2", 6, 1), ("clamp", 1, 1), ("link", 1, 1), ("strap", 1, 1)]
        );
        assert_eq!(plan(&again), None, "a recheck asks for no other");
    }
}
