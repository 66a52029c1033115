//! Two plans compared, and what a plan needs laid out.

use super::{good, sample};
use clampbook::core::plan::{Change, diff, gather};
use insta::assert_snapshot;

fn changes(from: &str, to: &str) -> String {
    let changes = diff(&good(from).plan, &good(to).plan);
    changes.iter().map(|change| format!("{change}\n")).collect()
}

#[test]
fn a_plan_does_not_differ_from_itself_however_its_lines_look() {
    let text = sample("whole-corner.toml");
    assert_eq!(changes(&text, &text), "");
    let plain = "plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\n[joints]\na = \"75 lbf·ft\"\nb = \"9 N·m\"\n";
    let other = "# Another layout.\nsource = 's'\nplan = \"p\"\n[joints.b]\ntarget = \"9 Nm ±10 %\"\n[joints.a]\ntarget = \"75 ft-lb\"\ntolerance = \"±10 %\"\n";
    assert_eq!(changes(plain, other), "");
}

#[test]
fn differences_are_told_joint_by_joint() {
    let from = sample("first-corner.toml");
    let to = from
        .replace("target = \"26 N·m\"", "target = \"28 N·m ±5 %\"")
        .replace("line = 2", "line = 3")
        .replace("no-recheck = true\n", "")
        .replace("cure = \"pull-again\"", "cure = \"slacken\"")
        .replace("[joints.trailing-arm-pivot]", "[joints.arm-pivot]\nafter = \"slide-pins\"")
        .replace("order = \"1-4-2-5-3-6\"\n", "order = \"1-2-3-4-5-6\"\n");
    assert_snapshot!(changes(&from, &to));
}

#[test]
fn another_order_is_only_told_where_it_binds() {
    let text = |order: bool, joints: &str| {
        format!(
            "plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\nin-order = {order}\n[joints]\n{joints}"
        )
    };
    let (ab, ba) = ("a = \"9 N·m\"\nb = \"8 N·m\"\n", "b = \"8 N·m\"\na = \"9 N·m\"\n");
    assert_eq!(changes(&text(false, ab), &text(false, ba)), "");
    assert_eq!(changes(&text(true, ab), &text(true, ba)), "order of the joints now: b, a\n");
}

#[test]
fn a_difference_is_data_too() {
    let one =
        good("plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\n[joints]\na = \"9 N·m\"\n").plan;
    let two =
        good("plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\n[joints]\nb = \"9 N·m\"\n").plan;
    let found = diff(&one, &two);
    assert_eq!(found[0], Change::Gone { joint: "a".to_owned() });
    assert_eq!(
        serde_json::to_string(&found).unwrap(),
        r#"[{"change":"gone","joint":"a"},{"change":"new","joint":"b","asks":"one; 9 N·m, 8.10–9.90 N·m"}]"#
    );
}

#[test]
fn what_a_plan_needs_is_laid_out_by_kind() {
    let all: Vec<String> = ["held-and-reached", "locked-threads", "first-to-last", "to-look-up"]
        .iter()
        .map(|name| {
            let plan = good(&sample(&format!("{name}.toml"))).plan;
            format!("{name}\n{}", gather(&plan))
        })
        .collect();
    assert_snapshot!(all.join("\n"));
}
