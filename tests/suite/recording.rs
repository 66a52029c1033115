//! Recordings: read, written, and turned into what the core is told.

mod convert;
mod properties;

use clampbook::adapter::recording::{
    Fault, Header, Item, LONGEST_LINE, Recording, Unusable, Writer,
};
use clampbook::core::event::{AdapterInfo, Reading, Reports, What};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use std::io::{BufReader, Read};

const HEADER: &str = r#"{"kind":"header","format":"clampbook-recording","version":1,"started":"2026-03-14T18:02:11Z"}"#;
const ADAPTER: &str = r#"{"kind":"adapter","t":0,"adapter":"a","serial":"LK-0007","drive":"1/2\"","range_nm":[40,280],"accuracy_pct":2,"reports":["peak"]}"#;

fn read(text: &str) -> Recording {
    Recording::read(text.as_bytes())
}

/// The lines after a header, as problems in words.
#[track_caller]
fn check_problems(lines: &str, expected: &[&str]) {
    let recording = read(&format!("{HEADER}\n{lines}\n{ADAPTER}\n"));
    let problems: Vec<String> = recording.problems.iter().map(ToString::to_string).collect();
    assert_eq!(problems, expected);
    let last = recording.lines.last().map(|line| &line.item);
    assert!(matches!(last, Some(Item::Adapter { .. })), "the rest is still read");
}

/// What the core is told, one short line each.
fn told(text: &str) -> Vec<String> {
    let converted = read(text).convert();
    assert_eq!(converted.problems, []);
    converted
        .inputs
        .iter()
        .map(|input| {
            let what = match &input.what {
                What::Adapter(info) => format!("adapter {}", info.id),
                What::Reading(reading) => {
                    format!("reading {}/{} {:.1}", reading.adapter, reading.seq, reading.peak.nm())
                }
                What::Described(shown) => format!("described {}/{}", shown.adapter, shown.seq),
                What::Motion(motion) => {
                    format!("motion {} {}-{}", motion.adapter, motion.from_seq, motion.to_seq)
                }
                What::Mark(mark) => format!("mark {:?}", mark.say),
                What::Given(given) => format!("given {}", given.line),
                What::Link(change) => format!("link {} {:?}", change.adapter, change.state),
                What::Gap(gap) => format!("gap {} {}-{}", gap.adapter, gap.first, gap.last),
                What::Tick => "tick".to_owned(),
                What::End => "end".to_owned(),
            };
            format!("{:.3} {what}", input.at.seconds())
        })
        .collect()
}

fn reading_line(t: f64, adapter: &str, seq: u64, peak: f64) -> String {
    format!(r#"{{"kind":"reading","t":{t},"adapter":"{adapter}","seq":{seq},"peak_nm":{peak}}}"#)
}

#[test]
fn every_fault_is_named_with_its_line_and_costs_only_that_line() {
    check_problems(
        r#"{"kind":"reading","t":1"#,
        &[
            "line 2: expected one JSON object, but found EOF while parsing an object at column 23; repair or remove the line (the rest of the file is read)",
        ],
    );
    check_problems(
        "[1,2]",
        &[
            "line 2: expected one JSON object, but found invalid type: sequence, expected an object with a text as its `kind`; repair or remove the line",
        ],
    );
    check_problems(
        r#"{"t":1}"#,
        &["line 2: expected a key `kind` that says what the line is, but found none; add it"],
    );
    check_problems(
        r#"{"kind":"reading","t":1,"adapter":"a","peak_nm":3}"#,
        &["line 2: expected a key `seq` in a `reading` line, but found none; add it"],
    );
    check_problems(
        r#"{"kind":"reading","t":"soon","adapter":"a","seq":1,"peak_nm":3}"#,
        &[
            "line 2: expected the values that a `reading` line has, but found invalid type: string \"soon\", expected f64; correct the value",
        ],
    );
    check_problems(
        r#"{"kind":"reading","t":-0.5,"adapter":"a","seq":1,"peak_nm":3}"#,
        &["line 2: expected `t` from 0.0 to 1000000000.0, but found -0.5; correct the value"],
    );
    check_problems(
        r#"{"kind":"reading","t":1,"adapter":"a","seq":1,"peak_nm":1e300}"#,
        &[
            "line 2: expected `peak_nm` from -1000000.0 to 1000000.0, but found 1e300; correct the value",
        ],
    );
    check_problems(
        r#"{"kind":"reading","t":1,"adapter":"a","seq":4294967296,"peak_nm":3}"#,
        &[
            "line 2: expected `seq` from 0.0 to 4294967295.0, but found 4294967296.0; correct the value",
        ],
    );
    check_problems(
        r#"{"kind":"trace","t":1,"adapter":"a","rate_hz":0,"nm":[1]}"#,
        &["line 2: expected `rate_hz` from 0.001 to 10000000.0, but found 0.0; correct the value"],
    );
    check_problems(
        r#"{"kind":"trace","t":1,"adapter":"a","rate_hz":10,"nm":[1,2],"deg":[1]}"#,
        &["line 2: expected as many values in `deg` as in `nm` (2), but found 1"],
    );
    check_problems(
        r#"{"kind":"motion","t":1,"adapter":"a","from_seq":1,"to_seq":2,"right_mm":3,"sd_mm":4}"#,
        &["line 2: expected `right_mm` and `up_mm`, or `distance_mm`, but found neither; add them"],
    );
    check_problems(
        r#"{"kind":"adapter","t":0,"adapter":"b","serial":"s","drive":null,"range_nm":[60,12],"accuracy_pct":null,"reports":[]}"#,
        &["line 2: expected `range_nm` as [smallest, largest], but found [60, 12]; swap them"],
    );
    check_problems(
        r#"{"kind":"mark","t":1,"say":"at"}"#,
        &["line 2: expected a key `fastener` in a `mark` line, but found none; add it"],
    );
    check_problems(
        HEADER,
        &["line 2: expected only one `header` line, but found another; split the file before it"],
    );
}

#[test]
fn numbers_that_json_does_not_have_are_named() {
    let recording = read(&format!(
        "{HEADER}\n{}\n{}\n",
        r#"{"kind":"reading","t":NaN,"adapter":"a","seq":1,"peak_nm":3}"#,
        r#"{"kind":"reading","t":1,"adapter":"a","seq":1,"peak_nm":1e999}"#,
    ));
    assert_eq!(recording.lines.len(), 1);
    assert!(
        recording.problems.iter().all(|problem| matches!(problem.fault, Fault::NotJson { .. })),
        "{:?}",
        recording.problems
    );
    assert_eq!(recording.problems.len(), 2);
}

#[test]
fn line_ends_of_any_kind_a_byte_order_mark_and_blank_lines_change_nothing() {
    let plain = read(&format!("{HEADER}\n{ADAPTER}\n"));
    let dressed = read(&format!("\u{feff}{HEADER}\r\n{ADAPTER}"));
    assert_eq!(dressed, plain);
    let spaced = read(&format!("{HEADER}\n\n  \r\n{ADAPTER}\n\n"));
    assert_eq!(spaced.problems, []);
    assert_eq!(spaced.lines[1].item, plain.lines[1].item);
    assert_eq!(spaced.lines[1].number, 4);
}

#[test]
fn unknown_kinds_keys_and_abilities_are_passed_over() {
    let recording = read(&format!(
        "{HEADER}\n{}\n{}\n",
        r#"{"kind":"weather","t":1,"sky":"grey"}"#,
        r#"{"colour":{"deep":[1]},"kind":"adapter","t":0,"adapter":"a","serial":"s","drive":null,"range_nm":null,"accuracy_pct":null,"reports":["peak","taste"]}"#,
    ));
    assert_eq!(recording.problems, []);
    let Item::Adapter { info, .. } = &recording.lines[1].item else {
        panic!("expected the adapter, but found {:?}", recording.lines[1]);
    };
    assert_eq!(
        *info,
        AdapterInfo {
            overdue_since: None,
            certificate: None,
            id: "a".to_owned(),
            serial: "s".to_owned(),
            drive: None,
            range: None,
            accuracy_pct: None,
            reports: Reports { peak: true, ..Reports::default() },
        }
    );
}

#[test]
fn truth_lines_are_never_looked_at() {
    let with_truth = |truth: &str| {
        read(&format!(
            "{HEADER}\n{ADAPTER}\n{}\n{truth}\n{}\n",
            reading_line(1.0, "a", 1, 90.0),
            reading_line(2.0, "a", 2, 91.0),
        ))
    };
    let honest = with_truth(
        r#"{"kind":"truth","t":1,"seq":1,"adapter":"a","fastener":"wheel/1","act":"tighten"}"#,
    );
    assert_eq!(honest.lines.len(), 4);
    for altered in [
        r#"{"kind":"truth","t":1,"seq":2,"adapter":"a","fastener":null,"act":"trial"}"#,
        r#"{"seq":1,"t":1,"adapter":"a","kind":"truth"}"#,
        r#"{"kind":"truth","t":-7,"seq":"many","act":[[[{}]]]}"#,
        r#"{"kind":"truth","t":1,"seq":1,"adapter":"#,
        r#"{"kind":"truth"garbled beyond repair"#,
    ] {
        let recording = with_truth(altered);
        assert_eq!(recording, honest, "{altered}");
        assert_eq!(recording.convert(), honest.convert(), "{altered}");
    }
}

#[test]
fn without_a_header_it_says_so_and_reads_the_rest() {
    let recording = read(&format!("{ADAPTER}\n{}\n", reading_line(1.0, "a", 1, 90.0)));
    assert_eq!(recording.lines.len(), 2);
    assert_eq!(recording.lines[0].number, 1);
    assert_eq!(
        recording.problems[0].to_string(),
        "line 1: expected a `header` line first, but found a `adapter` line; the file is read as version 1 of the format"
    );
    assert_eq!(recording.header(), None);
}

#[test]
fn another_format_or_a_later_version_is_refused_as_a_whole() {
    for (header, expected) in [
        (
            r#"{"kind":"header","format":"clampbook-recording","version":2,"begun":5}"#,
            "expected version 1 of the recording format, but found version 2; nothing is read: use the program that wrote it, or a newer one",
        ),
        (
            r#"{"kind":"header","format":"weather","version":1}"#,
            "expected the format `clampbook-recording`, but found `weather`; nothing is read",
        ),
    ] {
        let recording = read(&format!("{header}\n{ADAPTER}\n"));
        assert_eq!(recording.lines, []);
        assert_eq!(recording.problems.len(), 1);
        assert_eq!(recording.problems[0].fault.to_string(), expected);
    }
}

#[test]
fn a_place_without_a_usable_recording_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    assert!(matches!(
        Recording::load(&folder.path().join("none.ndjson")),
        Err(Unusable::Open { .. })
    ));
    assert!(matches!(
        Recording::load(folder.path()),
        Err(Unusable::Open { .. } | Unusable::Spoiled { .. })
    ));
    let empty = folder.path().join("empty.ndjson");
    std::fs::write(&empty, format!("{HEADER}\nnot a line\n")).unwrap();
    let Err(Unusable::Empty { problems, .. }) = Recording::load(&empty) else {
        panic!("expected a recording without lines to be refused");
    };
    assert_eq!(problems.len(), 1);
}

#[test]
fn lines_of_many_megabytes_are_read_and_endless_ones_are_named() {
    let mut nm = String::new();
    for index in 0..1_000_000 {
        nm.push_str(if index == 0 { "1.25" } else { ",1.25" });
    }
    let long = format!(r#"{{"kind":"trace","t":1,"adapter":"a","rate_hz":1000,"nm":[{nm}]}}"#);
    let recording = read(&format!("{HEADER}\n{long}\n"));
    assert_eq!(recording.problems, []);
    let Item::Trace { trace, .. } = &recording.lines[1].item else {
        panic!("expected a trace");
    };
    assert_eq!(trace.torque.len(), 1_000_000);

    let endless = std::io::repeat(b'x').take(LONGEST_LINE as u64 + 9);
    let start = format!("{HEADER}\n");
    let rest = format!("\n{ADAPTER}\n");
    let input = start.as_bytes().chain(endless).chain(rest.as_bytes());
    let recording = Recording::read(BufReader::new(input));
    assert_eq!(recording.problems.len(), 1);
    assert_eq!(recording.problems[0].line, 2);
    assert!(matches!(recording.problems[0].fault, Fault::TooLong { .. }));
    assert_eq!(recording.lines[1].number, 3);
}

#[test]
fn what_could_not_be_read_back_is_not_written() {
    let header = Header { started: jiff::Timestamp::UNIX_EPOCH };
    let mut writer = Writer::begin(Vec::new(), header).unwrap();
    let refused = writer.write(&Item::Reading {
        at: Stamp(0),
        reading: Reading {
            adapter: "a".to_owned(),
            seq: 1,
            peak: Torque::from_nm(f64::NAN),
            rotation_deg: None,
            duration_ms: None,
            description: None,
        },
    });
    assert!(refused.is_err());
    let text = String::from_utf8(writer.into_inner()).unwrap();
    assert_eq!(
        text,
        "{\"kind\":\"header\",\"format\":\"clampbook-recording\",\"version\":1,\"started\":\"1970-01-01T00:00:00Z\"}\n"
    );
}

#[test]
fn a_reading_made_before_the_start_keeps_its_time() {
    let item = Item::Reading {
        at: Stamp(-2_500_000),
        reading: Reading {
            adapter: "a".to_owned(),
            seq: 1,
            peak: Torque::from_nm(91.25),
            rotation_deg: None,
            duration_ms: Some(640.0),
            description: None,
        },
    };
    let header = Header { started: jiff::Timestamp::UNIX_EPOCH };
    let mut writer = Writer::begin(Vec::new(), header).unwrap();
    writer.write(&item).unwrap();
    let text = String::from_utf8(writer.into_inner()).unwrap();
    assert_eq!(
        text.lines().nth(1).unwrap(),
        r#"{"kind":"reading","t":0.0,"adapter":"a","seq":1,"peak_nm":91.25,"duration_ms":640.0,"before_start_s":2.5}"#
    );
    assert_eq!(read(&text).lines[1].item, item);
}
