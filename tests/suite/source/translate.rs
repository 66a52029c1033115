//! The wire as the session sees it.

use clampbook::adapter::session::{Answer, Heard, Order, Wanted};
use clampbook::adapter::translate;
use clampbook::adapter::trouble::Cause;
use clampbook::core::units::Torque;
use proptest::prelude::*;

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
