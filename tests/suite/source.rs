//! Sources: how they are written down, recordings played as sources, and what a radio source decides.

mod adapter_spec;
mod live_torque;
mod stack;
mod translate;

use clampbook::adapter::recording::Recording;
use clampbook::adapter::simulated::{Player, Simulated};
use clampbook::adapter::source::{Guidance, Known, ShutdownTrigger, SourceEvent, SourceIo, Stored};
use clampbook::adapter::spec::{Faults, Pace, SimulatedSpec, SourceSpec};
use clampbook::core::event::{Input, LinkState, ReadingKey, What};
use clampbook::core::time::Stamp;
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::{mpsc, watch};

fn simulated(file: &str) -> SimulatedSpec {
    SimulatedSpec {
        file: PathBuf::from(file),
        pace: Pace::Times(1.0),
        seed: 0,
        faults: Faults::default(),
    }
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
        | SourceEvent::Press { .. }
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
    let (_, guidance) = watch::channel(Guidance::default());
    let known = Known::default();
    let io = SourceIo { events, stored, errands, guidance, shutdown, clock, known };
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
