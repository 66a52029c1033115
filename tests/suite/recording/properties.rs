//! Whatever is written is read again.

use clampbook::adapter::recording::{Button, Header, Item, Press, Recording, Writer};
use clampbook::core::event::{
    AdapterInfo, LinkChange, LinkState, Mark, Motion, Moved, Origin, Reading, Reports, Say, Trace,
};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use proptest::prelude::*;

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
        (text(), proptest::option::of(text()))
            .prop_map(|(hold, because)| Say::Confirm { hold, because }),
        text().prop_map(|fastener| Say::Stated { fastener }),
        text().prop_map(|fastener| Say::Opened { fastener }),
        text().prop_map(|fastener| Say::Spoiled { fastener }),
        text().prop_map(|name| Say::AlsoOpened { name }),
        (text(), text()).prop_map(|(of, value)| Say::Figure { of, value }),
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
                overdue_since: None,
                certificate: None,
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
