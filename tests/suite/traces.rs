//! A trace from a recording to the journal, the report, a recording of its own, and drawings.

use crate::rig::Rig;
use clampbook::adapter::traces::{Told, Traces, trouble};
use clampbook::core::event::Trace;
use clampbook::core::signal::Source;
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use rusqlite::Connection;
use serde_json::{Value, json};
use std::time::Duration;

const PLAN: &str = "\
plan = \"Two\"
source = \"sheet\"
tolerance = \"±10 %\"
[joints]
bracket = \"120 N·m\"
arm = \"75 lbf·ft\"
";

/// Number, fastener, peak in N·m, and how it compares with the window.
type Judged = (u64, String, f64, String);

/// A pull with its peak at `t` as blocks of a trace at 100 Hz, and the reading unless `silent`.
fn pull(t: f64, seq: u64, peak: f64, silent: bool) -> Vec<Value> {
    let torque = |s: f64| match s {
        s if s < 0.0 => 0.0,
        s if s < 0.8 => peak * s / 0.8,
        s if s < 0.9 => peak * (0.9 - s) / 0.1,
        _ => 0.0,
    };
    let turned = |s: f64| 24.0 * (s / 0.8).clamp(0.0, 1.0);
    let round = |value: f64| (value * 100.0).round() / 100.0;
    let seconds = |index: i32| f64::from(index) / 100.0 - 0.3;
    let blocks = (0..160).step_by(16).map(|first| {
        let before = if first == 0 { 0.0 } else { turned(seconds(first - 1)) };
        // Noise without chance: the last digit of a product.
        let noise = |index: i32| f64::from(index * 7919 % 13 - 6) / 100.0;
        let nm = (first..first + 16).map(|index| round(torque(seconds(index)) + noise(index)));
        let deg = (first..first + 16).map(|index| round(turned(seconds(index)) - before));
        json!({
            "kind": "trace", "t": t - 0.8 + seconds(first), "adapter": "A", "rate_hz": 100.0,
            "nm": nm.collect::<Vec<f64>>(), "deg": deg.collect::<Vec<f64>>(),
        })
    });
    let reading = json!({
        "kind": "reading", "t": t, "adapter": "A", "seq": seq, "peak_nm": peak,
        "rotation_deg": 24.0, "duration_ms": 820,
    });
    blocks.chain((!silent).then_some(reading)).collect()
}

pub(crate) fn recording(silent: bool) -> String {
    let head = [
        json!({
            "kind": "header", "format": "clampbook-recording", "version": 1,
            "started": "2026-05-16T17:00:00Z",
        }),
        json!({
            "kind": "adapter", "t": 0.0, "adapter": "A", "serial": "LK-0007", "drive": "12.5 mm",
            "range_nm": [17.0, 340.0], "accuracy_pct": 2.0,
            "reports": if silent { vec!["trace"] } else { vec!["peak", "rotation", "trace"] },
        }),
    ];
    let pulls = [(10.0, 80.0), (16.0, 120.5), (40.0, 101.0)];
    let pulls = pulls.iter().zip(1..).flat_map(|((t, peak), seq)| pull(*t, seq, *peak, silent));
    head.into_iter().chain(pulls).map(|line| line.to_string() + "\n").collect()
}

/// Verdicts of a replay, without what rules alone decide.
fn verdicts(rig: &Rig, recording: &str) -> Vec<Judged> {
    let output = rig.output(&["replay", "two.toml", recording, "--json"]);
    let lines = String::from_utf8(output.stdout).unwrap();
    lines
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap())
        .filter(|line| line["kind"] == "verdict" && line["revised"] != true)
        .map(|line| {
            let text = |key: &str| line[key].as_str().unwrap().to_owned();
            let peak = (line["peak_nm"].as_f64().unwrap() * 10.0).round() / 10.0;
            (line["seq"].as_u64().unwrap(), text("fastener"), peak, text("torque"))
        })
        .collect()
}

fn expected() -> Vec<Judged> {
    [(1, "bracket/1", 80.0, "low"), (2, "bracket/1", 120.5, "in"), (3, "arm/1", 101.0, "in")]
        .map(|(seq, fastener, peak, torque)| (seq, fastener.to_owned(), peak, torque.to_owned()))
        .to_vec()
}

#[test]
fn pulls_are_found_where_an_adapter_tells_nothing_but_its_trace() {
    let rig = Rig::new().file("two.toml", PLAN).file("silent.ndjson", recording(true));
    let found = verdicts(&rig, "silent.ndjson");
    let near = |(found, expected): (&Judged, &Judged)| {
        (found.0, &found.1, &found.3) == (expected.0, &expected.1, &expected.3)
            && (found.2 / expected.2 - 1.0).abs() < 0.005
    };
    let expected = expected();
    assert_eq!(found.len(), expected.len(), "{found:?}");
    assert!(found.iter().zip(&expected).all(near), "{found:?}");
}

#[test]
fn a_trace_is_kept_beside_its_reading_recorded_again_and_drawn() {
    // The fifth block of the second pull never came.
    let mut lines: Vec<String> = recording(false).lines().map(|line| format!("{line}\n")).collect();
    lines.remove(2 + 11 + 4);
    let rig = Rig::new().file("two.toml", PLAN).file("two.ndjson", lines.concat());
    assert_eq!(verdicts(&rig, "two.ndjson"), expected());
    let rig = rig.run("job start two.toml");
    let mut served = rig.serve(&["--adapter", "sim:two.ndjson,fast"]);
    let journal = || Connection::open(rig.path("journal.sqlite")).unwrap();
    let kept = |kind: &str| -> i64 {
        let sql = "SELECT count(*) FROM event WHERE kind = ?1 AND job = 1";
        journal().query_row(sql, [kind], |row| row.get(0)).unwrap()
    };
    for _ in 0..400 {
        if kept("described") == 3 {
            break;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    assert_eq!((kept("reading"), kept("described")), (3, 3), "{}", rig.log());
    served.signal("TERM");
    let traces: i64 = journal()
        .query_row("SELECT count(*) FROM personal WHERE field = 'trace'", [], |row| row.get(0))
        .unwrap();
    assert_eq!(traces, 3);

    assert!(rig.output(&["report", "1", "--html", "report.html"]).status.success());
    let html = std::fs::read_to_string(rig.path("report.html")).unwrap();
    // Both pulls on the bracket are one tightening.
    assert_eq!(html.matches("<svg width=").count(), 2);
    assert!(html.contains("torque, lbf·ft"), "in the unit that the plan's author used");
    let german = ["report", "1", "--html", "bericht.html", "--language", "de"];
    assert!(rig.output(&german).status.success());
    let html = std::fs::read_to_string(rig.path("bericht.html")).unwrap();
    assert_eq!(html.matches("<svg width=").count(), 2);
    assert!(html.contains("Drehmoment, lbf·ft") && !html.contains("torque, lbf·ft"));

    assert!(rig.output(&["record", "1", "--out", "again.ndjson"]).status.success());
    assert_eq!(verdicts(&rig, "again.ndjson"), expected());
    let again = std::fs::read_to_string(rig.path("again.ndjson")).unwrap();
    let traces = again.lines().filter(|line| line.contains(r#""kind":"trace""#)).count();
    assert_eq!(traces, 4, "a hole is written as what it is");
    let drawn = rig.output(&["replay", "two.toml", "again.ndjson", "--plot", "plots"]);
    assert_eq!(
        String::from_utf8(drawn.stderr).unwrap(),
        "plots/bracket-1-pass-1.svg\nplots/arm-1-pass-1.svg\n"
    );
}

#[test]
fn samples_need_not_be_kept_to_know_what_they_showed() {
    let rig = Rig::new().file("two.toml", PLAN).file("two.ndjson", recording(false));
    let rig = rig.run("job start two.toml");
    let served = rig.serve(&["--adapter", "sim:two.ndjson,fast", "--no-traces"]);
    let counts = || -> (i64, i64) {
        let journal = Connection::open(rig.path("journal.sqlite")).unwrap();
        let sql = "SELECT (SELECT count(*) FROM event WHERE kind = 'described'), \
                   (SELECT count(*) FROM personal WHERE field = 'trace')";
        journal.query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?))).unwrap()
    };
    for _ in 0..400 {
        if counts().0 == 3 {
            break;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    assert_eq!(counts(), (3, 0));
    drop(served);
}

#[test]
fn nonsense_in_a_trace_is_told_once_a_kind_over_all_links_of_an_adapter() {
    let mut told = Told::default();
    let mut troubles = Vec::new();
    for link in 0..2 {
        let mut traces: Traces<u64> = Traces::new(Source::default());
        for block in 0..4 {
            let start = Stamp::from_seconds(f64::from(link * 100 + block));
            let nm = if block % 2 == 0 { f64::NAN } else { 0.5 };
            let torque = vec![Torque::from_nm(nm); 100];
            let turned_deg = (link == 1).then(|| vec![0.0; 7]);
            traces.block(Trace { start, rate_hz: 100.0, torque, turned_deg });
            let found = traces.nonsense();
            let news = found.iter().filter(|what| told.is_news(what));
            troubles.extend(news.map(|what| trouble("LK-0007", what).to_string()));
        }
        traces.ended();
    }
    assert_eq!(
        troubles,
        [
            "adapter LK-0007: sends a trace that cannot all be read: expected torque as a number \
             below 20000 N·m, but found 100 samples that are not; they count as missing; \
             check the adapter's cable and range",
            "adapter LK-0007: sends a trace that cannot all be read: expected 100 rotations, one a \
             torque, but found 7; the block is read without rotation; check the adapter's trace",
        ]
    );
}
