//! Sources as they are written.

use super::simulated;
use clampbook::adapter::spec::{BleSpec, Faults, Pace, SimulatedSpec, SourceSpec};

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
