//! Sources: how they are written down, recordings played as sources, and what a radio source decides.

use clampbook::adapter::ble::{Backoff, LinkClass, classify};
use clampbook::adapter::live::Live;
use clampbook::adapter::recording::Recording;
use clampbook::adapter::session::{Answer, Heard, Order, Wanted};
use clampbook::adapter::simulated::{Player, Simulated};
use clampbook::adapter::source::{Known, ShutdownTrigger, SourceEvent, SourceIo, Stored};
use clampbook::adapter::spec::{BleSpec, Faults, Pace, SimulatedSpec, SourceSpec};
use clampbook::adapter::translate;
use clampbook::adapter::trouble::Cause;
use clampbook::core::event::{Input, LinkState, ReadingKey, What};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::mpsc;

fn simulated(file: &str) -> SimulatedSpec {
    SimulatedSpec {
        file: PathBuf::from(file),
        pace: Pace::Times(1.0),
        seed: 0,
        faults: Faults::default(),
    }
}

#[track_caller]
fn check_refused(text: &str, expected: &str) {
    let error = SourceSpec::parse(text).expect_err("this cannot be understood");
    assert_eq!(error.to_string(), expected);
}

#[test]
fn sources_are_understood_as_written() {
    let cases = [
        ("sim:a/b.ndjson", SourceSpec::Simulated(simulated("a/b.ndjson"))),
        (
            "sim:a.ndjson,fast,seed=7",
            SourceSpec::Simulated(SimulatedSpec {
                pace: Pace::Fast,
                seed: 7,
                ..simulated("a.ndjson")
            }),
        ),
        (
            "sim:a.ndjson,speed=2.5,faults=drop+gap",
            SourceSpec::Simulated(SimulatedSpec {
                pace: Pace::Times(2.5),
                faults: Faults { drop: true, gap: true, ..Faults::default() },
                ..simulated("a.ndjson")
            }),
        ),
        (
            "ble:C0:FF:EE:00:00:01",
            SourceSpec::Ble(BleSpec {
                adapter: "C0:FF:EE:00:00:01".to_owned(),
                controller: None,
                pin: None,
            }),
        ),
        (
            "ble:LK-0007,controller=hci1",
            SourceSpec::Ble(BleSpec {
                adapter: "LK-0007".to_owned(),
                controller: Some("hci1".to_owned()),
                pin: None,
            }),
        ),
    ];
    for (text, expected) in cases {
        assert_eq!(SourceSpec::parse(text), Ok(expected), "{text}");
    }
}

#[test]
fn what_cannot_be_understood_is_said_with_what_would_be() {
    check_refused(
        "serial:7",
        "expected a source as `sim:FILE` or `ble:ADAPTER`, but found `serial:7`; write one of them",
    );
    check_refused(
        "ble:",
        "expected an adapter's serial number, name or address after `ble:`, but found nothing; write `ble:LK-0007`",
    );
    check_refused(
        "sim:,fast",
        "expected the name of a recording after `sim:`, but found nothing; write `sim:recording.ndjson`",
    );
    check_refused(
        "sim:a,quick",
        "expected `speed=N`, `fast`, `seed=N` or `faults=LIST` as options of a `sim:` source, but found `quick`; correct it",
    );
    check_refused(
        "sim:a,speed=0",
        "expected `speed` as a number from 0.01 to 10000, but found `0`; correct it",
    );
    check_refused(
        "sim:a,seed=-1",
        "expected `seed` as a whole number from 0, but found `-1`; correct it",
    );
    check_refused(
        "sim:a,faults=drop+fire",
        "expected `faults` as `drop`, `double`, `delay`, `skip` and `gap`, joined by `+`, but found `fire`; correct it",
    );
    check_refused(
        "ble:x,controller=",
        "expected `controller=NAME` as options of a `ble:` source, but found `controller=`; correct it",
    );
}

/// A recording of two adapters with `pulls` pulls, marks between them, and a link lost in the middle.
fn recording(pulls: u64) -> Recording {
    let mut lines = vec![
        r#"{"kind":"header","format":"clampbook-recording","version":1,"started":"2026-03-14T18:02:11Z"}"#.to_owned(),
        r#"{"kind":"adapter","t":0,"adapter":"large","serial":"LK-0007","drive":"1/2\"","range_nm":[40,280],"accuracy_pct":2,"reports":["peak"]}"#.to_owned(),
        r#"{"kind":"adapter","t":0,"adapter":"small","serial":"LK-0003","drive":"1/4\"","range_nm":[12,60],"accuracy_pct":2,"reports":["peak"]}"#.to_owned(),
    ];
    for pull in 1..=pulls {
        let t = pull as f64 * 7.0;
        let (adapter, seq) =
            if pull % 3 == 0 { ("small", pull / 3) } else { ("large", pull - pull / 3) };
        lines.push(format!(
            r#"{{"kind":"mark","t":{},"say":"at","fastener":"wheel/{pull}"}}"#,
            t - 2.0
        ));
        if pull == pulls / 2 {
            lines.push(format!(
                r#"{{"kind":"link","t":{},"adapter":"large","state":"lost"}}"#,
                t - 1.5
            ));
            lines.push(format!(
                r#"{{"kind":"link","t":{},"adapter":"large","state":"back"}}"#,
                t - 1.0
            ));
        }
        lines.push(format!(
            r#"{{"kind":"reading","t":{t},"adapter":"{adapter}","seq":{seq},"peak_nm":{}}}"#,
            40.0 + pull as f64 / 3.0
        ));
    }
    let recording = Recording::read(lines.join("\n").as_bytes());
    assert_eq!(recording.problems, []);
    recording
}

/// Plays everything at once, committing each reading as soon as it is told.
fn play(recording: &Recording, spec: &SimulatedSpec, known: &Known) -> Vec<SourceEvent> {
    let mut player = Player::new(recording, Stamp(0), spec, known);
    let mut told = Vec::new();
    let mut steps = 0;
    while player.next_at().is_some() {
        steps += 1;
        assert!(steps < 100_000, "the recording never ends");
        let mut events = player.advance();
        while !events.is_empty() {
            let keys: Vec<ReadingKey> = events
                .iter()
                .filter_map(|event| match event {
                    SourceEvent::Reading { key, .. } => Some(key.clone()),
                    _ => None,
                })
                .collect();
            told.append(&mut events);
            for key in keys {
                events.extend(player.stored(&key));
            }
        }
    }
    told
}

/// An event as the core is told of it; the first word that a link is up is no news to it.
fn input(event: &SourceEvent) -> Option<Input> {
    let (at, what) = match event {
        SourceEvent::Adapter { at, info } => (at, What::Adapter(info.clone())),
        SourceEvent::Reading { at, reading, .. } => (at, What::Reading(reading.clone())),
        SourceEvent::Described { at, described, .. } => (at, What::Described(described.clone())),
        SourceEvent::Motion { at, motion } => (at, What::Motion(motion.clone())),
        SourceEvent::Mark { at, mark } => (at, What::Mark(mark.clone())),
        SourceEvent::Link { at, change } => (at, What::Link(change.clone())),
        SourceEvent::Gap { at, gap } => (at, What::Gap(gap.clone())),
        SourceEvent::Live { .. }
        | SourceEvent::Health(_)
        | SourceEvent::Trouble { .. }
        | SourceEvent::Ended => return None,
    };
    Some(Input { at: *at, what })
}

#[test]
fn without_faults_the_core_is_told_what_the_recording_says() {
    let recording = recording(24);
    let events = play(&recording, &simulated("x"), &Known::default());
    let mut inputs: Vec<Input> = events.iter().filter_map(input).collect();
    let mut met = BTreeSet::new();
    inputs.retain(|input| match &input.what {
        What::Link(change) if change.state == LinkState::Back => {
            !met.insert(change.adapter.clone())
        }
        _ => true,
    });
    let mut expected = recording.convert().inputs;
    expected.pop();
    assert_eq!(inputs, expected);
}

#[test]
fn what_was_committed_before_is_not_told_again() {
    let recording = recording(9);
    let key = |serial: &str, sequence| ReadingKey::Numbered {
        serial: serial.to_owned(),
        epoch: 1,
        sequence,
    };
    let known =
        Known { keys: vec![key("LK-0007", 1), key("LK-0007", 2), key("LK-0003", 1)], gaps: vec![] };
    let told = keys(&play(&recording, &simulated("x"), &known));
    assert_eq!(told.len(), 6);
    assert!(known.keys.iter().all(|key| !told.contains(key)));
}

#[test]
fn each_wished_fault_can_be_seen() {
    let recording = recording(60);
    let with = |faults: Faults| {
        let spec = SimulatedSpec { faults, seed: 4, ..simulated("x") };
        let events = play(&recording, &spec, &Known::default());
        assert_eq!(play(&recording, &spec, &Known::default()), events, "the same seed");
        events
    };
    let plain = with(Faults::default());
    let lost = |events: &[SourceEvent]| {
        let lost = |event: &&SourceEvent| matches!(event, SourceEvent::Link { change, .. } if change.state == LinkState::Lost);
        events.iter().filter(lost).count()
    };
    assert_eq!(lost(&plain), 1);
    let dropped = with(Faults { drop: true, ..Faults::default() });
    assert!(lost(&dropped) > 1, "the link was lost");
    assert_eq!(keys(&dropped), keys(&plain));
    let gaps = with(Faults { gap: true, ..Faults::default() });
    assert!(keys(&gaps).len() < 60, "something is missing");
    assert!(gaps.iter().any(|event| matches!(event, SourceEvent::Gap { .. })));
    let doubled = with(Faults { double: true, ..Faults::default() });
    assert!(doubled == plain, "what comes twice is told once");
    // What was not sent is fetched, before anything later is told.
    let skipped = with(Faults { skip: true, ..Faults::default() });
    assert_eq!(keys(&skipped), keys(&plain));
    let late = with(Faults { delay: true, skip: true, drop: true, ..Faults::default() });
    assert!(late != plain, "some readings were told late");
    assert_eq!(keys(&late), keys(&plain));
}

fn keys(events: &[SourceEvent]) -> BTreeSet<ReadingKey> {
    let mut keys = BTreeSet::new();
    for event in events {
        if let SourceEvent::Reading { key, .. } = event {
            assert!(keys.insert(key.clone()), "{key:?} was told twice");
        }
    }
    keys
}

proptest! {
    /// With any faults and any seed, each reading is told exactly once or is a gap.
    #[test]
    fn faults_hide_nothing(
        pulls in 1..50_u64,
        seed in any::<u64>(),
        faults in any::<[bool; 5]>(),
    ) {
        let [drop, double, delay, skip, gap] = faults;
        let faults = Faults { drop, double, delay, skip, gap };
        let recording = recording(pulls);
        let spec = SimulatedSpec { faults, seed, ..simulated("x") };
        let events = play(&recording, &spec, &Known::default());
        let mut numbers: BTreeSet<(String, u64)> = BTreeSet::new();
        for event in &events {
            match event {
                SourceEvent::Reading { reading, .. } => {
                    let number = (reading.adapter.clone(), reading.seq);
                    prop_assert!(numbers.insert(number), "told twice: {event:?}");
                }
                SourceEvent::Gap { gap, .. } => {
                    for number in gap.first..=gap.last {
                        prop_assert!(numbers.insert((gap.adapter.clone(), number)));
                    }
                }
                _ => {}
            }
        }
        let expected: BTreeSet<(String, u64)> = recording
            .convert()
            .inputs
            .into_iter()
            .filter_map(|input| match input.what {
                What::Reading(reading) => Some((reading.adapter, reading.seq)),
                _ => None,
            })
            .collect();
        // The very first readings of an adapter are no gap to somebody who has never met it.
        let mut unseen: BTreeSet<(String, u64)> = expected.difference(&numbers).cloned().collect();
        for adapter in ["large", "small"] {
            let mut first = 1;
            while unseen.remove(&(adapter.to_owned(), first)) {
                first += 1;
            }
        }
        prop_assert!(unseen.is_empty(), "hidden: {unseen:?}");
        prop_assert!(expected.is_superset(&numbers));
    }
}

/// Runs a source over `pulls` pulls with a slow taker; gives the events and how long it took, seconds.
async fn run(spec: &str, pulls: u64, shut_down_after: Option<usize>) -> (Vec<SourceEvent>, f64) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("recording.ndjson");
    let mut writer = Vec::new();
    for line in recording(pulls).lines {
        use clampbook::adapter::recording::{Item, Writer};
        match line.item {
            Item::Header(header) => {
                writer = Writer::begin(writer, header).unwrap().into_inner();
            }
            item => {
                let header =
                    clampbook::adapter::recording::Header { started: jiff::Timestamp::UNIX_EPOCH };
                let mut one = Writer::begin(Vec::new(), header).unwrap();
                one.write(&item).unwrap();
                let text = one.into_inner();
                let line_end = text.iter().position(|octet| *octet == b'\n').unwrap();
                writer.extend_from_slice(&text[line_end + 1..]);
            }
        }
    }
    std::fs::write(&file, writer).unwrap();
    let spec = SourceSpec::parse(&spec.replace("FILE", &file.display().to_string())).unwrap();
    let SourceSpec::Simulated(spec) = spec else { panic!("expected a simulated source") };
    let source = Simulated::load(&spec).unwrap();

    let began = tokio::time::Instant::now();
    let (events, mut taken) = mpsc::channel(2);
    let (acknowledge, stored) = mpsc::channel(2);
    let (trigger, shutdown) = ShutdownTrigger::new();
    let clock = Arc::new(move || Stamp::from_seconds(5000.0 + began.elapsed().as_secs_f64()));
    let (_, errands) = mpsc::channel(1);
    let io = SourceIo { events, stored, errands, shutdown, clock, known: Known::default() };
    let task = tokio::spawn(source.run(io));
    let mut told = Vec::new();
    while let Some(event) = taken.recv().await {
        if let SourceEvent::Reading { key, .. } = &event {
            let _ = acknowledge.send(Stored { key: key.clone() }).await;
        }
        told.push(event);
        if shut_down_after == Some(told.len()) {
            trigger.shut_down();
        }
    }
    task.await.unwrap();
    (told, began.elapsed().as_secs_f64())
}

#[tokio::test(start_paused = true)]
async fn a_recording_is_played_at_its_own_pace() {
    let (events, seconds) = run("sim:FILE", 10, None).await;
    assert_eq!(events.last(), Some(&SourceEvent::Ended));
    assert_eq!(keys(&events).len(), 10);
    assert!((69.9..72.0).contains(&seconds), "took {seconds} s for 70 s");
    let Some(SourceEvent::Reading { at, .. }) =
        events.iter().find(|event| matches!(event, SourceEvent::Reading { .. }))
    else {
        panic!("expected a reading");
    };
    assert_eq!(at.seconds(), 5007.0);
}

#[tokio::test(start_paused = true)]
async fn a_faster_pace_takes_less_time_and_puts_nothing_into_the_future() {
    for (spec, least, most) in [("sim:FILE,speed=10", 6.9, 7.3), ("sim:FILE,fast", 0.0, 0.1)] {
        let (events, seconds) = run(spec, 10, None).await;
        assert_eq!(keys(&events).len(), 10, "{spec}");
        assert!((least..most).contains(&seconds), "{spec} took {seconds} s");
        for event in &events {
            if let Some(input) = input(event) {
                assert!(input.at.seconds() <= 5000.0 + seconds + 0.01, "{spec}: {input:?}");
            }
        }
    }
}

#[tokio::test(start_paused = true)]
async fn a_source_ends_when_it_is_shut_down() {
    let (events, seconds) = run("sim:FILE", 10, Some(4)).await;
    assert!(events.len() < 8, "{events:?}");
    assert!(seconds < 10.0);
}

#[test]
fn errors_of_the_stack_are_sorted_by_what_helps() {
    for (text, expected) in [
        ("le-connection-abort-by-local", LinkClass::Retryable),
        ("Operation already in progress", LinkClass::Retryable),
        ("br-connection-busy", LinkClass::Retryable),
        ("Already Connected", LinkClass::Retryable),
        ("Service discovery timed out", LinkClass::Retryable),
        ("Software caused connection abort", LinkClass::Retryable),
        ("Authentication Failed", LinkClass::NeedsPairing),
        ("Authentication Canceled", LinkClass::NeedsPairing),
        ("Operation failed with ATT error: 0x05", LinkClass::NeedsPairing),
        ("Operation failed with ATT error: 0x0f", LinkClass::NeedsPairing),
        ("Read not permitted org.bluez.Error.NotPermitted", LinkClass::NeedsPairing),
        ("Resource Not Ready", LinkClass::ControllerOff),
        ("No Bluetooth adapters found.", LinkClass::NoController),
        ("The name org.bluez was not provided by any .service files", LinkClass::NoService),
        (
            "Method \"Connect\" with signature \"\" on interface \"org.bluez.Device1\" doesn't exist",
            LinkClass::Rescan,
        ),
        ("org.freedesktop.DBus.Error.UnknownObject", LinkClass::Rescan),
        ("Launch helper exited with unknown return code 1", LinkClass::NoService),
        ("Unit dbus-org.bluez.service not found.", LinkClass::NoService),
        ("D-Bus error: (org.freedesktop.DBus.Error.Spawn.ChildExited)", LinkClass::NoService),
        ("Device not found", LinkClass::Rescan),
    ] {
        assert_eq!(classify(text), expected, "{text}");
    }
}

#[test]
fn attempts_become_rarer_up_to_a_minute_and_start_anew_once_data_has_flowed() {
    let mut backoff = Backoff::default();
    let mut waits = |class, count: usize| -> Vec<f64> {
        (0..count).map(|_| backoff.failed(class, 0.5).as_secs_f64()).collect()
    };
    assert_eq!(
        waits(LinkClass::Retryable, 12),
        [0.25, 0.25, 0.25, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 60.0, 60.0, 60.0]
    );
    backoff.flowed();
    let mut waits = |class, count: usize| -> Vec<f64> {
        (0..count).map(|_| backoff.failed(class, 0.5).as_secs_f64()).collect()
    };
    // However long an adapter sleeps or Bluetooth is off: who wakes it is not kept waiting for a minute.
    for class in
        [LinkClass::Rescan, LinkClass::NoController, LinkClass::ControllerOff, LinkClass::NoService]
    {
        assert_eq!(waits(class, 40), [4.0; 40], "{class:?}");
    }
    assert_eq!(waits(LinkClass::NeedsPairing, 2), [15.0, 15.0]);
    for chance in [0.0, 1.0, f64::NAN] {
        let mut backoff = Backoff::default();
        for _ in 0..100_000 {
            let wait = backoff.failed(LinkClass::Retryable, chance).as_secs_f64();
            assert!((0.25..=60.0).contains(&wait), "{wait} s");
        }
    }
}

#[test]
fn live_torque_becomes_readings_that_claim_no_more_than_they_can() {
    let mut live = Live::new(translate::live_only_info("LK-0001"));
    let mut events = Vec::new();
    for connection in [100.0, 200.0] {
        events.extend(live.connected(Stamp::from_seconds(connection)));
        for index in 0..120 {
            let at = Stamp::from_seconds(connection + 1.0 + f64::from(index) * 0.05);
            let nm = (60.0 - (f64::from(index % 60) - 20.0).abs() * 4.0).max(0.0);
            events.extend(live.sample(at, Torque::from_nm(nm)));
        }
        events.extend(live.disconnected(Stamp::from_seconds(connection + 9.0)));
    }
    let told: Vec<String> = events
        .iter()
        .filter_map(|event| match event {
            SourceEvent::Adapter { info, .. } => Some(format!("adapter {}", info.id)),
            SourceEvent::Reading {
                key: ReadingKey::Arrival { connection, arrival, .. },
                at,
                reading,
                ..
            } => Some(format!(
                "{}/{arrival}: {} of {} N·m at {:.2}",
                connection / 1_000_000,
                reading.seq,
                reading.peak.nm(),
                at.seconds()
            )),
            SourceEvent::Link { change, .. } => Some(format!("{:?}", change.state)),
            SourceEvent::Trouble { trouble, .. } => Some(trouble.message.clone()),
            SourceEvent::Live { .. } => None,
            other => Some(format!("{other:?}")),
        })
        .collect();
    assert_eq!(
        told,
        [
            "adapter LK-0001",
            "tells only its present torque: a pull that is not heard is lost, and nothing tells so",
            "Back",
            "100/1: 1 of 60 N·m at 102.00",
            "100/2: 2 of 60 N·m at 105.00",
            "Lost",
            "was out of reach: pulls made meanwhile are lost",
            "Back",
            "200/1: 3 of 60 N·m at 202.00",
            "200/2: 4 of 60 N·m at 205.00",
            "Lost",
        ]
    );
}

fn octets(hex: &str) -> Vec<u8> {
    let hex: String = hex.split_whitespace().collect();
    (0..hex.len() / 2)
        .map(|index| u8::from_str_radix(&hex[2 * index..2 * index + 2], 16).unwrap())
        .collect()
}

#[test]
fn a_record_on_the_wire_is_a_reading_here() {
    // Epoch 3, number 7, tick 12 345, −165.25 N·m, −46.3°, 780 ms, clipped.
    let raw = octets("0300 07000000 39300000 73bfffff 31fe 0c03 0110");
    let (heard, trouble) = translate::reading("LK-0007", &raw);
    let Heard::Record(record) = heard else { panic!("expected a record, but found {heard:?}") };
    assert_eq!((record.epoch, record.sequence), (3, 7));
    assert_eq!(record.peak.nm(), -165.25);
    assert_eq!(record.rotation_deg, Some(-46.3));
    assert_eq!(record.duration_ms, Some(780.0));
    assert_eq!(record.raw, Some(raw.clone()));
    let trouble = trouble.unwrap().to_string();
    assert_eq!(
        trouble,
        "adapter LK-0007: reading 7: the true peak is higher than the sensor can tell; check this pull by other means"
    );

    // Another layout: the key is known, nothing else is read out of it.
    let mut later = raw.clone();
    later[19] = 0x20;
    let (heard, trouble) = translate::reading("LK-0007", &later);
    assert_eq!(heard, Heard::Unreadable { epoch: 3, sequence: 7 });
    assert!(trouble.unwrap().message.contains("layout 2"));

    // A peak that is not known is no peak.
    let mut unknown = raw;
    unknown[10..14].copy_from_slice(&[0xff, 0xff, 0xff, 0x7f]);
    let (heard, trouble) = translate::reading("LK-0007", &unknown);
    assert_eq!(heard, Heard::Unreadable { epoch: 3, sequence: 7 });
    assert!(trouble.unwrap().message.contains("not known"));
}

#[test]
fn orders_are_written_as_the_specification_has_them() {
    for (order, expected) in [
        (Order::Report(Wanted::All), "01 01"),
        (Order::Report(Wanted::From { epoch: 3, sequence: 8 }), "01 03 01 0300 08000000"),
        (
            Order::Report(Wanted::Range { epoch: 3, first: 8, last: 9 }),
            "01 04 01 0300 08000000 09000000",
        ),
        (Order::Release { epoch: 3, up_to: 7 }, "02 02 01 0300 07000000"),
    ] {
        assert_eq!(translate::order(order), Some(octets(expected)), "{order:?}");
    }
    assert_eq!(translate::order(Order::ReadStatus), None);
    assert_eq!(translate::order(Order::Release { epoch: 70_000, up_to: 7 }), None);
    for (response, expected) in [
        ("06 00 01 01", Some(Answer::Done)),
        ("06 00 01 06", Some(Answer::NoneFound)),
        ("06 00 01 08", Some(Answer::Busy)),
        ("06 00 02 05", Some(Answer::Refused("invalid operand".to_owned()))),
        ("05 00 07 00", None),
        ("06 00", None),
        ("", None),
    ] {
        assert_eq!(translate::answer(&octets(response)), expected, "{response}");
    }
}

#[test]
fn an_adapter_of_a_later_major_version_is_refused_with_a_reason() {
    let capability = octets("01 00 03 7d 0303 a00f0000 606d0000 c800 e803 0000");
    let info = translate::adapter_info("LK-0007", &capability).unwrap();
    assert_eq!(info.drive.as_deref(), Some("1/2\""));
    assert_eq!(info.range, Some((Torque::from_nm(40.0), Torque::from_nm(280.0))));
    assert_eq!(info.accuracy_pct, Some(2.0));
    let reports = (info.reports.peak, info.reports.rotation, info.reports.trace);
    assert_eq!(reports, (true, true, false));
    let mut later = capability.clone();
    later[0] = 2;
    let cause = translate::adapter_info("LK-0007", &later).unwrap_err();
    assert_eq!(cause, Cause::FirmwareTooNew { found: 2, known: 1 });
    assert!(translate::adapter_info("LK-0007", &capability[..19]).is_err());
}

proptest! {
    /// Whatever octets an adapter sends, they are read, kept aside, or refused.
    #[test]
    fn any_octets_of_an_adapter_can_be_translated(
        octets in proptest::collection::vec(any::<u8>(), 0..64),
        long in 0..512_usize,
    ) {
        let mut padded = octets.clone();
        padded.resize(octets.len() + long, 0);
        for octets in [octets, padded] {
            let _ = translate::reading("x", &octets);
            let _ = translate::status(&octets, true);
            let _ = translate::answer(&octets);
            let _ = translate::adapter_info("x", &octets);
            let _ = translate::live_torque(&octets);
        }
    }
}
