//! What is said of the vehicle beside the plan: number and plate, from the start of a job to their erasure.

use crate::proof::json;
use crate::recheck::CORNER;
use crate::rig::Rig;
use clampbook::core::recheck::Due;
use serde_json::{Value, json};
use std::fs;

/// Vehicle of the report of a job.
fn vehicle(rig: &Rig, job: &str) -> Value {
    json(rig, &["report", job, "--json", "-"]).1["vehicle"].clone()
}

fn given(text: &str) -> Value {
    json!({"state": "given", "text": text})
}

#[test]
fn a_plate_is_taken_from_the_plan_or_said_when_a_job_is_started() {
    let planned = CORNER.replace("vin = ", "plate = \"ORV 1100\"\nvin = ");
    let rig = Rig::new()
        .file("corner.toml", CORNER)
        .file("planned.toml", &planned)
        .run("job start corner.toml")
        .run("job close --open tried")
        .run("job start planned.toml")
        .run("job close --open tried")
        .run("job start planned.toml --plate \" ORV 4417 \" --vin \"\"")
        .run("job close --open tried")
        .run("job wheels --studs 5 --target \"120 N·m\" --plate \"ORV 4418\" --vin ORV4NE0DR4Y000015")
        .run("job close --open tried");
    let served = rig.serve(&[]);
    let asked = json!({"plan": planned, "plate": "ORV 4419"});
    let (status, body) = served.post("/v1/jobs", &asked);
    assert_eq!(status, 201, "{body}");
    drop(served);
    let rest = [given("ORV4NE0DR4Y000007"), given("Orvane Dray 3; \"the blue one\", workshop")];
    let [vin, text] = rest;
    assert_eq!(vehicle(&rig, "1"), json!({"text": text, "vin": vin}), "none was given");
    for (job, plate) in [("2", "ORV 1100"), ("3", "ORV 4417"), ("5", "ORV 4419")] {
        let expected = json!({"text": text, "vin": vin, "plate": given(plate)});
        assert_eq!(vehicle(&rig, job), expected, "job {job}: {}", rig.told());
    }
    let expected = json!({"text": {"state": "not-given"}, "vin": given("ORV4NE0DR4Y000015"), "plate": given("ORV 4418")});
    assert_eq!(vehicle(&rig, "4"), expected);
    let refused = rig.output(&["job", "start", "--recheck", "1", "--plate", "ORV 1"]);
    assert_eq!(refused.status.code(), Some(2), "the vehicle is the same");
}

#[test]
fn a_plate_goes_with_the_recheck_and_is_corrected_left_out_and_erased() {
    let rig = Rig::new()
        .file("corner.toml", CORNER)
        .run("job start corner.toml --plate \"ORV 4417\"")
        .run_with(
            "typed",
            "90 at rear-left-wheel/1\n91 at rear-left-wheel/2\n9 at clamp\n38 at sump\nclose\n",
        )
        .run("job start --recheck 1")
        .run("job close --open tried")
        .run("job correct 2 --plate \"ORV 4471\"");
    assert_eq!(vehicle(&rig, "1")["plate"], given("ORV 4417"));
    let corrected = json(&rig, &["report", "2", "--json", "-"]).1;
    assert_eq!(corrected["vehicle"]["plate"], given("ORV 4471"));
    let correction = &corrected["corrections"][0];
    assert_eq!(
        (&correction["field"], &correction["before"], &correction["text"]),
        (&json!("plate"), &given("ORV 4417"), &given("ORV 4471"))
    );

    let forms = |more: &[&str]| -> Vec<String> {
        let form = |what: &str| {
            let args = [&["report", "2", what, "-"][..], more].concat();
            let args: Vec<&str> = match what {
                "--text" => args.iter().copied().filter(|arg| *arg != "-").collect(),
                _ => args,
            };
            String::from_utf8(rig.output(&args).stdout).unwrap()
        };
        ["--html", "--json", "--csv", "--text"].map(form).to_vec()
    };
    for (form, redacted) in forms(&[]).iter().zip(forms(&["--redact"])) {
        assert!(form.contains("ORV 4471"), "{form}");
        assert!(!redacted.contains("ORV 44") && !redacted.is_empty(), "{redacted}");
    }

    let rig = rig.run("report 2 --json before.json").run("job erase 2 --only plate --yes");
    assert!(rig.told().contains("2 texts of job 2 erased"), "{}", rig.told());
    assert_eq!(vehicle(&rig, "2")["plate"], json!({"state": "removed"}));
    assert_eq!(vehicle(&rig, "1")["plate"], given("ORV 4417"), "that of another job stays");
    let (status, audited) = json(&rig, &["audit", "before.json", "--json"]);
    assert_eq!((status, &audited["holds"]), (0, &json!(true)), "{audited}");
    let octets = fs::read(rig.path("journal.sqlite")).unwrap();
    assert!(!octets.windows(8).any(|part| part == b"ORV 4471"), "on the disk");
}

#[test]
fn what_was_kept_before_there_were_reminders_reads_as_it_was() {
    let old = r#"{"group":"clamp","km":500.0,"in_plan":true}"#;
    let due: Due = serde_json::from_str(old).unwrap();
    assert_eq!((due.reminder, due.by), (None, None));
    assert_eq!(serde_json::to_string(&due).unwrap(), old);
}
