//! Between the wire and the core: the only place where both are known.

mod hand;

pub use hand::{Hand, Pressed, cue, cue_answer, hand, is_in_force, pressed, set_point};

use crate::adapter::session::{Answer, Beat, Heard, Move, Order, Record, Wanted, When};
use crate::adapter::stretch::Samples;
use crate::adapter::trouble::{Cause, Trouble, TroubleClass};
use crate::core::command::{AdapterAsk, Done, Refusal};
use crate::core::event::{AdapterInfo, Moved, Reports};
use crate::core::units::Torque;
use clampbook_protocol as wire;
use clampbook_protocol::{
    Capability, Drive, Features, Key, Reading, ReadingFlags, RecordRequest, RecordResponse,
    ResponseCode, Sample, Selection, State, Status, StatusFlags, TraceBlock, TraceFlags, Versioned,
};

/// What the octets of a capability say of an adapter.
///
/// # Errors
/// If they break the layout, or are of another major version of the protocol.
pub fn adapter_info(serial: &str, octets: &[u8]) -> Result<AdapterInfo, Cause> {
    let capability = match Capability::parse(octets) {
        Ok(Versioned::Known(capability)) => capability,
        Ok(Versioned::Unknown { version, .. }) => {
            return Err(Cause::FirmwareTooNew { found: version, known: wire::MAJOR });
        }
        Err(error) => {
            return Err(Cause::Broken {
                text: format!("sent a capability that cannot be read: {error}"),
            });
        }
    };
    let features = capability.features;
    Ok(AdapterInfo {
        overdue_since: None,
        certificate: None,
        id: serial.to_owned(),
        serial: serial.to_owned(),
        drive: drive(capability.drive),
        range: (capability.range_most > 0)
            .then(|| (newton_metres(capability.range_least), newton_metres(capability.range_most))),
        accuracy_pct: capability.accuracy.map(|hundredths| f64::from(hundredths) / 100.0),
        reports: Reports {
            typed: false,
            peak: features.has(Features::PEAK),
            rotation: features.has(Features::ROTATION),
            trace: features.has(Features::TRACE),
            motion: features.has(Features::MOTION),
            button: features.has(Features::BUTTON),
        },
    })
}

/// How many samples a second the adapter of that capability sends, if it sends any.
#[must_use]
pub fn trace_rate(octets: &[u8]) -> Option<f64> {
    let capability = Capability::parse(octets).ok()?.known()?;
    let sends = capability.features.has(Features::TRACE) && capability.trace_rate > 0;
    sends.then(|| f64::from(capability.trace_rate))
}

/// The samples in a block of a trace; `None` where it cannot be read: a trace is only for its shape.
#[must_use]
pub fn trace(octets: &[u8]) -> Option<Samples> {
    let block = TraceBlock::parse(octets).ok()?.known()?;
    let rotates = block.flags.has(TraceFlags::ROTATION);
    let degrees = |sample: Sample| sample.rotation.tenths().map(|tenths| f64::from(tenths) / 10.0);
    Some(Samples {
        block: block.block,
        first: block.flags.has(TraceFlags::FIRST),
        last: block.flags.has(TraceFlags::LAST),
        lost_before: block.flags.has(TraceFlags::SAMPLES_LOST),
        tick: block.start.0,
        torque: block.samples().map(|sample| hundredths(sample.torque.raw())).collect(),
        turned_deg: if rotates { block.samples().map(degrees).collect() } else { None },
    })
}

/// How the tool moved between two readings; `None` where it cannot be read: it is only evidence.
#[must_use]
pub fn motion(octets: &[u8]) -> Option<Move> {
    let motion = wire::Motion::parse(octets).ok()?.known()?;
    Some(Move {
        epoch: u32::from(motion.epoch.get()),
        from: motion.from.get(),
        to: motion.to.get(),
        moved: match motion.travel {
            wire::Travel::Vector { right, up } => {
                Moved::Axes { right_mm: f64::from(right), up_mm: f64::from(up) }
            }
            wire::Travel::Distance { distance } => Moved::Distance { mm: f64::from(distance) },
        },
        sd_mm: f64::from(motion.deviation) / 10.0,
    })
}

/// What is known of an adapter that only tells its torque.
#[must_use]
pub fn live_only_info(serial: &str) -> AdapterInfo {
    AdapterInfo {
        overdue_since: None,
        certificate: None,
        id: serial.to_owned(),
        serial: serial.to_owned(),
        drive: None,
        range: None,
        accuracy_pct: None,
        // Its peaks are found here.
        reports: Reports { peak: true, ..Reports::default() },
    }
}

/// The torque in a live value; `None` where it cannot be read or is not known.
#[must_use]
pub fn live_torque(octets: &[u8]) -> Option<Torque> {
    let torque = wire::Torque::parse(octets).ok()?;
    torque.centinewton_metres().map(hundredths)
}

/// What a reading record says, and what the operator has to know about it.
#[must_use]
pub fn reading(id: &str, octets: &[u8]) -> (Heard, Option<Trouble>) {
    let record = match Reading::parse(octets) {
        Ok(Versioned::Known(record)) => record,
        Ok(Versioned::Unknown { version, .. }) => {
            let reason = format!("it has layout {version}, which this program does not know");
            return unreadable(id, octets, &reason);
        }
        Err(error) => return unreadable(id, octets, &error.to_string()),
    };
    let Some(peak) = record.peak.centinewton_metres() else {
        return unreadable(id, octets, "its peak is not known");
    };
    let heard = Heard::Record(Record {
        epoch: u32::from(record.key.epoch.get()),
        sequence: record.key.sequence.get(),
        when: When::Tick(record.at.0),
        peak: hundredths(peak),
        rotation_deg: record.rotation.tenths().map(|tenths| f64::from(tenths) / 10.0),
        duration_ms: record.duration.millis().map(f64::from),
        raw: Some(octets.to_vec()),
    });
    (heard, doubt(id, &record))
}

/// What a status says.
///
/// # Errors
/// If it cannot be read.
pub fn status(octets: &[u8], asked: bool) -> Result<(Beat, Status), Trouble> {
    let bad = |message: String| Trouble {
        class: TroubleClass::BadData,
        adapter: None,
        message,
        next_step: "look for newer software for the adapter or for this program".to_owned(),
    };
    let status = match Status::parse(octets) {
        Ok(Versioned::Known(status)) => status,
        Ok(Versioned::Unknown { version, .. }) => {
            return Err(bad(format!("sent a status of layout {version}, which is not known here")));
        }
        Err(error) => return Err(bad(format!("sent a status that cannot be read: {error}"))),
    };
    let beat = Beat {
        asked,
        epoch: u32::from(status.epoch.get()),
        tick: Some(status.now.0),
        newest: status.newest.map_or(0, wire::Sequence::get),
        older_epochs: status.flags.has(StatusFlags::OLDER_EPOCHS),
        asleep_soon: status.state == State::AsleepSoon,
    };
    Ok((beat, status))
}

/// What a status says that it did not say before, as far as the operator has to know it.
#[must_use]
pub fn news(id: &str, before: Option<&Status>, now: &Status) -> Vec<Trouble> {
    let flags = now.flags.without(before.map_or(StatusFlags::NONE, |before| before.flags));
    let cases = [
        (
            StatusFlags::OVERLOAD,
            "was overloaded: its readings are in doubt",
            "zero it without load and check it against a reference",
        ),
        (
            StatusFlags::RECORDS_LOST,
            "says that readings were overwritten or damaged before they could be fetched",
            "look for gaps in the record",
        ),
        (
            StatusFlags::MEMORY_FULL,
            "has no room left: its next reading overwrites the oldest",
            "keep it in reach until its readings are fetched",
        ),
        (StatusFlags::CALIBRATION_DUE, "says that its calibration is due", "have it calibrated"),
    ];
    let mut news = Vec::new();
    for (flag, message, next_step) in cases {
        if flags.has(flag) {
            news.push(Trouble {
                class: TroubleClass::Note,
                adapter: Some(id.to_owned()),
                message: message.to_owned(),
                next_step: next_step.to_owned(),
            });
        }
    }
    news
}

/// What an answer of the record access control point says; `None` for one to nothing of ours.
#[must_use]
pub fn answer(octets: &[u8]) -> Option<Answer> {
    match RecordResponse::parse(octets) {
        Ok(RecordResponse::Ended { code, .. }) => Some(match code {
            ResponseCode::Success => Answer::Done,
            ResponseCode::NoRecordsFound => Answer::NoneFound,
            ResponseCode::NotCompleted => Answer::Busy,
            code => Answer::Refused(code.to_string()),
        }),
        Ok(RecordResponse::Count(_) | RecordResponse::Unknown { .. }) | Err(_) => None,
    }
}

/// The days of calibration and of its end, as far as they are told: `YYYY-MM-DD`.
#[must_use]
pub fn calibration_dates(octets: &[u8]) -> (Option<String>, Option<String>) {
    let Ok(Versioned::Known(calibration)) = wire::Calibration::parse(octets) else {
        return (None, None);
    };
    let text = |date: wire::Date| {
        date.year_month_day().map(|(year, month, day)| format!("{year:04}-{month:02}-{day:02}"))
    };
    (text(calibration.done), text(calibration.due))
}

/// Whether an announcement says that pairing mode is on.
#[must_use]
pub fn announces_pairing(octets: &[u8]) -> bool {
    match wire::Announcement::parse(octets) {
        Ok(Versioned::Known(announcement)) => {
            announcement.flags.has(wire::AnnouncementFlags::PAIRING)
        }
        Ok(Versioned::Unknown { .. }) | Err(_) => false,
    }
}

/// The octets of a request to the control point.
#[must_use]
pub fn control(ask: AdapterAsk) -> Vec<u8> {
    let request = match ask {
        AdapterAsk::Zero => wire::ControlRequest::Zero,
        AdapterAsk::Identify { seconds } => wire::ControlRequest::Identify { seconds },
    };
    request.emit().to_vec()
}

/// What an answer of the control point says to `ask`; `None` for one to something else.
#[must_use]
pub fn control_answer(id: &str, ask: AdapterAsk, octets: &[u8]) -> Option<Result<Done, Refusal>> {
    let op = control(ask).first().copied();
    match (wire::ControlAnswer::parse(octets).ok()?, ask) {
        (wire::ControlAnswer::Zeroed { offset }, AdapterAsk::Zero) => Some(Ok(Done::Zeroed {
            adapter: id.to_owned(),
            offset_nm: offset.centinewton_metres().map(|raw| f64::from(raw) / 100.0),
        })),
        (wire::ControlAnswer::Done { request }, AdapterAsk::Identify { seconds })
            if Some(request) == op =>
        {
            Some(Ok(Done::Identifying { adapter: id.to_owned(), seconds }))
        }
        (wire::ControlAnswer::Refused { request, reason }, _) if Some(request) == op => {
            let reason = match (reason, ask) {
                (wire::Reason::NotNow, AdapterAsk::Zero) => {
                    "something hangs on its drive or moves it; let it lie still without load and \
                     ask again"
                        .to_owned()
                }
                (wire::Reason::Failed, AdapterAsk::Zero) => {
                    "its zero has drifted further than its maker allows; have it checked".to_owned()
                }
                (wire::Reason::NotNow, _) => "not now; ask again".to_owned(),
                (reason, _) => format!("{reason}; look for newer software for it"),
            };
            Some(Err(Refusal::AdapterRefused { adapter: id.to_owned(), reason }))
        }
        _ => None,
    }
}

/// The octets of an order to the record access control point; `None` for one that is no such order
/// or names what no adapter can have.
#[must_use]
pub fn order(order: Order) -> Option<Vec<u8>> {
    let key = |epoch: u32, sequence: u32| Key::new(u16::try_from(epoch).ok()?, sequence);
    let request = match order {
        Order::ReadStatus => return None,
        Order::Report(Wanted::All) => RecordRequest::Report(Selection::All),
        Order::Report(Wanted::From { epoch, sequence }) => {
            RecordRequest::Report(Selection::From(key(epoch, sequence)?))
        }
        Order::Report(Wanted::Range { epoch, first, last }) => {
            let (first, last) = (key(epoch, first)?, key(epoch, last)?);
            RecordRequest::Report(Selection::Range {
                epoch: first.epoch,
                first: first.sequence,
                last: last.sequence,
            })
        }
        Order::Release { epoch, up_to } => RecordRequest::Release(key(epoch, up_to)?),
    };
    Some(request.emit().to_vec())
}

fn unreadable(id: &str, octets: &[u8], reason: &str) -> (Heard, Option<Trouble>) {
    let heard = match Reading::key_in(octets) {
        Ok(key) => {
            Heard::Unreadable { epoch: u32::from(key.epoch.get()), sequence: key.sequence.get() }
        }
        Err(_) => Heard::Garbled,
    };
    let hex: String = octets.iter().map(|octet| format!("{octet:02x}")).collect();
    let trouble = Trouble {
        class: TroubleClass::BadData,
        adapter: Some(id.to_owned()),
        message: format!("sent a reading that cannot be used: {reason} (octets {hex})"),
        next_step: "it stays in the adapter; look for newer software for it or for this program"
            .to_owned(),
    };
    (heard, Some(trouble))
}

/// What makes a reading doubtful, in words.
fn doubt(id: &str, record: &Reading) -> Option<Trouble> {
    let cases = [
        (ReadingFlags::CLIPPED, "the true peak is higher than the sensor can tell"),
        (ReadingFlags::OVERLOAD, "the adapter was overloaded, its scale may have shifted"),
        (ReadingFlags::INCOMPLETE, "the pull was not measured from beginning to end"),
        (ReadingFlags::SUPPLY_LOW, "the battery was too low for the stated accuracy"),
    ];
    let doubts: Vec<&str> = cases
        .into_iter()
        .filter(|(flag, _)| record.flags.has(*flag))
        .map(|(_, words)| words)
        .collect();
    (!doubts.is_empty()).then(|| Trouble {
        class: TroubleClass::Note,
        adapter: Some(id.to_owned()),
        message: format!("reading {}: {}", record.key.sequence, doubts.join("; ")),
        next_step: "check this pull by other means".to_owned(),
    })
}

fn drive(drive: Drive) -> Option<String> {
    let text = match drive {
        Drive::NOT_KNOWN => return None,
        Drive::QUARTER_INCH => "1/4\"".to_owned(),
        Drive::THREE_EIGHTHS_INCH => "3/8\"".to_owned(),
        Drive::HALF_INCH => "1/2\"".to_owned(),
        Drive::THREE_QUARTERS_INCH => "3/4\"".to_owned(),
        Drive::ONE_INCH => "1\"".to_owned(),
        other => other.to_string(),
    };
    Some(text)
}

fn newton_metres(hundredths: u32) -> Torque {
    Torque::from_nm(f64::from(hundredths) / 100.0)
}

fn hundredths(value: i32) -> Torque {
    Torque::from_nm(f64::from(value) / 100.0)
}
