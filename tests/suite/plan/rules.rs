//! What a joint asks beside its torque: read, shown, refused.

use super::{check_faults, good, sample};
use clampbook::core::fixture::{Offset, Place};
use clampbook::core::plan::{Expect, Kind, PrevailingMode, Reuse, Turn, show};
use insta::assert_snapshot;

const TOP: &str = "plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\n";

#[test]
fn the_samples_of_rules_are_shown_in_plain_words() {
    for name in [
        "castle-and-bearing",
        "angle-tightened",
        "held-and-reached",
        "locked-threads",
        "first-to-last",
    ] {
        assert_snapshot!(name, show(&good(&sample(&format!("{name}.toml"))).plan));
    }
}

#[test]
fn rules_reach_the_step_and_what_is_not_said_stays_unsaid() {
    let plan = good(&sample("held-and-reached.toml")).plan;
    let link = &plan.steps[0].rules;
    assert_eq!(plan.steps[0].group, "bar-link-lower-left");
    assert_eq!(link, &plan.steps[1].rules, "both sides alike");
    assert_eq!(
        link.fixture.offset,
        Some(Offset {
            offset_mm: 42.0,
            angle_degrees: 90.0,
            lever_mm: Some(320.0),
            place: Place::BehindAdapter
        })
    );
    let nut = link.prevailing.unwrap();
    assert_eq!((nut.mode, nut.reuse), (PrevailingMode::AsPublished, Reuse::Single));
    let plain = good(&format!("{TOP}[joints]\na = \"9 N·m\"\n")).plan;
    assert!(plain.steps[0].rules.is_plain() && plain.around.is_empty());
    let json = serde_json::to_string(&plain).unwrap();
    assert!(
        !json.contains("rules") && !json.contains("around") && !json.contains("turn\""),
        "{json}"
    );
    assert_eq!(plain.steps[0].rules.kind, Kind::Clamp);
}

#[test]
fn turns_by_an_angle_follow_the_target_and_end_in_their_torque() {
    let plan = good(&sample("angle-tightened.toml")).plan;
    let unit = &plan.steps[0];
    assert!(unit.no_recheck, "never pulled again");
    let turns: Vec<Option<Turn>> = unit.passes.iter().map(|pass| pass.turn).collect();
    assert_eq!(turns, [None, None, Some(Turn::Angle { degrees: 45.0 })]);
    match &unit.passes[2].expect {
        Expect::Window(window) => {
            assert_eq!((window.low.nm(), window.high.unwrap().nm()), (110.0, 180.0));
        }
        other => panic!("{other:?}"),
    }
    let bolt = &plan.steps[1];
    let names: Vec<&str> = bolt.passes.iter().map(|pass| pass.name.as_str()).collect();
    assert_eq!(names, ["120 N·m", "90°", "45°"]);
    assert_eq!(bolt.passes[2].expect, Expect::NoFigure);
}

#[test]
fn a_bearing_is_pulled_tighter_than_it_is_set_only_where_it_is_backed_off_between() {
    let plan = good(&sample("castle-and-bearing.toml")).plan;
    let bearing = &plan.steps[2];
    let told: Vec<String> = bearing
        .passes
        .iter()
        .map(|pass| match &pass.expect {
            Expect::Window(window) => format!("{}: {window}", pass.name),
            other => format!("{}: {other:?}", pass.name),
        })
        .collect();
    assert_eq!(told, ["48 N·m: 36.0–60.0 N·m", "back off 60°: ByHand", "5 N·m: 4.00–6.00 N·m"]);
    assert_eq!(bearing.passes[1].turn, Some(Turn::BackOff { degrees: Some(60.0) }));
    check_faults(
        &format!("{TOP}[joints.a]\npasses = [\"48 N·m\", \"5 N·m\"]\n[joints.b]\npasses = [\"48 N·m\", \"5 N·m\", \"back off\"]\n"),
        "\
5:11: error: expected an early pass of at most 5 N·m, but found 48 N·m; put the passes in rising order, the target last
7:11: error: expected an early pass of at most 5 N·m, but found 48 N·m; put the passes in rising order, the target last
7:30: error: expected a pass that backs off before the last torque, but found it behind; add the torque that the bearing is set to, like `\"final\"`
",
    );
}

#[test]
fn a_pinned_nut_and_a_turned_bolt_are_never_pulled_again() {
    let castle = "[joints.a]\ntarget = \"min 32 N·m\"\ncastle-nut = true\n";
    assert!(good(&format!("{TOP}{castle}")).plan.steps[0].no_recheck);
    check_faults(
        &format!(
            "{TOP}[joints.a]\ntarget = \"70 N·m\"\npasses = [\"final\", \"45°\", \"check\"]\n"
        ),
        "6:27: error: expected no check pass where nothing may be pulled again, but found one; remove the check pass: pulling again would break what has cured or been turned to its angle\n",
    );
}

#[test]
fn rules_that_make_no_sense_are_refused_one_by_one() {
    check_faults(
        &format!(
            "{TOP}[joints.a]
target = \"50 N·m\"
kind = \"wheal\"
crowfoot = {{ angle = \"90\" }}
universal-joint = \"10\"
extension = \"250 mm\"
castle-nut = \"6 slots\"
prevailing = \"add-mesured\"
thread-locker = {{ working-time = \"10\" }}
secured-by = \"glue\"
recheck = {{ methode = \"none\" }}
acceptance = \"strict\"
seat = 60
[joints.b]
target = \"45°\"
[joints.c]
target = \"50 N·m\"
passes = [\"45°\", \"final\", {{ angle = \"30°\", target = \"9 N·m\" }}, {{ angle = \"30°\", monitor = \"90 N·m\" }}, {{ target = \"check\", monitor = \"1..2 N·m\" }}]
[put-in]
strap = \"\"
[as-found]
height = {{ ask = \"Height?\", within = \"5\", hold = \"ride-hight\" }}
[closing]
Pedal = \"Pumped?\"
road = {{ by = \"them\" }}
"
        ),
        "\
6:8: error: expected one of a few words for `kind`, but found `wheal`; did you mean `wheel`?
7:12: error: expected an `offset` of the crowfoot, but found none; write it like `{ offset = \"50 mm\", angle = \"90°\" }`
7:22: error: expected an angle with its unit, but found `90`; write it like `90°`
8:19: error: expected an angle with its unit, but found `10`; write it like `90°`
9:13: error: expected a bar of 10 to 2000 mm, 4 to 60 mm thick, but found `250 mm`; write length and diameter like `250 mm × 12.7 mm`
10:14: error: expected degrees from slot to slot for `castle-nut`, but found `6 slots`; write `\"60°\"`, or `\"30°\"` for two holes at a right angle
11:14: error: expected one of a few words for `prevailing`, but found `add-mesured`; did you mean `add-measured`?
12:34: error: expected a time with its unit, but found `10`; write it like `10 min`
13:14: error: expected one of a few words for `secured-by`, but found `glue`; known here: pin, stake, lock, wire
14:13: error: expected a key of a recheck, but found `methode`; did you mean `method`?
15:14: error: expected one of a few words for `acceptance`, but found `strict`; known here: simple, guarded
16:8: error: expected text for `seat`, but found the number 60; put it in double quotes
18:10: error: expected a torque for the target, but found what only a pass can be; write it like `228 N·m`
21:53: error: expected `target` or `angle` in a pass, but found both; make two passes of it: first the torque, then the turn
21:103: error: expected `monitor` only beside `angle`, but found it in another pass; a pass at a torque has its limits in `target` or `tolerance`
23:9: error: expected words for `strap`, but found none; write what it is, or what is asked
25:38: error: expected a length with its unit, but found `5`; write it like `50 mm` or `2 in`
25:50: error: expected a name from `[holds]`, but found `ride-hight`; declare it: `[holds]` and below `ride-hight = \"What is asked?\"`
27:1: error: expected a name of lower-case letters, digits and hyphens, but found `Pedal`; write `pedal`
28:8: error: expected what `road` asks, but found nothing; write the question, like `ask = \"Hub to arch?\"`
",
    );
}

#[test]
fn turns_that_make_no_sense_are_refused() {
    check_faults(
        &format!(
            "{TOP}[joints.a]
target = \"50 N·m\"
passes = [\"45°\", \"final\", {{ angle = \"30°\", monitor = \"90 N·m\" }}]
[joints.b]
target = \"50 N·m\"
passes = [\"final\", {{ angle = \"900°\" }}]
[joints.c]
target = \"50 N·m\"
passes = [\"final\", {{ angle = \"\" }}]
[joints.d]
target = \"50 N·m\"
passes = [\"final\", {{ angle = \"30°\", tolerance = \"±5 %\" }}]
"
        ),
        "\
6:11: error: expected a turn by angle behind the pass at the target, but found it earlier; put the torque first, the angles last
6:27: error: expected both ends of the torque for `monitor`, but found another figure; write it like `110..180 N·m`, or leave it out
9:30: error: expected an angle of up to 720°, but found `900°`; write it like `45°`, one pass an angle
12:30: error: expected a torque, but found an empty text; write `\"?\"` if the value is still to be looked up
15:20: error: expected a tolerance only in a pass with a torque, but found it in another; remove it; a check pass is held to the window of the target
",
    );
}
