//! What can go wrong with a link, by what helps.

use crate::adapter::trouble::{Trouble, TroubleClass};

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
    /// The right adapter.
    WrongAdapter,
    /// Newer software.
    Unsupported,
    /// Forgetting what the system remembers of the adapter, by the operator.
    StaleTable,
}

/// A link that could not be made or kept.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text}")]
pub struct LinkError {
    /// What helps.
    pub class: LinkClass,
    /// What happened.
    pub text: String,
    /// What the operator can do.
    pub remedy: &'static str,
}

impl LinkError {
    pub(super) fn new(class: LinkClass, text: impl Into<String>) -> Self {
        let remedy = match class {
            LinkClass::Retryable => "it is tried again",
            LinkClass::Rescan => "wake it and bring it into reach; it is looked for all the time",
            LinkClass::NeedsPairing => {
                "put the adapter into pairing mode (hold its button) and pair it once in the \
                 computer's Bluetooth settings, or with `bluetoothctl`"
            }
            LinkClass::NoController => "plug in a Bluetooth controller, or name one that is there",
            LinkClass::ControllerOff => {
                "switch Bluetooth on (`bluetoothctl power on`); it is never switched on from here"
            }
            LinkClass::WrongAdapter => "name the adapter by its serial number",
            LinkClass::Unsupported => "look for newer software for the adapter or this program",
            LinkClass::StaleTable => {
                "if it stays so, remove the adapter in the computer's Bluetooth settings and pair \
                 it again"
            }
        };
        Self { class, text: text.into(), remedy }
    }

    /// From an error of the Bluetooth stack while `doing` something.
    pub(super) fn stack(doing: &str, error: &btleplug::Error) -> Self {
        let class = classify(&format!("{error} {error:?}"));
        Self::new(class, format!("could not {doing}: {error}"))
    }

    /// The same for the operator.
    #[must_use]
    pub fn trouble(&self, adapter: Option<&str>) -> Trouble {
        let class = match self.class {
            LinkClass::Retryable => TroubleClass::LinkFailed,
            LinkClass::Rescan => TroubleClass::NotHeard,
            LinkClass::NeedsPairing => TroubleClass::NeedsPairing,
            LinkClass::NoController => TroubleClass::NoController,
            LinkClass::ControllerOff => TroubleClass::ControllerOff,
            LinkClass::WrongAdapter => TroubleClass::WrongAdapter,
            LinkClass::Unsupported => TroubleClass::Unsupported,
            LinkClass::StaleTable => TroubleClass::StaleTable,
        };
        Trouble {
            class,
            adapter: adapter.map(str::to_owned),
            message: self.text.clone(),
            next_step: self.remedy.to_owned(),
        }
    }
}

/// What helps against an error that the Bluetooth stack words like this. The words are those of
/// BlueZ and of the D-Bus names of its errors; what is not known is tried again.
#[must_use]
pub fn classify(text: &str) -> LinkClass {
    const CLASSES: [(LinkClass, &[&str]); 4] = [
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
        (
            LinkClass::NoController,
            &["no bluetooth adapter", "serviceunknown", "not provided by any .service"],
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

/// Whether the adapter said that another procedure has not ended (ATT error 0xFE).
#[must_use]
pub(super) fn is_busy(error: &btleplug::Error) -> bool {
    let text = format!("{error} {error:?}").to_lowercase();
    text.contains("0xfe") || text.contains("inprogress") || text.contains("in progress")
}

/// Whether the first call that needs a bond failed for want of one. The system then says "unlikely
/// error" (ATT error 0x0E) as often as what it means.
#[must_use]
pub(super) fn is_unbonded(error: &btleplug::Error) -> bool {
    let text = format!("{error} {error:?}").to_lowercase();
    text.contains("att error: 0x0e") || classify(&text) == LinkClass::NeedsPairing
}
