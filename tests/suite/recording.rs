//! Recordings: read, written, and turned into what the core is told.

use clampbook::adapter::recording::{
    Button, Fault, Header, Item, LONGEST_LINE, Press, Recording, Unusable, Writer,
};
use clampbook::core::event::{
    AdapterInfo, LinkChange, LinkState, Mark, Motion, Moved, Origin, Reading, Reports, Say, Trace,
    What,
};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use proptest::prelude::*;
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
fn the_core_is_told_in_order_of_arrival_and_of_gaps_before_what_follows_them() {
    let text = [
        HEADER.to_owned(),
        ADAPTER.to_owned(),
        r#"{"kind":"mark","t":0.5,"say":"at","fastener":"wheel/1"}"#.to_owned(),
        reading_line(1.0, "a", 7, 90.0),
        reading_line(4.0, "a", 10, 93.0),
        reading_line(2.0, "a", 8, 91.0),
        reading_line(2.0, "a", 8, 91.0),
        r#"{"kind":"link","t":4.5,"adapter":"a","state":"lost"}"#.to_owned(),
        reading_line(3.5, "b", 1, 20.0),
        reading_line(5.0, "a", 14, 94.0),
    ]
    .join("\n");
    assert_eq!(
        told(&text),
        [
            "0.000 adapter a",
            "0.500 mark At { fastener: \"wheel/1\" }",
            "1.000 reading a/7 90.0",
            "4.000 gap a 9-9",
            "4.000 reading a/10 93.0",
            "2.000 reading a/8 91.0",
            "4.500 link a Lost",
            "3.500 reading b/1 20.0",
            "5.000 gap a 11-13",
            "5.000 reading a/14 94.0",
            "5.000 end",
        ]
    );
}

#[test]
fn a_number_that_comes_back_with_other_values_is_named_and_the_first_is_used() {
    let recording = read(&format!(
        "{HEADER}\n{}\n{}\n",
        reading_line(1.0, "a", 1, 90.0),
        reading_line(1.0, "a", 1, 60.0)
    ));
    let converted = recording.convert();
    assert_eq!(converted.inputs.len(), 2);
    assert_eq!(
        converted.problems[0].to_string(),
        "line 3: expected reading 1 of adapter `a` only once, but found it again with other values; the first one is used"
    );
}

/// Two pulls of 50 and 80 N·m as triangles, in blocks of `block` samples at 100 Hz.
fn two_pulls(block: usize) -> String {
    let mut samples = Vec::new();
    for peak in [50.0, 80.0] {
        for index in 0..200 {
            let share = 1.0 - (f64::from(index) - 100.0).abs() / 100.0;
            samples.push((peak * share, 0.1));
        }
        samples.extend((0..100).map(|_| (0.0, 0.0)));
    }
    let mut text =
        format!("{HEADER}\n{}\n", ADAPTER.replace("[\"peak\"]", "[\"trace\",\"rotation\"]"));
    for (index, block_samples) in samples.chunks(block).enumerate() {
        let mut turned = 0.0;
        let (nm, deg): (Vec<f64>, Vec<f64>) = block_samples
            .iter()
            .map(|(nm, step)| {
                turned += step;
                (*nm, turned)
            })
            .unzip();
        text.push_str(&format!(
            r#"{{"kind":"trace","t":{},"adapter":"a","rate_hz":100,"nm":{nm:?},"deg":{deg:?}}}"#,
            (index * block) as f64 / 100.0
        ));
        text.push('\n');
    }
    text
}

#[test]
fn pulls_of_an_adapter_that_sends_only_traces_are_found_whatever_the_blocks() {
    let whole = read(&two_pulls(600)).convert();
    let readings: Vec<&Reading> = whole
        .inputs
        .iter()
        .filter_map(|input| match &input.what {
            What::Reading(reading) => Some(reading),
            _ => None,
        })
        .collect();
    assert_eq!(readings.len(), 2);
    assert_eq!((readings[0].seq, readings[0].peak.nm()), (1, 50.0));
    assert_eq!((readings[1].seq, readings[1].peak.nm()), (2, 80.0));
    for reading in readings {
        let turned = reading.rotation_deg.unwrap();
        assert!((turned - 18.0).abs() < 0.5, "turned {turned}°");
    }
    for block in [1, 7, 64, 150] {
        let split = read(&two_pulls(block)).convert();
        assert_eq!(split.inputs.len(), whole.inputs.len());
        for (split, whole) in split.inputs.iter().zip(&whole.inputs) {
            let close = match (&split.what, &whole.what) {
                (What::Reading(split), What::Reading(whole)) => {
                    split.peak == whole.peak
                        && (split.rotation_deg.unwrap() - whole.rotation_deg.unwrap()).abs() < 1e-6
                }
                (split, whole) => split == whole,
            };
            assert!(close, "blocks of {block}: {split:?} is not {whole:?}");
        }
    }
}

#[test]
fn an_adapter_that_sends_readings_beside_traces_is_taken_at_its_word() {
    let text = format!("{}{}\n", two_pulls(600), reading_line(1.0, "a", 1, 50.4));
    let expected =
        ["0.000 adapter a", "1.000 reading a/1 50.4", "1.000 described a/1", "5.990 end"];
    assert_eq!(told(&text), expected);
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

fn stamps() -> impl Strategy<Value = Stamp> {
    (0..1_000_000_000_000_000_i64).prop_map(Stamp)
}

fn torques() -> impl Strategy<Value = Torque> {
    (-1e6..1e6_f64).prop_map(Torque::from_nm)
}

fn says() -> impl Strategy<Value = Say> {
    let text = any::<String>;
    prop_oneof![
        text().prop_map(|fastener| Say::At { fastener }),
        text().prop_map(|hold| Say::Confirm { hold }),
        text().prop_map(|fastener| Say::Stated { fastener }),
        text().prop_map(|fastener| Say::Opened { fastener }),
        (text(), text()).prop_map(|(fastener, reason)| Say::Skip { fastener, reason }),
        Just(Say::Retract),
        text().prop_map(|text| Say::Note { text }),
    ]
}

fn adapters() -> impl Strategy<Value = AdapterInfo> {
    (
        any::<String>(),
        any::<String>(),
        any::<Option<String>>(),
        proptest::option::of((0.0..1e3, 1e3..1e6_f64)),
        proptest::option::of(0.0..100.0_f64),
        any::<[bool; 5]>(),
    )
        .prop_map(|(id, serial, drive, range, accuracy_pct, reports)| {
            let [peak, rotation, trace, motion, button] = reports;
            AdapterInfo {
                id,
                serial,
                drive,
                range: range.map(|(low, high)| (Torque::from_nm(low), Torque::from_nm(high))),
                accuracy_pct,
                reports: Reports { peak, rotation, trace, motion, button, typed: trace },
            }
        })
}

fn readings() -> impl Strategy<Value = Reading> {
    (
        any::<String>(),
        any::<u32>(),
        torques(),
        proptest::option::of(-1e6..1e6_f64),
        proptest::option::of(0.0..1e6_f64),
    )
        .prop_map(|(adapter, seq, peak, rotation_deg, duration_ms)| Reading {
            adapter,
            seq: u64::from(seq),
            peak,
            rotation_deg,
            duration_ms,
            description: None,
        })
}

fn traces() -> impl Strategy<Value = Item> {
    (
        stamps(),
        any::<String>(),
        1e-2..1e6_f64,
        proptest::collection::vec((torques(), -1e6..1e6_f64), 0..40),
        any::<bool>(),
    )
        .prop_map(|(start, adapter, rate_hz, samples, turned)| {
            let (torque, deg) = samples.into_iter().unzip();
            let turned_deg = Some(deg).filter(|_| turned);
            Item::Trace { adapter, trace: Trace { start, rate_hz, torque, turned_deg } }
        })
}

fn items() -> impl Strategy<Value = Item> {
    let moved = prop_oneof![
        (-1e5..1e5_f64, -1e5..1e5_f64)
            .prop_map(|(right_mm, up_mm)| Moved::Axes { right_mm, up_mm }),
        (0.0..1e5_f64).prop_map(|mm| Moved::Distance { mm }),
    ];
    let motion = (stamps(), any::<String>(), any::<[u32; 2]>(), moved, 0.0..1e5_f64).prop_map(
        |(at, adapter, [from_seq, to_seq], moved, sd_mm)| {
            let (from_seq, to_seq) = (u64::from(from_seq), u64::from(to_seq));
            Item::Motion { at, motion: Motion { adapter, from_seq, to_seq, moved, sd_mm } }
        },
    );
    let press = prop_oneof![Just(Press::Short), Just(Press::Long), Just(Press::Double)];
    let state = prop_oneof![Just(LinkState::Lost), Just(LinkState::Back), Just(LinkState::Asleep)];
    prop_oneof![
        (stamps(), adapters()).prop_map(|(at, info)| Item::Adapter { at, info }),
        (-1_000_000_000_i64..1_000_000_000_000, readings())
            .prop_map(|(at, reading)| { Item::Reading { at: Stamp(at), reading } }),
        traces(),
        motion,
        (stamps(), any::<String>(), press).prop_map(|(at, adapter, press)| Item::Button(Button {
            at,
            adapter,
            press
        })),
        (stamps(), says())
            .prop_map(|(at, say)| Item::Mark { at, mark: Mark { say, origin: Origin::Recording } }),
        (stamps(), any::<String>(), state).prop_map(|(at, adapter, state)| Item::Link {
            at,
            change: LinkChange { adapter, state },
        }),
    ]
}

proptest! {
    /// What is written is read back unchanged.
    #[test]
    fn reading_undoes_writing(
        second in 0..4_000_000_000_i64,
        items in proptest::collection::vec(items(), 0..12),
    ) {
        let header = Header { started: jiff::Timestamp::from_second(second).unwrap() };
        let mut writer = Writer::begin(Vec::new(), header).unwrap();
        for item in &items {
            writer.write(item).unwrap();
        }
        let recording = Recording::read(writer.into_inner().as_slice());
        prop_assert_eq!(recording.problems, []);
        let read: Vec<Item> = recording.lines.into_iter().map(|line| line.item).collect();
        let mut written = vec![Item::Header(header)];
        written.extend(items);
        prop_assert_eq!(read, written);
    }

    /// No octets make it panic, and every line is either used, passed over or named.
    #[test]
    fn any_octets_can_be_read(octets in proptest::collection::vec(any::<u8>(), 0..300)) {
        let recording = Recording::read(octets.as_slice());
        let _ = recording.convert();
    }

    /// A recording cut or altered anywhere costs only the lines that are hit.
    #[test]
    fn a_damaged_octet_costs_at_most_the_lines_around_it(
        items in proptest::collection::vec(items(), 1..8),
        place in any::<proptest::sample::Index>(),
        octet in any::<u8>(),
    ) {
        let header = Header { started: jiff::Timestamp::UNIX_EPOCH };
        let mut writer = Writer::begin(Vec::new(), header).unwrap();
        for item in &items {
            writer.write(item).unwrap();
        }
        let mut octets = writer.into_inner();
        let header_length = octets.iter().position(|octet| *octet == b'\n').unwrap() + 1;
        let place = header_length + place.index(octets.len() - header_length);
        octets[place] = octet;
        let recording = Recording::read(octets.as_slice());
        let _ = recording.convert();
        prop_assert!(recording.lines.len() + 2 > items.len());
    }
}
