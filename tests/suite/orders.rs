//! Orders of rows, covers and clamps: what is judged, and what is not.

use crate::story::{inputs, sample_plan};
use clampbook::core::event::{Conclusion, Ending, WarningCode};
use clampbook::core::plan::Plan;
use clampbook::core::tracker::Tracker;

/// Every warning's code, every verdict's member and which are open, of these members pulled one after another.
fn told(
    group: &str,
    nm: f64,
    members: &[u16],
    marked: bool,
) -> (Vec<WarningCode>, Vec<u16>, Vec<bool>) {
    let plan: Plan = sample_plan("rows-and-covers");
    let mut story = "0 adapter small 5 100 rotation\n".to_owned();
    for member in members {
        if marked {
            story.push_str(&format!("+5 at {group}/{member}\n"));
        }
        story.push_str(&format!("+9 pull {nm} turn 30\n"));
    }
    let mut tracker = Tracker::new(plan);
    let (mut warnings, mut seen) = (Vec::new(), Vec::new());
    for input in inputs(&story) {
        for conclusion in tracker.step(input).conclusions {
            match conclusion {
                Conclusion::Warning(warning) => warnings.push(warning.code),
                Conclusion::Verdict(verdict) => {
                    let name = verdict.fastener.unwrap();
                    seen.push(name.rsplit_once('/').unwrap().1.parse().unwrap());
                }
            }
        }
    }
    let summary = tracker.summary();
    let its_own = summary.fasteners.iter().filter(|(name, _)| name.starts_with(group));
    (warnings, seen, its_own.map(|(_, ending)| *ending == Ending::Open).collect())
}

const ROW: (&str, f64, u16) = ("bearing-row", 64.0, 5);
const SPIRAL: (&str, f64, u16) = ("axle-cover", 32.0, 9);

/// A group's name, torque and size, and members as they are pulled.
type Case = ((&'static str, f64, u16), &'static [u16], bool);

const CASES: [Case; 10] = [
    (ROW, &[3, 4, 2, 5, 1], true),
    (ROW, &[3, 4, 5, 1], true),
    (ROW, &[4, 2, 5, 1], true),
    (ROW, &[1], false),
    // One mark alone may be mis-said.
    (ROW, &[3, 5, 4, 2], false),
    (ROW, &[3, 2, 1, 4, 5], false),
    (SPIRAL, &[5, 6, 9, 8, 7, 4, 1, 2, 3], true),
    (SPIRAL, &[5, 6, 8, 7, 4, 1, 2, 3], true),
    (SPIRAL, &[1, 2, 3], false),
    (SPIRAL, &[5, 6, 9, 8, 1], false),
];

#[test]
fn an_order_is_called_crooked_once_where_it_is_no_beginning_of_the_plans() {
    for ((group, nm, _), members, fine) in CASES {
        let (warnings, seen, _) = told(group, nm, members, true);
        let crooked = warnings.iter().filter(|code| **code == WarningCode::Order).count();
        assert_eq!(crooked, usize::from(!fine), "{group} {members:?}: {warnings:?}");
        assert_eq!(seen, members, "{group}");
    }
}

#[test]
fn counted_from_the_other_end_everything_is_judged_alike() {
    for ((group, nm, n), members, _) in CASES {
        let mirrored: Vec<u16> = members.iter().map(|member| n + 1 - member).collect();
        let (warnings, seen, mut open) = told(group, nm, members, true);
        let (other_warnings, other_seen, other_open) = told(group, nm, &mirrored, true);
        open.reverse();
        let seen: Vec<u16> = seen.iter().map(|member| n + 1 - member).collect();
        assert_eq!(
            (warnings, seen, open),
            (other_warnings, other_seen, other_open),
            "{group} {members:?}"
        );
    }
}

#[test]
fn who_does_not_know_the_places_says_nothing_of_the_order() {
    for ((group, nm, _), members, _) in CASES {
        let (warnings, ..) = told(group, nm, members, false);
        assert!(!warnings.contains(&WarningCode::Order), "{group} {members:?}: {warnings:?}");
    }
}
