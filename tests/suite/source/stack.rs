//! Errors of the Bluetooth stack, and how often it is tried again.

use clampbook::adapter::ble::{Backoff, LinkClass, classify};

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
        ("Message recipient disconnected from message bus without replying", LinkClass::NoService),
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
