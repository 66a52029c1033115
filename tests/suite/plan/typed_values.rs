//! Values for a plan, as people type or paste them.

use crate::plan::faults;
use crate::plan::skeletons::{check_made, corner, made, values};
use clampbook::core::plan::{Severity, Skeleton, TypedLine, Wishes, make};

#[test]
fn a_value_is_read_however_it_is_typed_or_pasted() {
    for (line, expected) in [
        ("hub-nut 228 N·m", "228 N·m"),
        ("hub-nut=228 N·m", "228 N·m"),
        ("hub-nut = \"228 N·m ±5 %\"", "228 N·m ±5 %"),
        ("  Hub nut:\t228Nm  ", "228Nm"),
        ("HUB NUT 168 ft-lb", "168 ft-lb"),
        ("hub-nut;228;Nm", "228 Nm"),
        ("hub-nut,228,Nm", "228 Nm"),
        ("Hub nut, 102,5 Nm", "102,5 Nm"),
        ("hub nut | 23.3 | kgf·m", "23.3 kgf·m"),
        ("- hub nut 228 Nm", "228 Nm"),
        ("• hub nut 228 Nm", "228 Nm"),
        ("3. hub nut 228 Nm", "228 Nm"),
        ("12) hub nut 228 Nm", "228 Nm"),
        ("hub nut 220..236 N·m", "220..236 N·m"),
        ("hub nut min 200 Nm max 240 Nm", "min 200 Nm max 240 Nm"),
        ("hub nut none", "none"),
        ("hub nut by hand", "by hand"),
        ("hub-nut\u{a0}228\u{a0}N·m", "228 N·m"),
    ] {
        let expected = format!("-hub-nut = \"?\"  # staked\n+hub-nut = \"{expected}\"  # staked\n");
        assert_eq!(made(&corner(), &values(line)), expected, "{line}");
    }
    for line in ["", "   ", "# hub-nut 1 Nm", "hub-nut ?", ".\nhub-nut 228 N·m"] {
        assert_eq!(made(&corner(), &values(line)), "", "{line}");
    }
}

#[test]
fn a_value_may_say_how_many_and_may_leave_a_joint_out() {
    check_made(
        Skeleton::find("rear-leaf").unwrap().text,
        &values(
            "rear left wheel 6 × 165 N·m\nspring u-bolts 8x90 Nm\ncaliper-bracket 2*75 lbf·ft\n",
        ),
        r#"-line = 4
-target = "?"
+line = 8
+target = "90 Nm"
-order = "1-3-2-4"
-target = "?"
+target = "75 lbf·ft"
-ring = 5  # how many studs
-target = "?"
+ring = 6  # how many studs
+target = "165 N·m"
! `u-bolts` has another count now: its order was taken out
"#,
    );
    check_made(
        &corner(),
        &values("hub-nut 2 × 60 N·m\nleft arm 1 × 92 N·m\n"),
        r#"-hub-nut = "?"  # staked
+hub-nut = { target = "60 N·m", line = 2 }
-target = "?"  # cold
+target = "92 N·m"  # cold
"#,
    );
    check_made(
        &corner(),
        &Wishes { without: vec!["Hub nut".to_owned()], ..values("right-link -\n") },
        r#"-seated = { ask = "Seated?", cure = "pull-again" }
-hub-nut = "?"  # staked
-after = ["hub-nut", "right-link"]
-
-[joints.right-link]
-target = "?"
-hold = "seated"
-left-hand = true
-after = "hub-nut"
"#,
    );
    check_made(
        Skeleton::find("disc-brake").unwrap().text,
        &values("caliper-bracket -\nbrake hose to caliper -\nhose-bracket -"),
        r#"-disc-on = { ask = "Disc on, flat against the hub?", cure = "pull-again" }
-[joints.caliper-bracket]
-title = "Caliper bracket"
-line = 2
-target = "?"
-passes = ["50 %", "final", "check"]
-hold = "disc-on"
-after = "disc-screw"
-notes = [
-    "single use: new bolts, or clean threads and new threadlocker",
-    "check within the working time of the threadlocker",
-]
-
-after = "caliper-bracket"
+after = "disc-screw"
-[joints.hose-bracket]
-title = "Brake hose bracket"
-target = "?"
-notes = "hose not twisted, clear of wheel and spring in every position"
-
-[joints.hose-to-caliper]
-title = "Brake hose to caliper"
-target = "?"
-after = "slide-pins"
-notes = [
-    "only if the hose was open",
-    "single use: new sealing washers, both",
-    "bleed and look for leaks",
-]
-
-after = ["slide-pins", "hose-bracket", "hose-to-caliper"]
+after = "slide-pins"
"#,
    );
}

#[test]
fn a_value_replaces_what_the_older_plan_said_of_the_joint() {
    let old = "plan = \"P\"\nsource = \"s\"\ntolerance = \"±8 %\"\n[joints]\n\
        a = { target = \"100 N·m\", tolerance = \"±3 %\", passes = [\"50 %\", \"100 N·m\"] }\n\
        b = { passes = [\"by hand\", { target = \"90 N·m\", name = \"last\" }, \"check\"] }\n\
        c = { target = \"80 N·m\", passes = [\"50 %\", \"final\", \"check\"] }\n";
    check_made(
        old,
        &values("a 110 N·m ±5 %\nb 95 N·m\nc by hand\n"),
        "-a = { target = \"100 N·m\", tolerance = \"±3 %\", passes = [\"50 %\", \"100 N·m\"] }\n\
         -b = { passes = [\"by hand\", { target = \"90 N·m\", name = \"last\" }, \"check\"] }\n\
         -c = { target = \"80 N·m\", passes = [\"50 %\", \"final\", \"check\"] }\n\
         +a = { target = \"110 N·m ±5 %\", passes = [\"50 %\", \"final\"] }\n\
         +b = { passes = [\"by hand\", { target = \"final\", name = \"last\" }, \"check\"] , target = \"95 N·m\" }\n\
         +c = { target = \"by hand\", passes = [\"final\"] }\n",
    );
    check_made(
        old,
        &values("c none\n"),
        "-c = { target = \"80 N·m\", passes = [\"50 %\", \"final\", \"check\"] }\n\
         +c = { target = \"none\", passes = [\"final\", \"check\"] }\n",
    );
}

#[test]
fn every_line_with_a_problem_is_named_with_its_remedy() {
    let base = Skeleton::find("rear-links-driven").unwrap().text;
    let known = "known here: bearing-unit, half-shaft-flange, speed-sensor-screw, disc-screw, \
         caliper-bracket, slide-pins, hose-bracket, toe-link-outer, camber-link-inner, \
         trailing-arm-pivot, damper-lower-eye, bar-link, hub-nut, rear-left-wheel";
    for (line, expected) in [
        (
            "hubnut 228 Nm",
            "expected the name of a joint, but found `hubnut`; did you mean `hub-nut`?",
        ),
        (
            "caliper 30 Nm",
            "expected the name of a joint, but found `caliper`; did you mean `caliper-bracket`?",
        ),
        ("flarb 30 Nm", &format!("expected the name of a joint, but found `flarb`; {known}")),
        ("flarb", &format!("expected the name of a joint, but found `flarb`; {known}")),
        (
            "bar-link-left 46 Nm",
            "expected the name of a joint, but found `bar-link-left`; both sides take one value: write `bar-link`",
        ),
        (
            "228 Nm",
            "expected the name of a joint first, but found `228 Nm`; write it like `hub-nut 228 N·m`",
        ),
        (
            "hub-nut",
            "expected a value for `hub-nut`, but found none; write it like `hub-nut 228 N·m`; `?` if it is still to be looked up",
        ),
        (
            "hub-nut 228",
            "expected a unit after `228`, but found none; write it like `228 N·m`, or use lbf·ft, lbf·in, ozf·in, kgf·m or kgf·cm",
        ),
        (
            "hub-nut 30 lb",
            "expected a torque unit, but found `lb`, which may mean foot or inch; write `lbf·ft` or `lbf·in`",
        ),
        (
            "hub-nut 1,500 Nm",
            "expected a plain number, but found `1,500`, which reads two ways; write `1500` or `1.500`",
        ),
        (
            "hub-nut 50 %",
            "expected a torque for `hub-nut`, but found `50 %`; write it like `228 N·m`; shares belong in the passes of the plan",
        ),
        (
            "hub-nut final",
            "expected a torque for `hub-nut`, but found `final`; write it like `228 N·m`; shares belong in the passes of the plan",
        ),
        (
            "hub-nut 10 Nm ±12 Nm",
            "expected a window above zero, but found a tolerance that takes 10 N·m down to -2.00; give a smaller tolerance",
        ),
        (
            "hub-nut 99999 Nm",
            "expected at most 5000 N·m, but found 99999 N·m; look at the unit and at the decimal sign",
        ),
        (
            "rear-left-wheel 0 × 9 Nm",
            "expected how many fasteners before the ×, but found `0`; write it like `6 × 165 N·m`",
        ),
        (
            "tolerance 8",
            "expected a tolerance, but found `8`; write it like `±10 %` or `+5/-0 N·m`",
        ),
        ("source", "expected a text for `source`, but found none; write it, or leave it out"),
        (
            "hub-nut \u{1b}[31m228 Nm",
            "expected one line of plain text, but found a control character; write it again by hand",
        ),
    ] {
        assert_eq!(made(base, &values(line)), format!("list:1: error: {expected}\n"), "{line}");
    }
    check_made(
        base,
        &Wishes {
            tolerance: Some("much".to_owned()),
            without: vec!["hub-nuts".to_owned()],
            ..values("hub-nut 228 Nm\n\nhub-nut 228 Nm\nhub-nut 230 Nm\nslide-pins 26\n")
        },
        "list:4: error: expected `hub-nut` once, but found it again with another value; keep this line or the one at list:1\n\
         list:5: error: expected a unit after `26`, but found none; write it like `26 N·m`, or use lbf·ft, lbf·in, ozf·in, kgf·m or kgf·cm\n\
         --without: error: expected the name of a joint, but found `hub-nuts`; did you mean `hub-nut`?\n\
         --tolerance: error: expected a tolerance, but found `much`; write it like `±10 %` or `+5/-0 N·m`\n",
    );
    check_made(
        base,
        &values("rear-left-wheel 65 × 9 Nm"),
        "the new plan:135:8: error: expected 1 to 64 in `ring`, but found 65; count the fasteners of one ring or row; split a larger group\n",
    );
    check_made(
        "plan = 3",
        &Wishes::default(),
        "the plan to start from:1:1: error: expected at least one joint, but found none; write `[joints]` and below it a line such as `hub-nut = \"228 N·m\"`\n\
         the plan to start from:1:8: error: expected text for `plan`, but found the number 3; put it in double quotes\n",
    );
}

#[test]
fn no_line_whatever_makes_a_plan_that_cannot_be_used() {
    let base = Skeleton::find("trailer-hub").unwrap().text;
    let parts = ["-", "=", "6", "×", "70", "N·m", "?", "±", "%", ",", "\"", "\\"];
    for a in parts {
        for b in parts {
            for c in parts {
                let line = format!("hub-nut {a} {b}{c}");
                let wishes = Wishes {
                    values: vec![TypedLine { place: "x".to_owned(), text: line.clone() }],
                    ..Wishes::default()
                };
                if let Ok(made) = make(base, &wishes) {
                    let errors =
                        made.file.faults.iter().filter(|fault| fault.severity == Severity::Error);
                    assert_eq!(errors.count(), 0, "{line}");
                    assert_eq!(
                        faults(&made.text).lines().count(),
                        made.file.faults.len(),
                        "{line}"
                    );
                }
            }
        }
    }
}
