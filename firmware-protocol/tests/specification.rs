//! What `SPEC.md` says in octets and numbers is what the codec does.

use clampbook_protocol::gatt::{assigned, characteristic, service};
use clampbook_protocol::{
    Announcement, Button, Calibration, Capability, ControlRequest, Motion, Notification,
    PresentationFormat, Reading, RecordRequest, SetPoint, Status, Torque, TraceBlock, Versioned,
};

const SPECIFICATION: &str = include_str!("../SPEC.md");
const ANNEX: &str = "## Annex A";

/// A characteristic by the name that the annex gives it.
fn characteristic_named(name: &str) -> u128 {
    match name {
        "Reading" => characteristic::READING,
        "Status" => characteristic::STATUS,
        "Capability" => characteristic::CAPABILITY,
        "Control Point" => characteristic::CONTROL_POINT,
        "0x2A52" => assigned(characteristic::RECORD_ACCESS_CONTROL_POINT),
        other => panic!("{other} is not a characteristic that the annex uses"),
    }
}

fn octets_of(hex: &str) -> Vec<u8> {
    (0..hex.len())
        .step_by(2)
        .map(|at| u8::from_str_radix(&hex[at..at + 2], 16).expect("hexadecimal digits"))
        .collect()
}

fn text<T: ToString>(versioned: Versioned<'_, T>) -> String {
    match versioned {
        Versioned::Known(message) => message.to_string(),
        Versioned::Unknown { version, .. } => format!("version {version}"),
    }
}

/// What the codec makes of a row of the annex.
fn read(from: &str, name: &str, octets: &[u8]) -> String {
    match (from, name) {
        ("adapter", "Capability") => Capability::parse(octets).map(text).expect("a capability"),
        ("host", "0x2A52") => RecordRequest::parse(octets).expect("a request").to_string(),
        ("host", "Control Point") => ControlRequest::parse(octets).expect("a request").to_string(),
        ("adapter", _) => match Notification::parse(characteristic_named(name), octets) {
            Ok(Notification::Reading(reading)) => text(reading),
            Ok(Notification::Status(status)) => text(status),
            Ok(Notification::RecordResponse(response)) => response.to_string(),
            Ok(Notification::ControlAnswer(answer)) => answer.to_string(),
            other => panic!("{name}: {other:?} is not in the annex"),
        },
        _ => panic!("{from} does not send to {name}"),
    }
}

#[test]
fn the_session_of_the_annex_reads_as_it_says() {
    let annex = &SPECIFICATION[SPECIFICATION.find(ANNEX).expect("the annex is there")..];
    let mut rows = 0;
    for line in annex.lines().filter(|line| line.contains("| `")) {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let [_, from, name, octets, meaning, _] = cells[..] else {
            panic!("{line}: expected four cells");
        };
        assert_eq!(read(from, name, &octets_of(octets.trim_matches('`'))), meaning);
        rows += 1;
    }
    assert!(rows >= 20, "expected the whole session, but found {rows} rows");
}

#[test]
fn the_tables_of_attributes_name_the_numbers_that_the_codec_has() {
    let own = |number: u128| format!("own {:04X}", (number >> 96) & 0xFFFF);
    let cases = [
        ("| Capability |", own(characteristic::CAPABILITY)),
        ("| Calibration |", own(characteristic::CALIBRATION)),
        ("| Reading |", own(characteristic::READING)),
        ("| Status |", own(characteristic::STATUS)),
        ("| Control Point |", own(characteristic::CONTROL_POINT)),
        ("| Trace |", own(characteristic::TRACE)),
        ("| Set-point |", own(characteristic::SET_POINT)),
        ("| Button |", own(characteristic::BUTTON)),
        ("| Motion |", own(characteristic::MOTION)),
        ("### 6.2 Torque Adapter", own(service::TORQUE_ADAPTER)),
        (
            "| Record Access Control Point |",
            format!("{:#06X}", characteristic::RECORD_ACCESS_CONTROL_POINT).replace("0X", "0x"),
        ),
        ("| Torque |", format!("{:#06X}", characteristic::TORQUE).replace("0X", "0x")),
    ];
    let attributes = &SPECIFICATION[SPECIFICATION.find("## 6 Attributes").expect("section 6")..];
    for (start, number) in cases {
        let line = attributes.lines().find(|line| line.starts_with(start));
        let found = line.unwrap_or_else(|| panic!("expected a line that starts with {start}"));
        assert!(found.contains(&number), "expected {number}, but found {found}");
    }
    let uuid = format!("{:032x}", service::TORQUE_ADAPTER);
    let dashed = [&uuid[..8], &uuid[8..12], &uuid[12..16], &uuid[16..20], &uuid[20..]].join("-");
    assert!(attributes.contains(&dashed), "expected {dashed} written out");
    let on_the_air: Vec<String> =
        service::TORQUE_ADAPTER.to_le_bytes().iter().map(|octet| format!("{octet:02x}")).collect();
    let on_the_air = on_the_air.join(" ");
    assert!(attributes.contains(&on_the_air), "expected {on_the_air} written out");
}

#[test]
fn the_headings_of_the_messages_name_the_lengths_that_the_codec_has() {
    let cases = [
        ("Torque", format!("{} octets", Torque::LENGTH)),
        ("Presentation Format", format!("{} octets", PresentationFormat::LENGTH)),
        ("Announcement", format!("{} octets or more", Announcement::LENGTH)),
        ("Capability", format!("{} octets or more", Capability::LENGTH)),
        ("Calibration", format!("{} octets", Calibration::LENGTH)),
        ("Status", format!("{} octets", Status::LENGTH)),
        ("Reading", format!("{} octets", Reading::LENGTH)),
        ("Trace block", format!("{} to {} octets", TraceBlock::LEAST, TraceBlock::MOST)),
        ("Set-point", format!("{} octets", SetPoint::LENGTH)),
        ("Button", format!("{} octets", Button::LENGTH)),
        ("Motion", format!("{} octets", Motion::LENGTH)),
    ];
    for (message, length) in cases {
        let heading = SPECIFICATION
            .lines()
            .find(|line| line.starts_with("### 7.") && line.contains(&format!(" {message} (")))
            .unwrap_or_else(|| panic!("expected a heading for {message}"));
        assert!(
            heading.contains(&format!(", {length})")),
            "expected {length}, but found {heading}"
        );
    }
}

#[test]
fn the_versions_in_the_specification_are_those_of_the_codec() {
    let title = SPECIFICATION.lines().next().unwrap_or_default();
    let version = format!("version {}.{}", clampbook_protocol::MAJOR, clampbook_protocol::MINOR);
    assert!(title.ends_with(&version), "expected {version}, but found {title}");
    assert_eq!(Status::VERSION, 1);
}
