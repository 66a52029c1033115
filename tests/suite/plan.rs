//! The plan parser, seen from outside: text in, plan or faults out.

mod compare;
mod faults;
mod given;
mod import;
mod include;
mod kept;
mod properties;
mod review;
mod rules;
mod schema;
mod skeletons;
mod typed_values;

use clampbook::core::plan::{
    Cure, Expect, Fault, Pattern, Plan, PlanFile, Step, centre_order, cross_order, parse, show,
};
use std::path::PathBuf;

/// Every fault, one a line, as a person sees it.
fn faults(text: &str) -> String {
    let list: Vec<Fault> = match parse(text) {
        Ok(file) => file.faults,
        Err(faults) => faults,
    };
    let lines: Vec<String> = list.iter().map(|fault| format!("{fault}\n")).collect();
    lines.concat()
}

#[track_caller]
fn check_faults(text: &str, expected: &str) {
    assert_eq!(faults(text), expected, "faults of:\n{text}");
}

#[track_caller]
fn good(text: &str) -> PlanFile {
    match parse(text) {
        Ok(file) => file,
        Err(_) => panic!("not parsed:\n{}", faults(text)),
    }
}

fn samples(folder: &str) -> Vec<(String, String)> {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut samples: Vec<(String, String)> = std::fs::read_dir(root)
        .expect("a readable sample")
        .map(|entry| entry.expect("a readable sample").path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "toml"))
        .map(|path| {
            let name = path.file_name().expect("a readable sample").to_string_lossy().into_owned();
            (name, std::fs::read_to_string(&path).expect("a readable sample"))
        })
        .collect();
    samples.sort();
    samples
}

fn sample(name: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("samples/plans").join(name);
    std::fs::read_to_string(path).expect("a readable sample")
}

#[test]
fn every_sample_parses_and_survives_json() {
    let samples = samples("samples/plans");
    assert!(samples.len() >= 6, "samples are missing");
    for (name, text) in samples {
        let plan = good(&text).plan;
        let json = serde_json::to_string(&plan).expect("a readable sample");
        let back: Plan = serde_json::from_str(&json).expect("a readable sample");
        assert_eq!(back, plan, "{name}");
    }
}

#[test]
fn the_plan_of_the_manual_parses_without_a_word() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("samples/README.md");
    let manual = std::fs::read_to_string(path).expect("a readable manual");
    let plans: Vec<&str> = manual
        .split("```toml\n")
        .skip(1)
        .filter_map(|rest| rest.split_once("```").map(|(plan, _)| plan))
        .collect();
    assert!(!plans.is_empty());
    for plan in plans {
        check_faults(plan, "");
        good(plan);
    }
}

#[test]
fn the_first_corner_is_shown_in_plain_words() {
    let expected = "\
Rear left corner, second evening
4 joints, 15 fasteners: in any order.

1. half-shaft-flange: ring of 6, M10×1.5, class 10.9, socket 8 mm hex bit
   Turn the part so that each fastener comes to the hand.
   Pass 1: 35 N·m, 26.3–43.7 N·m; order 1-4-2-5-3-6
   Pass 2: 68 N·m, 62.6–73.4 N·m; order 1-4-2-5-3-6
   Do not pull again once done.
   Note: new pre-coated bolts
   Note: hold the shaft
   Values from: invented sheet, Dray 3, rear axle

2. slide-pins: 2 fasteners, M8×1.25, class 8.8, socket 13, clean
   26 N·m, 23.4–28.6 N·m; in any order
   Note: new bolts
   Note: hold the pin, 14 spanner
   Values from: invented sheet, Dray 3, rear axle

3. trailing-arm-pivot: one fastener, M16×1.5, class 10.9, socket 24
   Pass 1: by hand, no reading
   Pass 2: 178 N·m, 167.4–188.6 N·m; first: Hub to arch 512 ± 5 mm, supported under the knuckle?
   Note: head held
   Note: new prevailing-torque nut, value as published
   Values from: invented sheet, Dray 3, rear axle

4. rear-left-wheel: ring of 6, M14×1.5, class 10.9, socket 22, faces clean, dry
   Pass 1: by hand, no reading; order 1-4-2-5-3-6
   Pass 2: 80 N·m, 60.0–100.0 N·m; order 1-4-2-5-3-6
   Pass 3: 165 N·m, 148.5–181.5 N·m; order 1-4-2-5-3-6; first: Tyre just touching the ground, wheels chocked?
   Note: paint mark on each nut
   Note: recheck cold at 80 km
   Values from: invented sheet, Dray 3, rear axle

To be confirmed where it says so:
   ride-height: Hub to arch 512 ± 5 mm, supported under the knuckle? Pulled too early: slacken, let it settle, pull again.
   tyre-touching: Tyre just touching the ground, wheels chocked? Pulled too early: pull again.
";
    assert_eq!(show(&good(&sample("first-corner.toml")).plan), expected);
}

/// The plan of one joint.
fn joint(lines: &str) -> PlanFile {
    let top = "plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\n";
    let holds = "[holds]\nheight = \"At height?\"\n";
    good(&format!("{top}{holds}[joints.j]\n{lines}\n"))
}

/// Target, limits and order of each pass of a plan of one joint.
#[track_caller]
fn check_passes(lines: &str, expected: &[&str]) {
    let step: Step = joint(lines).plan.steps[0].clone();
    let shown: Vec<String> = step
        .passes
        .iter()
        .map(|pass| {
            let order: Vec<String> = pass.order.iter().map(u16::to_string).collect();
            let expect = match &pass.expect {
                Expect::Window(window) => format!("{} in {window}", window.stated),
                Expect::ByHand => "by hand".to_owned(),
                Expect::NoFigure => "none".to_owned(),
                Expect::ToBeLookedUp => "?".to_owned(),
            };
            let check = if pass.check { " check" } else { "" };
            let bound = if pass.ordered { " bound" } else { "" };
            format!("{}: {expect}{check}; {}{bound}", pass.name, order.join("-"))
        })
        .collect();
    assert_eq!(shown, expected, "{lines}");
}

#[test]
fn passes_take_their_windows_from_the_joint_the_pass_or_the_loose_rule() {
    check_passes("target = \"100 N·m\"", &["100 N·m: 100 N·m in 90.0–110.0 N·m; 1"]);
    check_passes(
        "ring = 4\ntarget = \"100 N·m ±5 %\"\npasses = [\"by hand\", \"50 %\", \"90 N·m\", \"final\", \"check\"]",
        &[
            "by hand: by hand; 1-3-2-4 bound",
            "50 N·m: 50 N·m in 37.5–62.5 N·m; 1-3-2-4 bound",
            "90 N·m: 90 N·m in 67.5–100.0 N·m; 1-3-2-4 bound",
            "100 N·m: 100 N·m in 95.0–105.0 N·m; 1-3-2-4 bound",
            "check round: 100 N·m in 95.0–105.0 N·m check; 1-2-3-4",
        ],
    );
    check_passes(
        "line = 2\npasses = [{ target = \"40 N·m\", tolerance = \"±5 N·m\" }, \"102 N·m +8/-0 N·m\"]",
        &["40 N·m: 40 N·m in 35.0–45.0 N·m; 1-2", "102 N·m: 102 N·m in 102.0–110.0 N·m; 1-2"],
    );
    check_passes(
        "line = 3\norder = [2, 1, 3]\ntarget = \"?\"\npasses = [\"30 %\", \"final\"]",
        &["to be looked up: ?; 2-1-3 bound", "to be looked up: ?; 2-1-3 bound"],
    );
    check_passes("target = \"by hand\"", &["by hand: by hand; 1"]);
}

#[test]
fn details_reach_the_step() {
    let file = joint(
        "title = \"Wheel\"\nring = 5\npitch-circle = \"4.5 in\"\ntarget = \"120 N·m\"\nhold = \"height\"\n\
         passes = [\"by hand\", { name = \"last\", target = \"final\", hold = [\"height\"], order = \"1 2 3 4 5\" }]\n\
         socket = \"19\"\nthread = \"M12×1.5\"\nclass = \"10.9\"\ncondition = \"dry\"\nsource = \"other sheet\"\n\
         life-critical = false\nidentity = \"shown\"\nturned-to-reach = true\nno-recheck = true\nleft-hand = true\n\
         by-hand-only = true\nnotes = \"new nuts\"",
    );
    let plan = &file.plan;
    assert_eq!(plan.holds[0].cure, Cure::Slacken);
    assert_eq!(
        show(plan),
        "\
p
1 joint, 5 fasteners: in any order.

1. Wheel (j): ring of 5, pitch circle 114.3 mm, M12×1.5, class 10.9, socket 19, dry
   First: At height?
   Left-hand thread: tightens counter-clockwise.
   Turn the part so that each fastener comes to the hand.
   Pass 1: by hand, no reading; order 1-3-5-2-4
   Pass 2: last: 120 N·m, 108.0–132.0 N·m; order 1-2-3-4-5; first: At height?
   Each fastener must be shown: the right number of good pulls is not enough.
   Its failure could not cost a life: after too much torque it is not asked whether it was looked at.
   Do not pull again once done.
   Note: By hand only: no impact tool.
   Note: new nuts
   Values from: other sheet

To be confirmed where it says so:
   height: At height? Pulled too early: slacken, let it settle, pull again.
"
    );
    let step = &plan.steps[0];
    assert_eq!((step.pattern, step.pitch_circle_mm), (Pattern::Ring, Some(114.3)));
    assert!(!step.life_critical);
}

#[test]
fn both_sides_are_two_steps_that_wait_for_their_own_side() {
    let plan = good(
        "plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\n[joints]\nbeam = \"50 N·m\"\n\
         [joints.link]\nsides = true\ntarget = \"46 N·m\"\nafter = \"beam\"\n\
         [joints.wheel]\nsides = true\ntarget = \"120 N·m\"\nafter = \"link\"\n\
         [joints.cover]\ntarget = \"9 N·m\"\nafter = [\"wheel\", \"link-left\"]\n",
    )
    .plan;
    let shown: Vec<String> = plan
        .steps
        .iter()
        .map(|step| {
            let after: Vec<&str> =
                step.after.iter().map(|after| plan.step(*after).group.as_str()).collect();
            format!("{} after [{}]", step.group, after.join(", "))
        })
        .collect();
    assert_eq!(
        shown,
        [
            "beam after []",
            "link-left after [beam]",
            "link-right after [beam]",
            "wheel-left after [link-left]",
            "wheel-right after [link-right]",
            "cover after [wheel-left, wheel-right, link-left]",
        ]
    );
}

#[test]
fn file_order_is_kept() {
    let names = "zulu alpha mike bravo yankee";
    let joints: String = names.split(' ').map(|name| format!("{name} = \"9 N·m\"\n")).collect();
    let plan = good(&format!("plan = \"p\"\n[joints]\n{joints}")).plan;
    let found: Vec<&str> = plan.steps.iter().map(|step| step.group.as_str()).collect();
    assert_eq!(found.join(" "), names);
}

#[test]
fn the_hash_is_that_of_the_text() {
    let text = sample("first-corner.toml");
    assert_ne!(good(&text).hash, good(&format!("{text}\n")).hash);
    assert_eq!(
        good("plan = \"p\"\n[joints]\na = \"9 N·m\"\n").hash,
        "531f26273dc4fca8025888cafee505ba8b482d32913e5f4635bf491247f53ce3"
    );
}

#[test]
fn rings_have_the_usual_cross_orders() {
    let orders = [
        (2, "1-2"),
        (3, "1-2-3"),
        (4, "1-3-2-4"),
        (5, "1-3-5-2-4"),
        (6, "1-4-2-5-3-6"),
        (7, "1-4-7-3-6-2-5"),
        (8, "1-5-3-7-2-6-4-8"),
        (9, "1-5-9-4-8-3-7-2-6"),
        (10, "1-6-3-8-5-10-7-2-9-4"),
    ];
    for (n, order) in orders {
        let found: Vec<String> = cross_order(n).iter().map(u16::to_string).collect();
        assert_eq!(found.join("-"), order, "{n}");
    }
}

#[test]
fn rows_go_from_the_middle_to_their_ends() {
    for (n, order) in [
        (1, "1"),
        (2, "1-2"),
        (3, "2-3-1"),
        (4, "2-3-1-4"),
        (5, "3-4-2-5-1"),
        (10, "5-6-4-7-3-8-2-9-1-10"),
    ] {
        let found: Vec<String> = centre_order(n).iter().map(u16::to_string).collect();
        assert_eq!(found.join("-"), order, "{n}");
    }
    check_passes(
        "line = 4\ntarget = \"20 N·m\"\norder = \"from-centre\"",
        &["20 N·m: 20 N·m in 18.0–22.0 N·m; 2-3-1-4 bound"],
    );
}

/// Every ring that a plan may have gets a permutation that goes across first (even) and, from five
/// fasteners on, never pulls far to one side.
#[test]
fn every_ring_has_an_even_order() {
    for n in 2..=64u16 {
        let order = cross_order(n);
        let mut sorted = order.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, (1..=n).collect::<Vec<_>>(), "{n}");
        let across =
            order.chunks(2).all(|pair| pair.len() < 2 || pair[0].abs_diff(pair[1]) == n / 2);
        assert!(n % 2 == 1 || across, "{n}: {order:?}");
        let pull = (1..order.len()).map(|done| resultant(n, &order[..done])).fold(0.0, f64::max);
        assert!(pull < 1.3, "{n}: {pull}");
    }
}

fn resultant(n: u16, done: &[u16]) -> f64 {
    let angle = |member: u16| std::f64::consts::TAU * f64::from(member) / f64::from(n);
    let x: f64 = done.iter().map(|&member| angle(member).cos()).sum();
    let y: f64 = done.iter().map(|&member| angle(member).sin()).sum();
    x.hypot(y)
}
