//! What can go wrong with a link, by what helps.

use crate::adapter::guiding::Refused;
use crate::adapter::trouble::{Cause, Trouble};
use clampbook_protocol::gatt::att_error;

/// What helps against a failure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LinkClass {
    /// Trying again soon.
    Retryable,
    /// Looking for the adapter again.
    Rescan,
    /// A bond, made by the operator.
    NeedsPairing,
    /// A controller, plugged in by the operator.
    NoController,
    /// The controller, switched on by the operator.
    ControllerOff,
    /// The system's Bluetooth service, started by whoever looks after the computer.
    NoService,
    /// A right, given by whoever looks after the computer.
    NoPermission,
    /// The right adapter.
    WrongAdapter,
    /// Newer software.
    Unsupported,
    /// Forgetting what the system remembers of the adapter, by the operator.
    StaleTable,
}

/// A link that could not be made or kept.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", self.trouble(None))]
pub struct LinkError {
    /// What helps.
    pub class: LinkClass,
    /// What happened.
    pub cause: Cause,
}

impl From<Cause> for LinkError {
    fn from(cause: Cause) -> Self {
        let class = match &cause {
            Cause::NoController { .. } => LinkClass::NoController,
            Cause::ControllerOff { .. } => LinkClass::ControllerOff,
            Cause::NoPermission => LinkClass::NoPermission,
            Cause::NoBus | Cause::NoService => LinkClass::NoService,
            Cause::NotPaired | Cause::PairingRefused | Cause::BondLost(_) => {
                LinkClass::NeedsPairing
            }
            Cause::OutOfRange | Cause::Asleep => LinkClass::Rescan,
            Cause::WrongSerial { .. } => LinkClass::WrongAdapter,
            Cause::StaleServices { .. } => LinkClass::StaleTable,
            Cause::UnknownUnit { .. } | Cause::FirmwareTooNew { .. } | Cause::Broken { .. } => {
                LinkClass::Unsupported
            }
            Cause::Rival | Cause::NotFlowing | Cause::Passing { .. } => LinkClass::Retryable,
        };
        Self { class, cause }
    }
}

impl LinkError {
    /// Something that another attempt may put right.
    pub(super) fn passing(text: impl Into<String>) -> Self {
        Cause::Passing { text: text.into() }.into()
    }

    /// From an error of the Bluetooth stack while `doing` something.
    pub(super) fn stack(doing: &str, error: &btleplug::Error) -> Self {
        let text = format!("{error} {error:?}");
        tracing::debug!("could not {doing}: {text}");
        let cause = match classify(&text) {
            LinkClass::NeedsPairing => Cause::NotPaired,
            LinkClass::NoController => Cause::NoController { wanted: None, found: Vec::new() },
            LinkClass::ControllerOff => Cause::ControllerOff { controller: "in use".to_owned() },
            LinkClass::NoService if is_bus(&text) => Cause::NoBus,
            LinkClass::NoService => Cause::NoService,
            LinkClass::NoPermission => Cause::NoPermission,
            LinkClass::Rescan => Cause::OutOfRange,
            LinkClass::Retryable
            | LinkClass::WrongAdapter
            | LinkClass::Unsupported
            | LinkClass::StaleTable => {
                Cause::Passing { text: format!("could not {doing}: {error}") }
            }
        };
        cause.into()
    }

    /// The same for the operator.
    #[must_use]
    pub fn trouble(&self, adapter: Option<&str>) -> Trouble {
        self.cause.trouble(adapter)
    }
}

/// What helps against an error that the Bluetooth stack words like this. The words are those of
/// BlueZ and of the D-Bus names of its errors; what is not known is tried again.
#[must_use]
pub fn classify(text: &str) -> LinkClass {
    const CLASSES: [(LinkClass, &[&str]); 6] = [
        (
            LinkClass::NoPermission,
            &["accessdenied", "access denied", "rejected send message", "sender is not authorized"],
        ),
        (
            LinkClass::NeedsPairing,
            &[
                "authentication",
                "att error: 0x05",
                "att error: 0x0f",
                "insufficient encryption",
                "not paired",
                "notauthorized",
                "not authorized",
                "notpermitted",
                "key missing",
            ],
        ),
        (LinkClass::ControllerOff, &["notready", "not ready", "resource not ready", "not powered"]),
        (LinkClass::NoController, &["no bluetooth adapter"]),
        (
            LinkClass::NoService,
            &[
                "serviceunknown",
                "not provided by any .service",
                "namehasnoowner",
                "does not have an owner",
                // The bus was asked to start the service, and could not.
                "dbus.error.spawn",
                "launch helper",
                "unit dbus-org.bluez.service",
                "noserver",
                // It ended while it was asked.
                "disconnected from message bus without replying",
                "failed to connect to socket",
                "connection refused",
                "no such file or directory",
            ],
        ),
        (
            LinkClass::Rescan,
            &[
                "unknownobject",
                "unknownmethod",
                "doesn't exist",
                "does not exist",
                "doesnotexist",
                "device not found",
                "devicenotfound",
            ],
        ),
    ];
    let text = text.to_lowercase();
    CLASSES
        .into_iter()
        .find(|(_, words)| words.iter().any(|word| text.contains(word)))
        .map_or(LinkClass::Retryable, |(class, _)| class)
}

/// Whether it is the bus itself that does not answer, and not the service at its other end.
pub(super) fn is_bus(text: &str) -> bool {
    let text = text.to_lowercase();
    ["noserver", "failed to connect to socket", "connection refused", "no such file or directory"]
        .iter()
        .any(|word| text.contains(word))
}

/// Whether the system itself broke a link off while it was being made.
pub(super) fn is_aborted(text: &str) -> bool {
    let text = text.to_lowercase();
    text.contains("abort-by-local") || text.contains("connection abort")
}

/// Whether the adapter said that another procedure has not ended (ATT error 0xFE).
#[must_use]
pub(super) fn is_busy(error: &btleplug::Error) -> bool {
    let text = format!("{error} {error:?}").to_lowercase();
    text.contains("0xfe") || text.contains("inprogress") || text.contains("in progress")
}

/// Whether the message was sent all the same: the client of the bus says so of one that it is given while it wakes to
/// send another (dbus-tokio 0.7), and sends both.
#[must_use]
pub(super) fn was_sent(error: &btleplug::Error) -> bool {
    format!("{error} {error:?}").to_lowercase().contains("failed to send message")
}

/// Why the adapter did not take a set-point.
#[must_use]
pub(super) fn refusal(error: &btleplug::Error) -> Refused {
    let text = format!("{error} {error:?}").to_lowercase();
    tracing::debug!("could not write the set-point: {text}");
    let code = text.split_once("att error: 0x").and_then(|(_, rest)| rest.get(..2));
    match code.and_then(|hex| u8::from_str_radix(hex, 16).ok()) {
        Some(att_error::PROCEDURE_IN_PROGRESS) => Refused::Busy,
        Some(att_error::INVALID_VALUE) => Refused::For("invalid value".to_owned()),
        Some(att_error::UNSUPPORTED_VERSION) => Refused::For("unsupported version".to_owned()),
        Some(code @ (att_error::INVALID_LENGTH | 0x80..=0x9F)) => {
            Refused::For(format!("ATT error 0x{code:02x}"))
        }
        Some(_) | None => Refused::Passing,
    }
}

/// Whether the first call that needs a bond failed for want of one. The system then says "unlikely
/// error" (ATT error 0x0E) as often as what it means.
#[must_use]
pub(super) fn is_unbonded(error: &btleplug::Error) -> bool {
    let text = format!("{error} {error:?}").to_lowercase();
    text.contains("att error: 0x0e") || classify(&text) == LinkClass::NeedsPairing
}
