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
7:31: error: expected a pass that backs off before the last torque, but found it behind; add the torque that the bearing is set to, like `\"final\"`
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
        "",
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
",
    );
}
