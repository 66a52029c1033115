//! `doctor`, and what the radio's verbs say, over a bus of the test's own with a stand-in for BlueZ.

use crate::bluez::{Bluez, Bus, Script};
use crate::rig::Rig;
use serde_json::{Value, json};

/// A stand-in for BlueZ on that bus, with a controller that is on or off, and a device with or without
/// a bond.
fn bluez(bus: &Bus, powered: Option<bool>, bonded: Option<bool>) -> Bluez {
    let heard = bonded.is_some();
    let bonded = bonded.unwrap_or(false);
    Bluez::start(bus, Script { powered, heard, bonded, ..Script::default() })
}

const KEPT: &str = "\
[[added]]
serial = \"LK-0007\"
name = \"half-inch\"
bonded = true
address = \"C0:FF:EE:00:00:01\"
controller = \"00:AA:01:00:00:42\"
";

/// What `doctor` finds wrong, with what to do about it, and its exit status.
fn faults(rig: &Rig, bus: &str) -> (Option<i32>, Vec<(String, String)>) {
    let mut doctor = rig.command(&["doctor", "--json"]);
    let output = doctor.env("DBUS_SYSTEM_BUS_ADDRESS", bus).output().unwrap();
    let report: Value = serde_json::from_slice(&output.stdout).unwrap();
    let checks = report["checks"].as_array().unwrap();
    let faults: Vec<(String, String)> = checks
        .iter()
        .filter(|check| check["state"] == "fault")
        .map(|check| {
            let text = |key: &str| check[key].as_str().unwrap().to_owned();
            (format!("{}: {}", text("check"), text("found")), text("next_step"))
        })
        .collect();
    assert_eq!(report["well"], json!(faults.is_empty()));
    (output.status.code(), faults)
}

#[track_caller]
fn check(rig: &Rig, bus: &str, expected: &[(&str, &str)]) {
    let (status, found) = faults(rig, bus);
    let expected_status = Some(i32::from(!expected.is_empty()));
    let expected: Vec<(String, String)> =
        expected.iter().map(|(found, next)| ((*found).to_owned(), (*next).to_owned())).collect();
    assert_eq!((status, found), (expected_status, expected));
}

/// What `adapter scan` says on that bus.
fn scanned(rig: &Rig, bus: &str) -> String {
    let mut scan = rig.command(&["adapter", "scan", "--seconds", "1"]);
    let output = scan.env("DBUS_SYSTEM_BUS_ADDRESS", bus).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    String::from_utf8(output.stderr).unwrap().trim().to_owned()
}

const NO_BUS: (&str, &str) = (
    "bluetooth: the system's message bus (D-Bus) does not answer",
    "start it; in a container, give the container the host's bus",
);
const NO_SERVICE: (&str, &str) = (
    "bluetooth: the system's Bluetooth service (bluetoothd) is not running",
    "start it (`sudo systemctl start bluetooth`); it is taken up by itself",
);
const NO_PERMISSION: (&str, &str) = (
    "bluetooth: this account may not use the system's Bluetooth service",
    "log in at the computer itself, or have its administrator allow this account to use Bluetooth \
     (often the group `bluetooth`), and log in again",
);
const NO_CONTROLLER: (&str, &str) = (
    "controller: this computer has no Bluetooth controller",
    "plug one in; it is taken up by itself",
);
const OFF: (&str, &str) = (
    "controller: the Bluetooth controller hci0 is switched off",
    "switch Bluetooth on in the system's settings (on Linux also `bluetoothctl power on`); it is \
     never switched on from here",
);

/// A line of `doctor` as the other verbs say it.
fn said((found, next): (&str, &str)) -> String {
    let (_, found) = found.split_once(": ").unwrap();
    format!("error: {found}; {next}")
}

#[test]
fn without_a_bus() {
    let rig = Rig::new();
    let nowhere = format!("unix:path={}", rig.path("nowhere").display());
    check(&rig, &nowhere, &[NO_BUS]);
    assert_eq!(scanned(&rig, &nowhere), said(NO_BUS));
}

#[test]
fn without_bluetoothd() {
    let rig = Rig::new();
    let bus = Bus::start(&rig, "");
    check(&rig, &bus.address, &[NO_SERVICE]);
    assert_eq!(scanned(&rig, &bus.address), said(NO_SERVICE));
}

#[test]
fn without_permission() {
    let rig = Rig::new();
    let bus = Bus::start(&rig, r#"<deny send_destination="org.bluez"/>"#);
    let _bluez = bluez(&bus, Some(true), None);
    check(&rig, &bus.address, &[NO_PERMISSION]);
    assert_eq!(scanned(&rig, &bus.address), said(NO_PERMISSION));
}

#[test]
fn without_a_controller() {
    let rig = Rig::new();
    let bus = Bus::start(&rig, "");
    let _bluez = bluez(&bus, None, None);
    check(&rig, &bus.address, &[NO_CONTROLLER]);
    assert_eq!(scanned(&rig, &bus.address), said(NO_CONTROLLER));
}

#[test]
fn with_the_controller_switched_off() {
    let rig = Rig::new();
    let bus = Bus::start(&rig, "");
    let _bluez = bluez(&bus, Some(false), None);
    check(&rig, &bus.address, &[OFF]);
}

#[test]
fn a_bond_that_is_there_is_well_and_one_that_is_lost_is_not() {
    for (bonded, expected) in
        [(Some(true), &[][..]), (Some(false), &[LOST][..]), (None, &[LOST][..])]
    {
        let rig = Rig::new().file("journal.sqlite.adapters.toml", KEPT);
        let bus = Bus::start(&rig, "");
        let _bluez = bluez(&bus, Some(true), bonded);
        check(&rig, &bus.address, expected);
    }
}

const LOST: (&str, &str) = (
    "adapter: half-inch was paired, but this computer has lost the bond",
    "hold its button until it shows pairing mode, and run `clampbook adapter add half-inch` within \
     60 s",
);

#[test]
fn something_that_is_no_journal_is_told() {
    let rig = Rig::new().file("journal.sqlite", "my shopping list\n");
    let bus = Bus::start(&rig, "");
    let _bluez = bluez(&bus, Some(true), None);
    let (status, found) = faults(&rig, &bus.address);
    assert_eq!(status, Some(1));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].0.starts_with("journal: "), "{found:?}");
}
