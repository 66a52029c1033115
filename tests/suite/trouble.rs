//! What the operator is told, whole, for each class of failure.

use clampbook::adapter::ble::{LinkClass, LinkError};
use clampbook::adapter::trouble::{Cause, Side};

#[track_caller]
fn check(cause: Cause, helps: LinkClass, told: &str) {
    let error = LinkError::from(cause);
    assert_eq!(error.trouble(Some("LK-0007")).to_string(), told);
    assert_eq!(error.class, helps, "{told}");
}

fn text(text: &str) -> String {
    text.to_owned()
}

#[test]
fn the_computers_own_troubles_name_no_adapter() {
    check(
        Cause::NoController { wanted: None, found: vec![] },
        LinkClass::NoController,
        "this computer has no Bluetooth controller; plug one in; it is taken up by itself",
    );
    check(
        Cause::NoController { wanted: Some(text("hci7")), found: vec![text("hci0"), text("hci1")] },
        LinkClass::NoController,
        "expected the Bluetooth controller hci7, but found only hci0, hci1; plug it in, or name \
         another with --controller",
    );
    check(
        Cause::ControllerOff { controller: text("hci0") },
        LinkClass::ControllerOff,
        "the Bluetooth controller hci0 is switched off; switch Bluetooth on in the system's \
         settings (on Linux also `bluetoothctl power on`); it is never switched on from here",
    );
    check(
        Cause::NoPermission,
        LinkClass::NoPermission,
        "this account may not use the system's Bluetooth service; log in at the computer itself, \
         or have its administrator allow this account to use Bluetooth (often the group \
         `bluetooth`), and log in again",
    );
    check(
        Cause::NoBus,
        LinkClass::NoService,
        "the system's message bus (D-Bus) does not answer; start it; in a container, give the \
         container the host's bus",
    );
    check(
        Cause::NoService,
        LinkClass::NoService,
        "the system's Bluetooth service (bluetoothd) is not running; start it (`sudo systemctl \
         start bluetooth`); it is taken up by itself",
    );
}

#[test]
fn troubles_with_a_bond_say_how_to_make_one() {
    check(
        Cause::NotPaired,
        LinkClass::NeedsPairing,
        "adapter LK-0007: needs an encrypted link, and is not paired with this computer; hold its \
         button until it shows pairing mode, and run `clampbook adapter add LK-0007` within 60 s",
    );
    check(
        Cause::PairingRefused,
        LinkClass::NeedsPairing,
        "adapter LK-0007: refused to pair, as it does outside pairing mode; hold its button until \
         it shows pairing mode, and run the same again within 60 s",
    );
    check(
        Cause::BondLost(Side::Computer),
        LinkClass::NeedsPairing,
        "adapter LK-0007: was paired, but this computer has lost the bond; hold its button until \
         it shows pairing mode, and run `clampbook adapter add LK-0007` within 60 s",
    );
    check(
        Cause::BondLost(Side::Adapter),
        LinkClass::NeedsPairing,
        "adapter LK-0007: no longer answers to its bond: it has lost it, or something else uses \
         its address; if it is yours and at hand: run `clampbook adapter forget LK-0007 --bond`, \
         hold its button until it shows pairing mode, and run `clampbook adapter add LK-0007` \
         within 60 s",
    );
}

#[test]
fn troubles_with_the_adapter_itself() {
    check(
        Cause::OutOfRange,
        LinkClass::Rescan,
        "adapter LK-0007: is not heard; wake it and bring it within reach; it is looked for all \
         the time",
    );
    check(
        Cause::Asleep,
        LinkClass::Rescan,
        "adapter LK-0007: is asleep or out of range, and a pull is due; wake it (press its button \
         or move it) and wait for \"ready\" before you pull",
    );
    check(
        Cause::WrongSerial {
            wanted: text("LK-0007"),
            found: text("LK-0008"),
            address: text("C0:FF:EE:00:00:01"),
        },
        LinkClass::WrongAdapter,
        "adapter LK-0007: expected the adapter LK-0007, but found one with the serial number \
         LK-0008 at C0:FF:EE:00:00:01; nothing was taken from it; wake the right one and bring it \
         within reach; `clampbook adapter scan` shows what is about",
    );
    check(
        Cause::StaleServices { missing: text("readings") },
        LinkClass::StaleTable,
        "adapter LK-0007: expected readings in its table of services, but found none; the computer \
         may remember an old table: switch Bluetooth off and on; if it stays so, run `clampbook \
         adapter forget LK-0007 --bond` and add it again",
    );
    check(
        Cause::Rival,
        LinkClass::Retryable,
        "adapter LK-0007: its readings arrive twice: another program on this computer listens to \
         it too; close the other program; nothing is lost or counted twice meanwhile",
    );
    check(
        Cause::NotFlowing,
        LinkClass::Retryable,
        "adapter LK-0007: sends readings, but none arrive here; it keeps them and is linked anew; \
         if this goes on, switch Bluetooth off and on",
    );
    check(
        Cause::UnknownUnit { found: text("unit 0x27a3") },
        LinkClass::Unsupported,
        "adapter LK-0007: tells its torque in a way that is not known here (unit 0x27a3); none is \
         taken; look for newer software for the adapter or for this program",
    );
    check(
        Cause::FirmwareTooNew { found: 2, known: 1 },
        LinkClass::Unsupported,
        "adapter LK-0007: speaks version 2 of the protocol, and this program knows version 1; \
         nothing is read or erased; update this program",
    );
    check(
        Cause::Passing { text: text("the link is down") },
        LinkClass::Retryable,
        "adapter LK-0007: the link is down; it is tried again",
    );
}
