//! `plan new` as a person or a script meets it.

use crate::rig::Rig;
use clampbook::core::event::{JobId, PersonalField};
use clampbook::core::plan::{Expect, parse};
use clampbook::core::time::Stamp;
use clampbook::journal::Journal;
use insta::assert_snapshot;
use std::io::Write;
use std::process::Stdio;

/// A corner, its values at hand: what a person types, as pasted or as it comes.
const CORNER: &str = "\
vehicle Orvane Dray 3
source invented sheet, Dray 3, rear axle
tolerance ±8 %
bearing-unit 70 Nm
half-shaft-flange 68 Nm
speed-sensor-screw 8.5 Nm
disc-screw 14 Nm ±15 %
caliper-bracket 75 ft-lb
slide-pins 26 Nm ±10 %
hose-bracket 12 Nm
toe-link-outer min 32 Nm max 44 Nm
camber-link-inner 92 Nm
trailing-arm-pivot 178 Nm ±6 %
damper-lower-eye 122 Nm
bar-link 46 Nm ±10 %
hub-nut 228 Nm ±5 %
rear-left-wheel 6 x 165 Nm ±10 %
.
";

const OLD: &str = "plan = \"Left hub\"\nsource = \"my sheet\"\ntolerance = \"±10 %\"\n\
    [joints]\nleft-hub-nut = \"190 N·m\"  # staked\nleft-drum-screw = \"?\"\n";

/// Runs the program with `typed` on its standard input, and returns what it wrote.
fn fed(rig: &Rig, args: &[&str], typed: &str) -> (String, String, i32) {
    let mut child = rig
        .command(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(typed.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    let text = |octets: Vec<u8>| String::from_utf8(octets).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code().unwrap())
}

#[test]
fn a_corner_is_planned_in_at_most_forty_typed_lines() {
    let rig = Rig::new();
    let command = "plan new --like rear-links-driven --values - --out corner.toml";
    let args: Vec<&str> = command.split(' ').collect();
    let (out, said, status) = fed(&rig, &args, CORNER);
    assert_eq!((out.as_str(), status), ("corner.toml\n", 0), "{said}");
    // The command itself and the answer to the question are typed as well.
    let typed = CORNER.lines().count() + 2;
    assert!(typed <= 40, "{typed} lines");

    let file = parse(&std::fs::read_to_string(rig.path("corner.toml")).unwrap()).unwrap();
    assert_eq!(file.faults, [], "nothing is left to say about it");
    let joints = CORNER.lines().count() - 4;
    assert!(joints >= 12, "{joints} joints");
    assert_eq!(file.plan.steps.len(), joints + 1, "one of them has two sides");
    let waits = |expect: &Expect| matches!(expect, Expect::ToBeLookedUp);
    assert!(!file.plan.steps.iter().flat_map(|step| &step.passes).any(|pass| waits(&pass.expect)));
    assert_snapshot!(said);
}

#[test]
fn skeletons_are_listed_and_a_wrong_name_is_put_right() {
    assert_snapshot!(
        Rig::new()
            .run("plan new --list")
            .run("plan new --like front-strat")
            .run("plan new --like drum-brake --mirror right")
            .run("plan new --mirror right")
            .run("plan new --like wheels --from 1")
            .told()
    );
}

#[test]
fn values_come_from_the_command_line_and_from_a_file_and_are_read_back() {
    assert_snapshot!(
        Rig::new()
            .file("values.txt", "Drum screw: 9 Nm\n\nbrake-pipe ?\n")
            .file("wrong.txt", "drum-scrw 9 Nm\nbrake-pipe 12\n")
            .file("latin.txt", b"brake-pipe 12 N\xb7m\n")
            .run("plan new --like drum-brake --values values.txt --set \"rear-left-wheel=6 × 165 N·m\" --tolerance \"±8 %\" --source \"my sheet\" --without hand-brake-lever")
            .run("plan new --like drum-brake --values wrong.txt --set rear-left-wheel=50%")
            .run("plan new --like drum-brake --values missing.txt")
            .run("plan new --like drum-brake --values latin.txt")
            .run("plan new --like drum-brake --values .")
            .told()
    );
}

#[test]
fn a_file_that_is_there_is_not_overwritten_unless_that_is_said() {
    let rig = Rig::new()
        .file("mine.toml", "mine\n")
        .run("plan new --like wheels --out mine.toml")
        .run("plan new --out mine.toml");
    assert_eq!(std::fs::read_to_string(rig.path("mine.toml")).unwrap(), "mine\n");
    let rig = rig
        .run("plan new --like wheels --out mine.toml --force")
        .run("plan check mine.toml")
        .run("plan new --like wheels --out no/such/folder.toml");
    assert_snapshot!(rig.told());
}

#[test]
fn an_old_job_is_a_plan_to_start_from_until_its_text_is_erased() {
    let rig = Rig::new()
        .file("old.toml", OLD)
        .run("plan new --from 1")
        .run("job start old.toml")
        .run("plan new --from 1")
        .run("plan new --from 1 --mirror right --set right-drum-screw=9Nm")
        .run("plan new --from 7");
    let mut journal = Journal::open_writer(&rig.path("journal.sqlite")).unwrap();
    journal.erase(Stamp(0), Some(JobId(1)), &[PersonalField::PlanText]).unwrap();
    drop(journal);
    assert_snapshot!(rig.run("plan new --from 1").told());
}
