//! The first day: a job without a file, values without a radio, work that is interrupted.

use crate::rig::Rig;
use insta::assert_snapshot;
use serde_json::{Value, json};
use std::fs;

const CORNER: &str = r#"plan = "Rear left corner"
tolerance = "±8 %"
source = "my sheet"

[joints]
damper-eye = { target = "122 N·m", notes = ["new prevailing-torque nut", "head faces rearward"] }
arm-pivot = "178 N·m"
splash-shield = { target = "none", life-critical = false }
"#;

#[test]
fn a_job_on_wheels_needs_no_file() {
    assert_snapshot!(
        Rig::new()
            .run("job wheels --studs 6 --target \"165 N·m\"")
            .run("job show")
            .run("job close --open tried")
            .run("job wheels --studs 5 --target \"75 lbf·ft\" --names front-left,front-right --source \"sheet 12\" --tolerance \"±5 %\"")
            .run("job show")
            .run("job close --open tried")
            .run("job wheels --studs 4 --target \"90..110 N·m\" --wheels 4 --json")
            .run("job list")
            .told()
    );
}

#[test]
fn what_is_asked_behind_a_pass_by_hand_is_asked_before_the_pull_that_needs_it() {
    assert_snapshot!(
        Rig::new()
            .run("job wheels --studs 4 --target \"90 N·m\" --source \"sheet 12\"")
            .run("job mark confirm wheel-down")
            .told()
    );
}

#[test]
fn words_that_make_no_wheel_are_named_without_places_in_a_text_that_nobody_sees() {
    assert_snapshot!(
        Rig::new()
            .run("job wheels --studs 5 --target 165")
            .run("job wheels --studs 5 --target ?")
            .run("job wheels --studs 5 --target none")
            .run("job wheels --studs 5 --target \"100 N·m\" --tolerance much")
            .run("job wheels --studs 5 --target \"100 N·m\" --names \"Front left,b\\\"")
            .run("job wheels --studs 5 --target \"100 N·m\" --names a,b,c,d,e")
            .run("job wheels --studs 1 --target \"100 N·m\"")
            .run("job list")
            .told()
    );
}

#[test]
fn work_is_interrupted_and_gone_on_with() {
    assert_snapshot!(
        Rig::new()
            .file("corner.toml", CORNER)
            .run("job park")
            .run("job resume")
            .run("job start corner.toml")
            .run("job mark stated splash-shield")
            .run("job wheels --studs 5 --target \"120 N·m\"")
            .run("job park")
            .run("job park")
            .run("job mark at arm-pivot")
            .run("job wheels --studs 2 --target \"120 N·m\"")
            .run("job park --json")
            .run("job list")
            .run("job resume 1")
            .run("job resume 2")
            .run("job mark stated arm-pivot")
            .run("job mark stated damper-eye")
            .run("job park")
            .run("job resume")
            .run("job close")
            .run("job resume 1")
            .run("job resume 7")
            .run("job resume")
            .run("job list --json")
            .told()
    );
}

#[test]
fn a_report_tells_when_a_job_was_parked_and_what_was_open() {
    let rig = Rig::new()
        .file("corner.toml", CORNER)
        .run("job start corner.toml")
        .run("job park")
        .run("job resume")
        .run("job park");
    let report = rig.output(&["report", "1", "--json", "-"]).stdout;
    let report: Value = serde_json::from_slice(&report).unwrap();
    let pauses = report["pauses"].as_array().unwrap();
    let open = json!(["damper-eye/1", "arm-pivot/1", "splash-shield/1"]);
    assert_eq!(pauses.len(), 2);
    assert!(pauses[0]["until"].is_object() && pauses[1]["until"].is_null(), "{pauses:?}");
    assert_eq!((&pauses[0]["open"], &pauses[1]["open"]), (&open, &open));
    let page = rig.output(&["report", "1", "--html", "-"]).stdout;
    assert!(String::from_utf8_lossy(&page).contains("not resumed"));
}

#[test]
fn a_daemon_parks_and_resumes_and_takes_up_only_what_is_under_way() {
    let rig = Rig::new().file("corner.toml", CORNER);
    let served = rig.serve(&[]);
    assert_eq!(served.post("/v1/jobs", &json!({"plan": CORNER})).0, 201);
    let (status, parked) = served.post("/v1/jobs/current/park", &json!(null));
    let parked: Value = serde_json::from_str(&parked).unwrap();
    assert_eq!((status, &parked["done"]), (200, &json!("parked")));
    assert_eq!(
        parked["leaving"],
        json!({
            "open": ["damper-eye/1", "arm-pivot/1", "splash-shield/1"],
            "started": [],
            "to_buy": ["damper-eye: new prevailing-torque nut"],
            "life_critical": ["damper-eye", "arm-pivot"],
        })
    );
    assert_eq!(served.post("/v1/jobs/current/park", &json!(null)).0, 409);
    drop(served);

    let served = rig.serve(&[]);
    let state: Value = serde_json::from_str(&served.get("/v1/state").1).unwrap();
    assert_eq!(state["job"], Value::Null);
    assert_eq!(served.post("/v1/jobs/resume", &json!({"job": 3})).0, 409);
    assert_eq!(served.post("/v1/jobs/resume", &json!({})).0, 200);
    assert_eq!(served.post("/v1/jobs/resume", &json!({})).0, 409);
    drop(served);

    let served = rig.serve(&[]);
    let state: Value = serde_json::from_str(&served.get("/v1/state").1).unwrap();
    assert_eq!(state["job"], 1);
}

#[test]
fn the_short_help_is_short_and_the_rest_is_under_more() {
    assert_snapshot!(
        Rig::new().run("help").run("help more").run("help sing").run("help job park").told()
    );
}

#[test]
fn shells_and_manual_readers_are_served() {
    let rig = Rig::new();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let output = rig.output(&["completions", shell]);
        assert_eq!(output.status.code(), Some(0), "{shell}");
        let script = String::from_utf8(output.stdout).unwrap();
        for word in ["wheels", "replay", "completions"] {
            assert!(script.contains(word), "{shell}: {word}");
        }
    }
    let output = rig.output(&["man", "pages"]);
    assert_eq!(String::from_utf8(output.stdout).unwrap(), "pages/clampbook.1\n");
    let pages: Vec<String> = fs::read_dir(rig.path("pages"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    for page in ["clampbook.1", "clampbook-job-wheels.1", "clampbook-replay.1"] {
        assert!(pages.iter().any(|name| name == page), "{page}: {pages:?}");
    }
}

/// One wheel done with a wrench that shows its torque: two words a nut, and nothing else.
const WHEEL: &str = "yes\n165\n166\n164.5\n167\n165\n165\n165\n165\n166\n165\n165\n165\nclose\n";

#[test]
fn a_wheel_is_done_and_reported_in_three_commands_without_a_file_or_an_adapter() {
    let rig = Rig::new()
        .run("job wheels --studs 6 --target \"165 N·m\" --source \"sheet 12\"")
        .run_with("typed", WHEEL)
        .run("report 1");
    let report = fs::read_to_string(rig.path("job-1/report.json")).unwrap();
    let report: Value = serde_json::from_str(&report).unwrap();
    assert_eq!(report["outcome"]["stated"], 6);
    assert_eq!(report["outcome"]["shown"], 0);
    assert_eq!(report["outcome"]["counted"], 0);
    assert_eq!(report["adapters"], json!([]));
    let pull = &report["steps"][0]["fasteners"][0]["pulls"][0]["measured"];
    assert_eq!(
        (&pull["typed"], &pull["key"]),
        (&json!(true), &json!({"by": "typed", "number": 1}))
    );
    let page = fs::read_to_string(rig.path("job-1/report.html")).unwrap();
    assert!(page.contains("typed no. 1 ") && page.contains("No adapter took part."));
    assert!(page.contains("12 values were typed: no adapter measured them"));
    assert_snapshot!(rig.told());
}

#[test]
fn every_word_is_answered_and_a_wrong_line_holds_up_nothing() {
    let lines = "\n\
        122 at damper-eye\n\
        122 at damper-ey\n\
        178 lb\n\
        hello\n\
        1,500\n\
        60000\n\
        at\n\
        at arm-pivot\n\
        131.3 lbf·ft\n\
        low at arm-pivot\n\
        done at arm-pivot\n\
        undo\n\
        yes\n\
        note cleaned the thread\n\
        close\n\
        178\r\n\
        done\n\
        done\n\
        close\n\
        122\n";
    assert_snapshot!(
        Rig::new()
            .file("corner.toml", CORNER)
            .run_with("typed", "done\n102.5\n102.5 N·m\n102.5 N·m at wheel/1\n")
            .run("job start corner.toml")
            .run_with("typed", lines)
            .run("job show 1")
            .told()
    );
}

#[test]
fn a_value_takes_the_unit_and_the_direction_of_its_joint() {
    const PLAN: &str = "plan = \"Two\"\ntolerance = \"±10 %\"\nsource = \"my sheet\"\n[joints]\n\
        hub-nut = { target = \"120 lbf·ft\", left-hand = true }\narm = \"90 N·m\"\n";
    let rig = Rig::new()
        .file("two.toml", PLAN)
        .run("job start two.toml")
        .run_with("typed", "120 at hub-nut\n90 at arm\n")
        .run_with("typed --unit kgf·m", "9.2 at arm\n")
        .run_with("typed --unit stone", "")
        .run("job show");
    assert_snapshot!(rig.told());
}

#[test]
fn octets_that_are_no_text_and_lines_without_end_are_named() {
    let mut input = vec![0xff, 0xfe, b'\n'];
    input.extend(vec![b'x'; 20_000]);
    input.extend(b"\n228 N\xc2\xb7m\n");
    assert_snapshot!(Rig::new().run_with("typed", input).run("job loose").told());
}

#[test]
fn readings_without_a_job_are_claimed_by_one_and_only_once() {
    let rig = Rig::new()
        .file("corner.toml", CORNER)
        .run_with("typed", "122 N·m\n178 N·m\n99 N·m\n")
        .run("job loose")
        .run("job claim --all")
        .run("job start corner.toml")
        .run("job claim")
        .run("job claim 1 --all")
        .run("job claim 2,4,77")
        .run("job claim 1,2")
        .run("job loose")
        .run("job claim 2")
        .run("job claim --since 2030-01-01T00:00")
        .run("job claim --since yesterday")
        .run("job show")
        .run_with("typed", "done\nclose\n")
        .run("record --loose")
        .run("job claim --all");
    let kept = rig.output(&["job", "show", "1", "--json"]).stdout;
    let kept: Value = serde_json::from_slice(&kept).unwrap();
    let recorded = rig.output(&["record", "1"]).stdout;
    let rig = rig.file("job.ndjson", recorded);
    let replayed = rig.output(&["replay", "corner.toml", "job.ndjson", "--json"]);
    let summary = String::from_utf8(replayed.stdout).unwrap();
    let summary: Value = serde_json::from_str(summary.lines().last().unwrap()).unwrap();
    assert_eq!(summary["fasteners"], kept["summary"]["fasteners"]);
    assert_snapshot!(rig.told());
}

#[test]
fn values_typed_through_a_daemon_are_answered_the_same() {
    let talk = |served: bool| {
        let rig = Rig::new().file("corner.toml", CORNER).run("job start corner.toml");
        let daemon = served.then(|| rig.serve(&[]));
        let rig = rig
            .run_with("typed", "122 at damper-eye\nhello\n400 at arm-pivot\n12 stone\ndone\n")
            .run("job park")
            .run_with("typed", "55 N·m\n")
            .run("job loose")
            .run("job resume")
            .run("job claim --all")
            .run("job claim 1")
            .run("job close");
        drop(daemon);
        rig.told()
    };
    let through = talk(true);
    assert_eq!(through, talk(false));
    assert!(through.contains("55.0 N·m  typed"), "{through}");
}

#[test]
fn a_measured_pull_is_shown_and_counted_as_ever_and_a_typed_one_never() {
    use clampbook::core::command::StartJob;
    use clampbook::core::event::{Ending, Input, Mark, Origin, Reading, Say, What};
    use clampbook::core::time::Stamp;
    use clampbook::core::tracker::Tracker;
    use clampbook::core::typed::{TYPED, typed_source};
    use clampbook::core::units::Torque;

    // Who pulled, and where they said they were: how the arm pivot ends.
    let end = |plan: &str, pulls: &[(&str, f64, bool)]| {
        let mut tracker = Tracker::new(StartJob::new(plan.to_owned(), [0; 16]).unwrap().plan);
        let mut step = |at: usize, what| {
            tracker.step(Input { at: Stamp::from_seconds(at as f64 * 20.0), what });
        };
        step(0, What::Adapter(typed_source()));
        for (index, (adapter, nm, marked)) in pulls.iter().enumerate() {
            if *marked {
                let say = Say::At { fastener: "arm-pivot/1".to_owned() };
                step(index + 1, What::Mark(Mark { say, origin: Origin::Typed }));
            }
            let (adapter, peak) = ((*adapter).to_owned(), Torque::from_nm(*nm));
            let seq = index as u64 + 1;
            step(
                index + 1,
                What::Reading(Reading {
                    adapter,
                    seq,
                    peak,
                    rotation_deg: None,
                    duration_ms: None,
                    description: None,
                }),
            );
        }
        tracker.summary().fasteners["arm-pivot/1"]
    };
    let counted = "plan = \"One\"\n[joints]\narm-pivot = \"178 N·m\"\n";
    let shown =
        "plan = \"One\"\n[joints]\narm-pivot = { target = \"178 N·m\", identity = \"shown\" }\n";
    assert_eq!(end(counted, &[("a", 178.0, false)]), Ending::Counted);
    assert_eq!(end(counted, &[("a", 178.0, true)]), Ending::Shown);
    assert_eq!(end(counted, &[(TYPED, 178.0, false)]), Ending::Stated);
    assert_eq!(end(counted, &[(TYPED, 178.0, true)]), Ending::Stated);
    assert_eq!(end(counted, &[(TYPED, 120.0, true)]), Ending::Open);
    assert_eq!(end(counted, &[(TYPED, 250.0, true)]), Ending::Open);
    assert_eq!(end(shown, &[(TYPED, 178.0, false)]), Ending::Open);
    assert_eq!(end(shown, &[(TYPED, 178.0, true)]), Ending::Stated);
    assert_eq!(end(counted, &[(TYPED, 120.0, true), ("a", 178.0, true)]), Ending::Shown);
}

const LOOKED_UP_LATER: &str = r#"plan = "Caliper"
source = "sheet"
tolerance = "±10 %"
[joints]
slide-pins = { line = 2, target = "?", passes = ["50 %", "final"] }
damper-eye = "122 N·m"
"#;

#[test]
fn a_value_that_the_plan_left_open_is_given_while_the_work_is_under_way() {
    let rig = Rig::new()
        .file("caliper.toml", LOOKED_UP_LATER)
        .run("job start caliper.toml")
        .run_with("typed", "26\n")
        .run("job mark value slide-pins 26")
        .run("job mark value slide-pin \"26 N·m\"")
        .run("job mark value damper-eye \"130 N·m\"")
        .run("job mark value slide-pins \"62 N·m\"")
        .run("job mark retract")
        .run("job mark value slide-pins \"26 N·m ±4 %\"")
        .run_with("typed", "13\n13\n26.2\n25.9\n122\n")
        .run("job close")
        .run("report 1 --json report.json")
        .run("record 1 --out job.ndjson")
        .run("replay caliper.toml job.ndjson");
    let report = std::fs::read_to_string(rig.path("report.json")).unwrap();
    let report: serde_json::Value = serde_json::from_str(&report).unwrap();
    let said = report["operator_said"].as_array().unwrap();
    let values: Vec<&serde_json::Value> = said
        .iter()
        .filter(|mark| mark["say"] == "value")
        .map(|mark| &mark["text"]["text"])
        .collect();
    assert_eq!(values, ["slide-pins 62 N·m", "slide-pins 26 N·m ±4 %"]);
    assert_snapshot!(rig.told());
}

#[test]
fn a_number_typed_where_a_value_is_asked_for_is_kept_and_is_no_pull() {
    const PLAN: &str = "plan = \"Two\"\ntolerance = \"±10 %\"\nsource = \"my sheet\"\n[joints]\n\
        damper-eye = \"?\"\narm = \"90 N·m\"\n";
    let rig = Rig::new()
        .file("two.toml", PLAN)
        .run("job start two.toml")
        .run_with("typed", "122\n")
        .run("job show")
        .run_with("typed", "value damper-eye 122 N·m\n")
        .run("job claim --all")
        .run_with("typed", "90\nclose\n");
    assert_snapshot!(rig.told());
}
