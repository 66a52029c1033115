//! What must hold for any octets at all.

use clampbook_protocol::gatt::{assigned, characteristic};
use clampbook_protocol::{
    Announcement, Button, Calibration, Capability, ControlAnswer, ControlRequest, Motion,
    Notification, PresentationFormat, Reading, RecordRequest, RecordResponse, Rotation, Sample,
    SetPoint, Status, Tick, Torque, TraceBlock, TraceFlags, TraceHead, Versioned, encode_trace,
};
use proptest::collection::vec;
use proptest::prelude::*;

const CHARACTERISTICS: [u128; 9] = [
    assigned(characteristic::TORQUE),
    assigned(characteristic::RECORD_ACCESS_CONTROL_POINT),
    characteristic::READING,
    characteristic::STATUS,
    characteristic::CONTROL_POINT,
    characteristic::TRACE,
    characteristic::BUTTON,
    characteristic::MOTION,
    0x1234,
];

/// The octets that a message gives back after it was read, or `None` where it was not read as a
/// message of this version.
type Again = Option<Vec<u8>>;

fn again<T>(parsed: Versioned<'_, T>, octets: &[u8], emit: impl Fn(&T) -> Vec<u8>) -> Again {
    match parsed {
        Versioned::Known(message) => Some(emit(&message)),
        Versioned::Unknown { octets: kept, .. } => {
            assert_eq!(kept, octets, "an unknown message keeps its octets");
            None
        }
    }
}

fn trace_again(block: &TraceBlock<'_>) -> Vec<u8> {
    let mut buffer = [0; TraceBlock::MOST];
    block.emit(&mut buffer).expect("a block that was read fits").to_vec()
}

/// Reads octets as each message in turn, prints it, and emits it again where it has the length of
/// this version.
fn all_again(octets: &[u8]) -> Vec<(&'static str, Vec<u8>)> {
    let mut seen = Vec::new();
    let mut note = |name, again: Again| {
        if let Some(emitted) = again {
            seen.push((name, emitted));
        }
    };
    macro_rules! versioned {
        ($($message:ident),*) => {$(
            if let Ok(parsed) = $message::parse(octets) {
                if let Versioned::Known(message) = parsed {
                    let _ = message.to_string();
                }
                note(stringify!($message), again(parsed, octets, |message| message.emit().to_vec()));
            }
        )*};
    }
    macro_rules! plain {
        ($($message:ident),*) => {$(
            if let Ok(message) = $message::parse(octets) {
                let _ = message.to_string();
                note(stringify!($message), Some(message.emit().to_vec()));
            }
        )*};
    }
    versioned!(Announcement, Capability, Calibration, Reading, Status, SetPoint, Button, Motion);
    plain!(
        Torque,
        PresentationFormat,
        RecordRequest,
        RecordResponse,
        ControlRequest,
        ControlAnswer
    );
    if let Ok(parsed) = TraceBlock::parse(octets) {
        if let Versioned::Known(block) = parsed {
            let _ = block.to_string();
        }
        note("TraceBlock", again(parsed, octets, trace_again));
    }
    seen
}

/// Octets that are likely to be read as something: a small first octet, or a version of 1 where
/// the layouts have theirs.
fn likely_octets() -> impl Strategy<Value = Vec<u8>> {
    let length = prop_oneof![0_usize..=20, Just(2), Just(9), Just(16), Just(18), Just(20)];
    (length, vec(any::<u8>(), 20), 0_u8..8, any::<bool>()).prop_map(
        |(length, mut octets, first, versioned)| {
            octets.truncate(length);
            if let Some(octet) = octets.first_mut() {
                *octet = first;
            }
            if let (Some(octet), true) = (octets.last_mut(), versioned) {
                *octet = 0x10 | (*octet & 0x0F);
            }
            octets
        },
    )
}

fn check_identity(octets: &[u8]) -> Result<(), TestCaseError> {
    for (name, emitted) in all_again(octets) {
        let kept = emitted.len().min(octets.len());
        prop_assert_eq!(&emitted[..], &octets[..kept], "{} changed octets", name);
        let may_be_longer =
            ["Announcement", "Capability", "ControlRequest", "ControlAnswer", "RecordResponse"];
        if !may_be_longer.contains(&name) {
            prop_assert_eq!(emitted.len(), octets.len(), "{} dropped octets", name);
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn no_octets_of_any_length_panic_and_what_is_read_is_emitted_again(
        octets in vec(any::<u8>(), 0..=512),
    ) {
        check_identity(&octets)?;
    }

    #[test]
    fn short_octets_that_are_read_are_emitted_again(octets in likely_octets()) {
        check_identity(&octets)?;
    }

    #[test]
    fn no_notification_panics_and_an_unknown_one_keeps_its_octets(
        which in 0..CHARACTERISTICS.len(),
        octets in vec(any::<u8>(), 0..=512),
    ) {
        if let Ok(Notification::Unknown { octets: kept, .. }) =
            Notification::parse(CHARACTERISTICS[which], &octets)
        {
            prop_assert_eq!(kept, &octets[..]);
        }
    }

    #[test]
    fn a_reading_with_any_flipped_version_bit_is_unknown_and_still_tells_its_key(
        epoch in 1_u16..,
        sequence in 1_u32..,
        rest in vec(any::<u8>(), 12),
        flags in 0_u16..0x1000,
        bit in 12_u32..16,
    ) {
        let mut octets = Vec::new();
        octets.extend(epoch.to_le_bytes());
        octets.extend(sequence.to_le_bytes());
        octets.extend(rest);
        octets.extend((flags | 0x1000).to_le_bytes());
        let known = matches!(Reading::parse(&octets), Ok(Versioned::Known(_)));
        prop_assert!(known);
        octets[19] ^= 1 << (bit - 8);
        let unknown = matches!(Reading::parse(&octets), Ok(Versioned::Unknown { .. }));
        prop_assert!(unknown);
        let key = Reading::key_in(&octets).map(|key| (key.epoch.get(), key.sequence.get()));
        prop_assert_eq!(key, Ok((epoch, sequence)));
    }

    #[test]
    fn a_message_with_any_flipped_version_bit_is_never_read_by_this_layout(
        octets in likely_octets(),
        bit in 4_u32..8,
    ) {
        let mut flipped = octets.clone();
        if let Some(octet) = flipped.last_mut() {
            *octet ^= 1 << bit;
        }
        macro_rules! never_both {
            ($($message:ident),*) => {$(
                if let Ok(Versioned::Known(_)) = $message::parse(&octets) {
                    let still = matches!($message::parse(&flipped), Ok(Versioned::Known(_)));
                    prop_assert!(!still, "{} was read by this layout", stringify!($message));
                }
            )*};
        }
        never_both!(Status, Calibration, SetPoint, Button, Motion);
    }

    #[test]
    fn a_reading_longer_than_its_version_allows_is_refused(extra in 1_usize..=492) {
        let mut octets = vec![1; 20 + extra];
        octets[19] = 0x10;
        prop_assert!(Reading::parse(&octets).is_err());
    }

    #[test]
    fn a_trace_tells_each_sample_to_half_a_unit_of_its_scale(
        samples in vec((-40_000_i32..=40_000, -3_000_i32..=3_000), 1..200),
        rotates in any::<bool>(),
        room in 14_usize..=300,
    ) {
        let samples: Vec<Sample> = samples
            .into_iter()
            .map(|(torque, rotation)| Sample {
                torque: Torque::from_centinewton_metres(torque),
                rotation: if rotates { Rotation::from_tenths(rotation) } else { Rotation::NOT_KNOWN },
            })
            .collect();
        let head = TraceHead {
            block: 7,
            flags: TraceFlags::NONE.with_if(rotates, TraceFlags::ROTATION),
            start: Tick(99),
        };
        let mut buffer = vec![0; room];
        let written = encode_trace(head, &samples, &mut buffer).expect("one sample fits");
        let Ok(Versioned::Known(block)) = TraceBlock::parse(written.octets) else {
            return Err(TestCaseError::fail("the block is not read again"));
        };
        let told: Vec<Sample> = block.samples().collect();
        prop_assert_eq!(told.len(), written.samples);
        let step = if rotates { 2 } else { 1 };
        let most = 1 + (room.min(TraceBlock::MOST) - if rotates { 14 } else { 12 }) / step;
        prop_assert_eq!(told.len(), samples.len().min(most));
        // Steps of up to 80 000 need the scale 1024, of up to 6 000 the scale 64.
        for (told, given) in told.iter().zip(&samples) {
            prop_assert!((told.torque.raw() - given.torque.raw()).abs() <= 512);
            let turn = |sample: &Sample| i32::from(sample.rotation.tenths().unwrap_or(0));
            prop_assert!((turn(told) - turn(given)).abs() <= 32);
        }
    }

    #[test]
    fn a_trace_of_small_steps_is_told_exactly(
        start in -20_000_i32..=20_000,
        steps in vec(-127_i32..=127, 0..8),
    ) {
        let samples: Vec<Sample> = core::iter::once(0)
            .chain(steps)
            .scan(start, |torque, step| {
                *torque += step;
                Some(Sample {
                    torque: Torque::from_centinewton_metres(*torque),
                    rotation: Rotation::NOT_KNOWN,
                })
            })
            .collect();
        let head = TraceHead { block: 0, flags: TraceFlags::NONE, start: Tick(0) };
        let mut buffer = [0; 20];
        let written = encode_trace(head, &samples, &mut buffer).expect("one sample fits");
        let Ok(Versioned::Known(block)) = TraceBlock::parse(written.octets) else {
            return Err(TestCaseError::fail("the block is not read again"));
        };
        prop_assert_eq!(block.samples().collect::<Vec<_>>(), samples);
    }
}
