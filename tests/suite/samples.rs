//! Every sample recording gives what is written beside it.
//!
//! `UPDATE_EXPECTED=1` rewrites the expectations; whoever does so reads the difference.

use assert_cmd::Command;
use serde_json::{Map, Value};
use std::fs;
use std::path::{Path, PathBuf};

const VERDICT: &[&str] = &[
    "kind",
    "t",
    "adapter",
    "seq",
    "step",
    "pass",
    "fastener",
    "confidence",
    "basis",
    "peak_nm",
    "torque",
    "act",
];
const WARNING: &[&str] = &["kind", "t", "code", "fastener", "seq", "text"];
const SUMMARY: &[&str] =
    &["kind", "complete", "identified", "fasteners", "open", "holds", "verdicts", "warnings"];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

fn recordings() -> Vec<PathBuf> {
    let all = fs::read_dir(folder().join("recordings")).unwrap().map(|one| one.unwrap().path());
    let name = |path: &PathBuf| path.file_name().unwrap().to_str().unwrap().to_owned();
    let mut found: Vec<PathBuf> = all
        .filter(|path| name(path).ends_with(".ndjson") && !name(path).ends_with(".expect.ndjson"))
        .collect();
    found.sort();
    found
}

fn header(recording: &Path) -> Value {
    let text = fs::read_to_string(recording).unwrap();
    serde_json::from_str(text.lines().next().unwrap()).unwrap()
}

fn plan_of(recording: &Path) -> PathBuf {
    folder().join("plans").join(header(recording)["plan"].as_str().unwrap())
}

fn replay(plan: &Path, recording: &Path) -> (String, i32) {
    let recheck = header(recording)["recheck"] == true;
    let output = Command::cargo_bin("clampbook")
        .unwrap()
        .args(["replay", "--json"])
        .args(recheck.then_some("--recheck"))
        .args([plan, recording])
        .output()
        .unwrap();
    (String::from_utf8(output.stdout).unwrap(), output.status.code().unwrap())
}

#[test]
fn every_recording_gives_the_output_written_beside_it() {
    let mut wrong = Vec::new();
    assert!(recordings().len() >= 12);
    for recording in recordings() {
        let (found, status) = replay(&plan_of(&recording), &recording);
        let expect = recording.with_extension("expect.ndjson");
        if std::env::var_os("UPDATE_EXPECTED").is_some() {
            fs::write(&expect, &found).unwrap();
        }
        let expected = fs::read_to_string(&expect).unwrap_or_default();
        if found != expected {
            wrong.push(format!("{}:\nexpected\n{expected}\nfound\n{found}", expect.display()));
        }
        let summary: Value = serde_json::from_str(found.lines().last().unwrap()).unwrap();
        let complete = summary["complete"].as_bool().unwrap();
        assert_eq!(status, if complete { 0 } else { 3 }, "{}", recording.display());
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_line_has_exactly_the_keys_of_its_kind_in_order() {
    for recording in recordings() {
        let (found, _) = replay(&plan_of(&recording), &recording);
        let count = found.lines().count();
        for (index, line) in found.lines().enumerate() {
            let object: Map<String, Value> = serde_json::from_str(line).unwrap();
            let mut keys: Vec<&str> = in_order(line, &object);
            let revised = keys.last() == Some(&"revised");
            if revised {
                keys.pop();
                assert_eq!(object["revised"], Value::Bool(true));
            }
            let expected = match object["kind"].as_str().unwrap() {
                "verdict" => VERDICT,
                "warning" => WARNING,
                "summary" => SUMMARY,
                other => panic!("{other} is no kind of line"),
            };
            assert_eq!(keys, expected, "{line}");
            assert_eq!(expected == SUMMARY, index + 1 == count, "the summary is the last line");
        }
    }
}

/// The top-level keys of a line as they follow each other in its text.
fn in_order<'a>(line: &str, object: &'a Map<String, Value>) -> Vec<&'a str> {
    let mut keys: Vec<(usize, &str)> = object
        .keys()
        .map(|key| (line.find(&format!("\"{key}\":")).unwrap(), key.as_str()))
        .collect();
    keys.sort_unstable();
    keys.into_iter().map(|(_, key)| key).collect()
}

#[test]
fn lines_of_truth_are_never_looked_at() {
    for recording in recordings() {
        let text = fs::read_to_string(&recording).unwrap();
        let plan = plan_of(&recording);
        let (with, _) = replay(&plan, &recording);
        let is_truth = |line: &str| line.contains("\"kind\": \"truth\"");
        assert!(text.lines().any(is_truth), "{} has no truth to ignore", recording.display());
        let lies =
            text.lines().enumerate().map(|(index, line)| match (is_truth(line), index % 3) {
                (false, _) => line.to_owned(),
                (true, 0) => {
                    r#"{"kind": "truth", "t": "never", "seq": -1, "fastener": [], "act": 5}"#
                        .to_owned()
                }
                (true, 1) => r#"{"kind": "truth"}"#.to_owned(),
                (true, _) => line.replace("\"act\": \"tighten\"", "\"act\": \"loosen\""),
            });
        let folder = tempfile::tempdir().unwrap();
        let lying = folder.path().join("lying.ndjson");
        fs::write(&lying, lies.collect::<Vec<_>>().join("\n")).unwrap();
        assert_eq!(replay(&plan, &lying).0, with, "{}", recording.display());
    }
}
