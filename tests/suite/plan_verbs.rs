//! `plan check`, `show`, `diff`, `import-csv` and `schema` as a person or a script meets them.

use crate::rig::Rig;
use insta::assert_snapshot;
use serde_json::Value;
use std::fs;

#[test]
fn a_plan_is_checked_against_adapters_and_a_code_is_explained() {
    assert_snapshot!(
        Rig::new()
            .file("bolt.toml", BOLT)
            .file("bad.toml", BOLT.replace("110 N·m", "110 kgf·m"))
            .sample("adapters/small.toml")
            .file("broken.toml", "adapter = \"x\"\n")
            .run("plan check bolt.toml")
            .run("plan check bolt.toml --adapter small.toml")
            .run("plan check bolt.toml --adapter small.toml --json")
            .run("plan check bolt.toml --adapter broken.toml")
            .run("plan check bolt.toml --adapter nothing.toml")
            .run("plan check bad.toml")
            .run("job start bad.toml")
            .run("plan check --explain unit-mix-up")
            .run("plan check --explain range --json")
            .run("plan check --explain rang")
            .run("plan check")
            .told()
    );
}

const BOLT: &str = "plan = \"Bolt\"\nsource = \"my sheet\"\ntolerance = \"±10 %\"\n\n\
    [joints.bolt]\ntarget = \"110 N·m\"\nthread = \"M12×1.5\"\nclass = \"10.9\"\n";

#[test]
fn every_code_can_be_listed() {
    let rig = Rig::new();
    let output = rig.output(&["plan", "check", "--explain"]);
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(text.lines().count(), clampbook::core::plan::Code::ALL.len());
    assert!(text.lines().all(|line| line.contains(": ")), "{text}");
}

#[test]
fn fragments_are_taken_in_and_their_faults_told_with_their_own_file() {
    let rig = Rig::new();
    fs::create_dir(rig.path("parts")).unwrap();
    fs::write(rig.path("parts/wheel.toml"), "include = \"../parts/hold.toml\"\n\n[joints.wheel]\nring = 5\nhold = \"down\"\nsocket = 19\n").unwrap();
    fs::write(rig.path("parts/hold.toml"), "[holds]\ndown = \"Wheel down?\"\n").unwrap();
    let plan = "plan = \"Wheel\"\nsource = \"my sheet\"\ntolerance = \"±10 %\"\ninclude = \"parts/wheel.toml\"\n\n[joints.wheel]\ntarget = \"120 N·m\"\n";
    let told = rig
        .file("wheel.toml", plan)
        .file("lost.toml", plan.replace("parts/", "part/"))
        .run("plan check wheel.toml")
        .run("plan check lost.toml")
        .run("job start lost.toml");
    let part = told.path("parts/wheel.toml");
    let text = fs::read_to_string(&part).unwrap().replace("socket = 19", "socket = \"19\"");
    fs::write(part, text).unwrap();
    assert_snapshot!(
        told.run("plan check wheel.toml")
            .run("plan show wheel.toml --text")
            .run("plan show wheel.toml")
            .run("job start wheel.toml")
            .told()
    );
}

#[test]
fn a_running_job_keeps_its_plan_whatever_becomes_of_the_files() {
    let rig = Rig::new().file("bolt.toml", BOLT).run("job start bolt.toml");
    let asked = |rig: &Rig| {
        let output = rig.output(&["job", "show", "--json"]);
        let state: Value = serde_json::from_slice(&output.stdout).unwrap();
        serde_json::to_string(&state["snapshot"]).unwrap()
    };
    let before = asked(&rig);
    let rig = rig.file("bolt.toml", BOLT.replace("110 N·m", "90 N·m"));
    assert_eq!(asked(&rig), before);
    fs::remove_file(rig.path("bolt.toml")).unwrap();
    assert_eq!(asked(&rig), before);
}

#[test]
fn what_to_lay_out_is_shown_as_text_and_as_data() {
    assert_snapshot!(
        Rig::new()
            .sample("plans/first-to-last.toml")
            .run("plan show first-to-last.toml --gather")
            .run("plan show first-to-last.toml --gather --json")
            .told()
    );
}

#[test]
fn two_plans_are_compared_by_their_joints() {
    assert_snapshot!(
        Rig::new()
            .file("bolt.toml", BOLT)
            .file(
                "new.toml",
                BOLT.replace("110 N·m", "115 N·m").replace("joints.bolt", "joints . bolt")
            )
            .run("plan diff bolt.toml new.toml")
            .run("plan diff bolt.toml new.toml --json")
            .run("plan diff bolt.toml bolt.toml")
            .run("plan diff bolt.toml nothing.toml")
            .told()
    );
}

#[test]
fn a_table_is_imported_or_every_row_named() {
    assert_snapshot!(
        Rig::new()
            .sample("tables/corner.csv")
            .sample("tables/broken.csv")
            .run("plan import-csv corner.csv --source \"invented sheet\" --tolerance \"±10 %\" --out corner.toml")
            .run("plan check corner.toml")
            .run("plan import-csv corner.csv --out corner.toml")
            .run("plan import-csv broken.csv")
            .run("plan import-csv corner.csv --column Joint")
            .told()
    );
}

#[test]
fn the_schema_is_one_json_object() {
    let rig = Rig::new();
    let output = rig.output(&["plan", "schema"]);
    assert!(output.status.success());
    let schema: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(schema["title"], "Plan");
    assert_eq!(schema, clampbook::core::plan::schema());
}
