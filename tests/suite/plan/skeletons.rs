//! Plans made from skeletons and from other plans: text in, text out.

use crate::plan::{good, samples};
use clampbook::core::plan::{
    Code, Expect, Pattern, SKELETONS, Severity, Side, Skeleton, Step, Wishes, make, read_back,
    typed_lines,
};

const CORNER: &str = r#"# Made by hand.
plan = "Rear left corner"  # the name
vin = "LEFT0000000000000"
vehicle = "left-hand drive van, left door dented"

[holds]
ride-height = "Left and right at normal height?"
seated = { ask = "Seated?", cure = "pull-again" }

[joints]
hub-nut = "?"  # staked
Left-Out = "?"

# The left arm.
[joints.left-arm]
title = "Left arm, LEFT"
target = "?"  # cold
tolerance = "±5 %"
passes = ["by hand", "50 %", { target = "final", hold = "ride-height" }]
after = ["hub-nut", "right-link"]
notes = ["left out of the kit, upright on the left", "left-hand thread", "at a right angle"]

[joints.right-link]
target = "?"
hold = "seated"
left-hand = true
after = "hub-nut"
"#;

pub fn corner() -> String {
    CORNER.replace("Left-Out = \"?\"\n", "")
}

/// The lines that went and the lines that came, in order.
fn changes(from: &str, to: &str) -> String {
    let (from, to): (Vec<&str>, Vec<&str>) = (from.lines().collect(), to.lines().collect());
    // Length of the longest common rest from each pair of lines on.
    let mut common = vec![vec![0; to.len() + 1]; from.len() + 1];
    for i in (0..from.len()).rev() {
        for j in (0..to.len()).rev() {
            common[i][j] = if from[i] == to[j] {
                common[i + 1][j + 1] + 1
            } else {
                common[i + 1][j].max(common[i][j + 1])
            };
        }
    }
    let (mut i, mut j, mut said) = (0, 0, String::new());
    while i < from.len() || j < to.len() {
        if i < from.len() && j < to.len() && from[i] == to[j] {
            (i, j) = (i + 1, j + 1);
        } else if j == to.len() || (i < from.len() && common[i + 1][j] >= common[i][j + 1]) {
            said += &format!("-{}\n", from[i]);
            i += 1;
        } else {
            said += &format!("+{}\n", to[j]);
            j += 1;
        }
    }
    said
}

/// Makes a plan of `base` and returns what changed, then what was remarked; or every problem.
pub fn made(base: &str, wishes: &Wishes) -> String {
    match make(base, wishes) {
        Ok(made) => {
            let remarks: String =
                made.remarks.iter().map(|remark| format!("! {remark}\n")).collect();
            changes(base, &made.text) + &remarks
        }
        Err(problems) => problems.iter().map(|problem| format!("{problem}\n")).collect(),
    }
}

pub fn values(text: &str) -> Wishes {
    Wishes { values: typed_lines("list", text), ..Wishes::default() }
}

#[track_caller]
pub fn check_made(base: &str, wishes: &Wishes, expected: &str) {
    assert_eq!(made(base, wishes), expected, "made with {wishes:?}");
}

#[test]
fn every_skeleton_parses_with_nothing_but_values_to_look_up() {
    for Skeleton { name, text } in SKELETONS {
        let file = good(text);
        let others: Vec<String> = file
            .faults
            .iter()
            .filter(|fault| fault.code != Code::LookUp || fault.severity != Severity::Note)
            .map(ToString::to_string)
            .collect();
        assert_eq!(others, Vec::<String>::new(), "{name}");
        let joints = text.matches("\n[joints.").count();
        assert_eq!(text.matches("\ntarget = \"?\"\n").count(), joints, "{name}");
        let waits = |step: &Step| {
            step.passes
                .iter()
                .all(|pass| matches!(pass.expect, Expect::ToBeLookedUp | Expect::ByHand))
        };
        assert!(file.plan.steps.iter().all(waits), "{name}");
    }
}

#[test]
fn every_skeleton_carries_conditions_patterns_order_and_no_number_that_could_be_a_value() {
    for skeleton in SKELETONS {
        let Skeleton { name, text } = skeleton;
        let plan = good(text).plan;
        assert!(
            !skeleton.about().is_empty() && text.starts_with(&format!("# {}", skeleton.about())),
            "{name}"
        );
        assert!(!plan.holds.is_empty(), "{name} has holds");
        assert!(plan.steps.iter().any(|step| step.pattern == Pattern::Ring), "{name} has a ring");
        let single_use =
            |step: &Step| step.notes.iter().any(|note| note.starts_with("single use: "));
        assert!(
            *name == "wheels" || plan.steps.iter().any(single_use),
            "{name} has single-use parts"
        );
        let waits = plan.steps.iter().any(|step| !step.after.is_empty());
        assert!(*name == "wheels" || waits, "{name} has an order");
        for (index, line) in text.lines().enumerate() {
            let key = line.split(" = ").next().unwrap();
            let counted = ["ring", "line", "passes", "order"].contains(&key);
            let digit = line.contains(|c: char| c.is_ascii_digit());
            assert!(counted || !digit, "{name}:{}: a number: {line}", index + 1);
        }
        let words = text.split(|c: char| !c.is_alphanumeric()).collect::<Vec<_>>();
        let other_side = words.windows(2).filter(|pair| pair[0] == "right" && pair[1] != "angle");
        assert!(*name == "wheels" || other_side.count() == 0, "{name} is for the left alone");
        for unit in ["N·m", "Nm", "lbf", "kgf", "mm"] {
            assert!(!text.contains(unit), "{name} has a unit: {unit}");
        }
    }
}

#[test]
fn every_skeleton_but_that_of_all_wheels_can_be_for_either_side_and_back_again() {
    for Skeleton { name, text } in SKELETONS {
        let other = |base: &str, side| {
            let made = make(base, &Wishes { side: Some(side), ..Wishes::default() });
            made.map(|made| made.text)
        };
        if *name == "wheels" {
            assert!(other(text, Side::Right).is_err());
            continue;
        }
        let right = other(text, Side::Right).unwrap();
        let lower = right.to_lowercase();
        assert!(!lower.contains("left-wheel") && !lower.contains("left wheel"), "{name}: {right}");
        assert!(lower.contains("right-wheel"), "{name}: {right}");
        assert_eq!(other(&right, Side::Left).unwrap(), *text, "{name}");
        assert_eq!(other(text, Side::Left).unwrap(), *text, "{name}");
    }
}

#[test]
fn a_mirrored_plan_changes_the_side_in_names_and_texts_and_nothing_else() {
    check_made(
        &corner(),
        &Wishes { side: Some(Side::Right), ..Wishes::default() },
        r#"-plan = "Rear left corner"  # the name
+plan = "Rear right corner"  # the name
-ride-height = "Left and right at normal height?"
+ride-height = "Right and left at normal height?"
-# The left arm.
-[joints.left-arm]
-title = "Left arm, LEFT"
+# The right arm.
+[joints.right-arm]
+title = "Right arm, RIGHT"
-after = ["hub-nut", "right-link"]
-notes = ["left out of the kit, upright on the left", "left-hand thread", "at a right angle"]
+after = ["hub-nut", "left-link"]
+notes = ["left out of the kit, upright on the right", "left-hand thread", "at a right angle"]
-[joints.right-link]
+[joints.left-link]
! `left-link` has a left-hand thread here: look up which way it turns on the other side
"#,
    );
    check_made(&corner(), &Wishes { side: Some(Side::Left), ..Wishes::default() }, "");
    check_made(
        "plan = \"Copyright\"\nsource = \"s\"\n[joints]\nbright-bolt = \"?\"\n",
        &Wishes { side: Some(Side::Left), ..Wishes::default() },
        "--mirror: error: expected a plan for one side, but found no side in its name and its joints; write the side into the name of the plan, like `Front left corner`\n",
    );
}

#[test]
fn a_plate_goes_with_its_vehicle_too() {
    check_made(
        &corner().replace("vin = ", "plate = \"ORV 4417\"\nvin = "),
        &Wishes { vehicle: Some("Orvane Dray 3".to_owned()), ..Wishes::default() },
        "-plate = \"ORV 4417\"\n-vin = \"LEFT0000000000000\"\n-vehicle = \"left-hand drive van, left door dented\"\n\
         +vehicle = \"Orvane Dray 3\"\n\
         ! the VIN was taken out: it belonged to the vehicle before\n\
         ! the plate was taken out: it belonged to the vehicle before\n",
    );
}

#[test]
fn tolerance_source_and_vehicle_are_given_once_and_a_vin_goes_with_its_vehicle() {
    let expected = "-vin = \"LEFT0000000000000\"\n-vehicle = \"left-hand drive van, left door dented\"\n\
         +vehicle = \"Orvane Dray 3\"\n+tolerance = \"±8 %\"\n+source = \"sheet 12-07: page 3\"\n\
         ! the VIN was taken out: it belonged to the vehicle before\n";
    check_made(
        &corner(),
        &values("tolerance ±8 %\nSource: \"sheet 12-07: page 3\"\nvehicle Orvane Dray 3\n"),
        expected,
    );
    check_made(
        &corner(),
        &Wishes {
            tolerance: Some("±8 %".to_owned()),
            source: Some("sheet 12-07: page 3".to_owned()),
            vehicle: Some("Orvane Dray 3".to_owned()),
            ..Wishes::default()
        },
        expected,
    );
}

#[test]
fn what_was_read_is_read_back_and_what_waits_is_named() {
    let base = Skeleton::find("drum-brake").unwrap().text;
    let wishes = Wishes {
        tolerance: Some("±8 %".to_owned()),
        ..values(
            "back-plate 50 ft-lb\nbrake-pipe min 12 Nm\ndrum-screw by hand\nhand-brake-lever none\nwheel cylinder 9 Nm ±1 Nm",
        )
    };
    assert_eq!(
        read_back(&make(base, &wishes).unwrap().file.plan),
        r#"Rear left drum brake:
  back-plate        4 × 50 lbf·ft (67.8 N·m), 46.0–54.0 lbf·ft (62.4–73.2 N·m)
  wheel-cylinder    2 × 9 N·m, 8.00–10.00 N·m
  brake-pipe        12 N·m, at least 12.0 N·m
  drum-screw        by hand, no reading
  hand-brake-lever  no figure published
  still "?": rear-left-wheel
"#
    );
}

#[test]
fn every_sample_plan_stays_as_it_is_when_nothing_is_wished() {
    for (name, text) in samples("samples/plans") {
        assert_eq!(made(&text, &Wishes::default()), "", "{name}");
        assert_eq!(make(&text, &Wishes::default()).unwrap().text, text, "{name}");
    }
}
