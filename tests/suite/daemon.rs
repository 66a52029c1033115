//! The engine and the daemon: what is heard is kept, once, whatever happens.

mod engine;
mod turning;

use crate::rig::{Rig, samples};
use clampbook::core::command::{Command, Done, Refusal, StartJob};
use clampbook::core::event::{
    AdapterInfo, Event, JobId, Mark, Origin, Reading, ReadingKey, Reports, Say,
};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use clampbook::daemon::engine::Engine;
use clampbook::daemon::wake::{Heard, HeardReading, Outcome, Wake};
use clampbook::journal::Reader;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

const PLAN: &str = r#"plan = "Two bolts"
vehicle = "Orvane Dray 3"
tolerance = "±8 %"
source = "my sheet"
in-order = true

[joints]
damper-eye = "122 N·m"
arm-pivot = "178 N·m"
"#;

const NOW: Stamp = Stamp(1_780_000_000_000_000);

fn at(seconds: f64) -> Stamp {
    NOW + seconds
}

fn engine(path: &Path) -> Engine {
    Engine::open(path).unwrap()
}

fn start() -> Wake {
    let start = StartJob::new(PLAN.to_owned(), [7; 16]).unwrap();
    Wake::Asked(at(0.0), Command::Start(Box::new(start)), None)
}

fn adapter() -> Wake {
    Wake::Heard(
        at(0.5),
        Heard::Adapter(AdapterInfo {
            overdue_since: None,
            certificate: None,
            id: "LK-1".into(),
            serial: "LK-1".into(),
            drive: None,
            range: Some((Torque::from_nm(40.0), Torque::from_nm(280.0))),
            accuracy_pct: Some(3.0),
            reports: Reports { peak: true, ..Reports::default() },
        }),
    )
}

fn pull(seq: u32, seconds: f64, nm: f64) -> Wake {
    Wake::Heard(
        at(seconds + 0.2),
        Heard::Reading(HeardReading {
            key: ReadingKey::Numbered { serial: "LK-1".into(), epoch: 1, sequence: seq },
            at: at(seconds),
            at_error_us: Some(10_000),
            reading: Reading {
                adapter: "LK-1".into(),
                seq: seq.into(),
                peak: Torque::from_nm(nm),
                rotation_deg: None,
                duration_ms: None,
                description: None,
            },
            raw: Some(vec![1, 2, 3]),
        }),
    )
}

fn say(seconds: f64, say: Say) -> Wake {
    Wake::Asked(at(seconds), Command::Mark(Mark { say, origin: Origin::CommandLine }), None)
}

fn answer(outcomes: Vec<Outcome>) -> Result<Done, Refusal> {
    outcomes
        .into_iter()
        .find_map(|outcome| match outcome {
            Outcome::Answer(answer) => Some(answer),
            _ => None,
        })
        .unwrap()
}

fn kinds(path: &Path, job: u32) -> Vec<String> {
    let entries = Reader::open(path).unwrap().entries_of_job(JobId(job)).unwrap();
    entries
        .into_iter()
        .map(|entry| {
            let json = serde_json::to_value(entry.unwrap().event).unwrap();
            json["kind"].as_str().unwrap().to_owned()
        })
        .collect()
}

/// The demo's recording without what the operator said, and its plan.
fn pulls_only(rig: Rig) -> Rig {
    let text = fs::read_to_string(samples().join("recordings/second-evening.ndjson")).unwrap();
    let pulls = text.lines().filter(|line| !line.contains("\"mark\""));
    let pulls: String = pulls.map(|line| format!("{line}\n")).collect();
    rig.file("pulls.ndjson", pulls).sample("plans/first-corner.toml")
}

/// Readings kept of job 1, by adapter and number, with how often each is kept.
fn kept(path: &Path) -> BTreeMap<(String, u64), u32> {
    let mut kept = BTreeMap::new();
    for entry in Reader::open(path).unwrap().entries_of_job(JobId(1)).unwrap() {
        if let Event::Reading { reading, .. } = entry.unwrap().event {
            *kept.entry((reading.adapter, reading.seq)).or_default() += 1;
        }
    }
    kept
}

fn entries(path: &Path) -> Vec<[u8; 32]> {
    let entries = Reader::open(path).unwrap().entries_of_job(JobId(1)).unwrap();
    entries.into_iter().map(|entry| entry.unwrap().hash).collect()
}

fn wait_for(path: &Path, count: usize) {
    for _ in 0..1_000 {
        if kept(path).len() >= count {
            return;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    panic!("only {} of {count} readings came", kept(path).len());
}

#[test]
fn a_daemon_killed_in_the_middle_of_a_job_goes_on_without_a_loss_or_a_double() {
    let rig = pulls_only(Rig::new());
    let path: PathBuf = rig.path("journal.sqlite");
    assert!(rig.output(&["job", "start", "first-corner.toml"]).status.success());
    let recorded = fs::read_to_string(rig.path("pulls.ndjson")).unwrap();
    let all = recorded.lines().filter(|line| line.contains("\"reading\"")).count();
    assert!(all > 20, "{all}");
    let args = ["--adapter", "sim:pulls.ndjson,speed=400,seed=4,faults=drop+double+delay+skip"];
    let mut before = Vec::new();
    for count in [3, 9, 10, 20] {
        let mut served = rig.serve(&args);
        wait_for(&path, count);
        served.signal("KILL");
        let after = entries(&path);
        assert_eq!(after[..before.len()], before[..], "what was kept stays as it was");
        before = after;
    }
    let mut served = rig.serve(&args);
    wait_for(&path, all);
    assert_eq!(served.signal("TERM"), Some(0), "{}", rig.log());
    assert_eq!(entries(&path)[..before.len()], before[..]);
    let kept = kept(&path);
    assert_eq!(kept.len(), all);
    assert!(kept.values().all(|times| *times == 1), "{kept:?}");
}

#[test]
fn a_second_daemon_on_the_same_journal_is_refused_and_the_first_goes_on() {
    let rig = Rig::new().file("two.toml", PLAN);
    let served = rig.serve(&[]);
    let second = rig.output(&["serve"]);
    assert_eq!(second.status.code(), Some(1));
    let said = String::from_utf8(second.stderr).unwrap();
    let expected = format!("process {} writing to it; stop that one", served.child.id());
    assert!(said.contains(&expected), "{said}");
    assert!(rig.output(&["job", "start", "two.toml"]).status.success());
    assert_eq!(served.get("/v1/state").0, 200);
}

#[test]
fn the_command_line_says_the_same_through_a_daemon_as_without_one() {
    let lines = [
        "job list --json",
        "job start two.toml",
        "job mark at arm-pivo",
        "job mark stated arm-pivot",
        "job show",
        "job close",
        "job close --open \"no nut\"",
        "job list --json",
        "job show --json",
        "job mark retract",
    ];
    let mut said = Vec::new();
    for with_daemon in [true, false] {
        let mut rig = Rig::new().file("two.toml", PLAN);
        // Both begin with a journal that is there.
        drop(engine(&rig.path("journal.sqlite")));
        let served = with_daemon.then(|| rig.serve(&[]));
        for line in lines {
            rig = rig.run(line);
        }
        drop(served);
        said.push(without_stamps(&rig.told()));
    }
    assert_eq!(said[0], said[1]);
    assert!(said[0].contains("OPEN: damper-eye/1"), "{}", said[0]);
}

/// The text without microseconds since the epoch.
fn without_stamps(text: &str) -> String {
    text.split("\"at\":")
        .map(|part| part.trim_start_matches(|c: char| c.is_ascii_digit()))
        .collect::<Vec<_>>()
        .join("\"at\":")
}

#[test]
fn a_stopped_daemon_leaves_no_trace_and_a_killed_one_misleads_nobody() {
    let rig = Rig::new().file("two.toml", PLAN);
    let mut served = rig.serve(&[]);
    let file = rig.contact_file().unwrap();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
        let folder = file.parent().unwrap();
        assert_eq!(fs::metadata(folder).unwrap().permissions().mode() & 0o777, 0o700);
    }
    assert_eq!(served.signal("INT"), Some(0), "{}", rig.log());
    assert_eq!(rig.contact_file(), None);
    let mut served = rig.serve(&[]);
    assert_eq!(served.signal("KILL"), None);
    assert!(rig.contact_file().is_some());
    let started = rig.output(&["job", "start", "two.toml"]);
    assert_eq!(started.status.code(), Some(0), "{}", String::from_utf8_lossy(&started.stderr));
}

#[test]
fn adapters_that_make_no_sense_end_serve_before_it_begins() {
    insta::assert_snapshot!(
        Rig::new()
            .file("text.ndjson", "hello\n")
            .run("serve --adapter tin:1")
            .run("serve --adapter sim:missing.ndjson")
            .run("serve --adapter sim:text.ndjson")
            .told()
    );
}

#[test]
fn the_demo_ends_the_same_whatever_the_radio_does() {
    let rig = Rig::new();
    let recorded = fs::read_to_string(samples().join("recordings/second-evening.ndjson")).unwrap();
    let all = recorded.lines().filter(|line| line.contains("\"reading\"")).count();
    let mut outcomes = Vec::new();
    for seed in ["1", "2", "3", "4", "5", "6"] {
        // The same folder again and again: a demo clears away what an earlier one left.
        let output = rig.output(&["demo", "--fast", "--seed", seed, "--out", "out"]);
        let said = String::from_utf8(output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(3), "{said}");
        assert!(said.contains("OPEN: rear-left-wheel/6"), "{said}");
        let files = "out/journal.sqlite\nout/report.html\nout/report.json\n";
        assert!(said.ends_with(files), "{said}");
        for file in files.lines() {
            assert!(fs::metadata(rig.path(file)).unwrap().len() > 0, "{file}");
        }
        let journal = rig.path("out/journal.sqlite");
        let kept = kept(&journal);
        assert_eq!(kept.len(), all, "seed {seed}");
        assert!(kept.values().all(|times| *times == 1), "seed {seed}: {kept:?}");
        let shown = rig.output(&["--journal", "out/journal.sqlite", "job", "show", "--json"]);
        let shown: serde_json::Value = serde_json::from_slice(&shown.stdout).unwrap();
        let summary = &shown["summary"];
        outcomes.push(format!(
            "{} {} {} {}",
            summary["fasteners"], summary["open"], summary["holds"], summary["verdicts"]
        ));
    }
    outcomes.dedup();
    assert_eq!(outcomes.len(), 1, "{outcomes:#?}");
}

#[test]
fn the_demo_writes_over_nothing_of_others() {
    let rig = Rig::new();
    fs::create_dir(rig.path("mine")).unwrap();
    let rig = rig.file("mine/photo.jpg", "x").run("demo --fast --out mine");
    assert_eq!(fs::read_dir(rig.path("mine")).unwrap().count(), 1);
    assert_eq!(
        rig.told(),
        "$ clampbook demo --fast --out mine  -> 2\n\
         ! error: expected mine to be empty or left by an earlier demo, but found photo.jpg in it; \
         name another folder with --out\n"
    );
}
