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
