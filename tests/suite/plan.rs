//! The plan parser, seen from outside: text in, plan or faults out.

use clampbook::core::plan::{Fault, Plan, PlanFile, parse};
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
fn five_mistakes_give_five_messages_with_their_places() {
    check_faults(
        &sample("broken/five-mistakes.toml"),
        "\
7:11: error: expected a torque unit, but found `lb`, which may mean foot or inch; write `lbf·ft` or `lbf·in`
8:14: error: expected a torque with its unit for `slide-pins`, but found the number 26; write it with its unit and in quotes, like `\"26 N·m\"`
13:9: error: expected each of the 6 members once in the order, but found 3 twice and no 6; write it like `1-4-2-5-3-6`
14:1: error: expected a key of the joint `half-shaft-flange`, but found `turned-to-reech`; did you mean `turned-to-reach`?
19:9: error: expected the name of a joint in `after`, but found `halfshaft-flange`; did you mean `half-shaft-flange`?
",
    );
}
