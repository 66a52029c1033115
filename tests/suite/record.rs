//! What `record` writes of jobs that no recording was made from.

use crate::rig::Rig;
use crate::story::plan;
use clampbook::core::event::{AdapterInfo, Draft, Event, JobId, Reading, ReadingKey, Reports};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use clampbook::journal::Journal;
use serde_json::Value;

const WHEEL: &str = "
    plan = 'One wheel'
    source = 'invented'
    tolerance = '±10 %'
    [joints.wheel]
    ring = 5
    target = '120 N·m'
";

fn draft(second: i64, event: Event) -> Draft {
    let at = Stamp(1_800_000_000_000_000 + second * 1_000_000);
    Draft { at, job: Some(JobId(1)), event, personal: Vec::new(), raw: None }
}

fn reading(second: i64, epoch: u32, sequence: u32, nm: f64) -> Draft {
    let serial = "KB-1187".to_owned();
    let at = draft(second, Event::Adapter(adapter())).at;
    let reading = Reading {
        adapter: serial.clone(),
        seq: u64::from(sequence),
        peak: Torque::from_nm(nm),
        rotation_deg: None,
        duration_ms: None,
        description: None,
    };
    let key = ReadingKey::Numbered { serial, epoch, sequence };
    draft(second, Event::Reading { key, at, at_error_us: None, reading })
}

fn adapter() -> AdapterInfo {
    AdapterInfo {
        overdue_since: None,
        certificate: None,
        id: "KB-1187".to_owned(),
        serial: "KB-1187".to_owned(),
        drive: None,
        range: Some((Torque::from_nm(40.0), Torque::from_nm(280.0))),
        accuracy_pct: Some(1.0),
        reports: Reports { peak: true, ..Reports::default() },
    }
}

#[test]
fn an_adapter_that_was_switched_off_and_on_keeps_all_its_readings_apart() {
    let rig = Rig::new();
    let journal = rig.path("journal.sqlite");
    let plan_hash = "0".repeat(64);
    let started =
        Event::JobStarted { plan: plan(WHEEL), plan_hash, uuid: "made-for-a-test".to_owned() };
    let drafts = vec![
        draft(0, started),
        draft(1, Event::Adapter(adapter())),
        reading(10, 7, 1, 120.0),
        reading(20, 7, 2, 121.0),
        reading(40, 8, 1, 119.0),
        reading(50, 8, 2, 118.0),
        reading(60, 8, 3, 122.0),
    ];
    Journal::open_writer(&journal).unwrap().append(drafts).unwrap();

    let recorded = rig.output(&["--journal", journal.to_str().unwrap(), "record"]).stdout;
    let text = String::from_utf8(recorded).unwrap();
    let lines: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let told: Vec<(&str, &str, Option<u64>)> = lines[1..]
        .iter()
        .map(|line| {
            let word = |key: &str| line[key].as_str().unwrap();
            (word("kind"), word("adapter"), line["seq"].as_u64())
        })
        .collect();
    assert_eq!(
        told,
        [
            ("adapter", "KB-1187", None),
            ("reading", "KB-1187", Some(1)),
            ("reading", "KB-1187", Some(2)),
            ("adapter", "KB-1187#2", None),
            ("reading", "KB-1187#2", Some(1)),
            ("reading", "KB-1187#2", Some(2)),
            ("reading", "KB-1187#2", Some(3)),
        ]
    );

    let rig = rig.file("wheel.toml", WHEEL).file("job.ndjson", text);
    let replayed = rig.output(&["replay", "wheel.toml", "job.ndjson", "--json"]).stdout;
    let replayed = String::from_utf8(replayed).unwrap();
    let summary: Value = serde_json::from_str(replayed.lines().last().unwrap()).unwrap();
    assert_eq!(summary["verdicts"], 5);
    assert_eq!(summary["warnings"], serde_json::json!({}));
    assert_eq!(summary["complete"], true);
}
