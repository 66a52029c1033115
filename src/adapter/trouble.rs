//! What can go wrong with a source, in words for the operator.
//!
//! Guarantees: one message for one class of failure, each with its next step; the wording of what ails
//! a link stands here and nowhere else.

use std::fmt;

/// What went wrong, what it means, and what to do next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// What kind.
    pub class: TroubleClass,
    /// The adapter concerned, as far as it is known: serial, name or address.
    pub adapter: Option<String>,
    /// What happened.
    pub message: String,
    /// What the operator can do; empty if nothing is needed.
    pub next_step: String,
}

/// Kinds of [`Trouble`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TroubleClass {
    /// The computer has no usable Bluetooth controller, or the one chosen is absent.
    NoController,
    /// The controller is switched off. It is never switched on behind the operator's back.
    ControllerOff,
    /// This account may not use the system's Bluetooth service.
    NoPermission,
    /// The system's Bluetooth service, or the bus to it, does not answer.
    NoService,
    /// The adapter is not heard.
    NotHeard,
    /// The adapter sleeps although a pull is due.
    Asleep,
    /// The link could not be made or kept; it is tried again.
    LinkFailed,
    /// The adapter asks for an encrypted, bonded link and there is no bond.
    NeedsPairing,
    /// One side has lost the bond that there was.
    BondLost,
    /// Another adapter answered than the one that was asked for.
    WrongAdapter,
    /// The adapter speaks a protocol, or measures in a unit, that this program does not know.
    Unsupported,
    /// The table of services is empty or does not fit: an old copy may be remembered.
    StaleTable,
    /// Another program on this computer listens to the adapter too.
    Rival,
    /// The adapter sent something that breaks its own protocol; it was kept aside.
    BadData,
    /// Readings arrive faster than they are taken.
    Backlog,
    /// A line of a recording cannot be used.
    Recording,
    /// Something worth knowing, nothing wrong.
    Note,
}

/// Which side of a bond has lost it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// This computer.
    Computer,
    /// The adapter.
    Adapter,
}

/// What ails a link, by what the operator does about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cause {
    /// No controller, or not the one wanted.
    NoController {
        /// The one wanted, by address or name.
        wanted: Option<String>,
        /// Names of those that are there.
        found: Vec<String>,
    },
    /// The controller of this name is switched off.
    ControllerOff {
        /// Such as `hci0`.
        controller: String,
    },
    /// The system refuses this account.
    NoPermission,
    /// The bus over which the Bluetooth service is reached does not answer.
    NoBus,
    /// The Bluetooth service does not run.
    NoService,
    /// There never was a bond.
    NotPaired,
    /// The adapter refused to pair.
    PairingRefused,
    /// There was a bond.
    BondLost(Side),
    /// The adapter is not heard.
    OutOfRange,
    /// The adapter sleeps, and a pull is due.
    Asleep,
    /// Another adapter answered.
    WrongSerial {
        /// What was asked for.
        wanted: String,
        /// Serial number of the one that answered.
        found: String,
        /// Where it answered.
        address: String,
    },
    /// The table of services lacks something.
    StaleServices {
        /// What is missing, in words.
        missing: String,
    },
    /// Another program listens to the same adapter.
    Rival,
    /// It sends readings, and none arrives.
    NotFlowing,
    /// Torque in a unit or format that is not known.
    UnknownUnit {
        /// What the adapter tells of it.
        found: String,
    },
    /// A later version of the protocol than this program knows.
    FirmwareTooNew {
        /// Its version.
        found: u8,
        /// The newest version known here.
        known: u8,
    },
    /// Something that breaks the protocol.
    Broken {
        /// What, in words.
        text: String,
    },
    /// Something that another attempt may put right.
    Passing {
        /// What, in words.
        text: String,
    },
}

impl Cause {
    /// The kind of trouble that it is.
    #[must_use]
    pub fn class(&self) -> TroubleClass {
        match self {
            Self::NoController { .. } => TroubleClass::NoController,
            Self::ControllerOff { .. } => TroubleClass::ControllerOff,
            Self::NoPermission => TroubleClass::NoPermission,
            Self::NoBus | Self::NoService => TroubleClass::NoService,
            Self::NotPaired | Self::PairingRefused => TroubleClass::NeedsPairing,
            Self::BondLost(_) => TroubleClass::BondLost,
            Self::OutOfRange => TroubleClass::NotHeard,
            Self::Asleep => TroubleClass::Asleep,
            Self::WrongSerial { .. } => TroubleClass::WrongAdapter,
            Self::StaleServices { .. } => TroubleClass::StaleTable,
            Self::Rival => TroubleClass::Rival,
            Self::UnknownUnit { .. } | Self::FirmwareTooNew { .. } | Self::Broken { .. } => {
                TroubleClass::Unsupported
            }
            Self::NotFlowing | Self::Passing { .. } => TroubleClass::LinkFailed,
        }
    }

    /// The words for the operator. `adapter` is its serial number, name or address.
    #[must_use]
    pub fn trouble(&self, adapter: Option<&str>) -> Trouble {
        // The computer's own troubles are no adapter's.
        let about = match self {
            Self::NoController { .. }
            | Self::ControllerOff { .. }
            | Self::NoPermission
            | Self::NoBus
            | Self::NoService => None,
            _ => adapter.map(str::to_owned),
        };
        let name = adapter.unwrap_or("NAME");
        Trouble {
            class: self.class(),
            adapter: about,
            message: self.message(),
            next_step: self.next_step(name),
        }
    }

    fn message(&self) -> String {
        match self {
            Self::NoController { wanted: None, .. } => {
                "this computer has no Bluetooth controller".to_owned()
            }
            Self::NoController { wanted: Some(wanted), found } => {
                let found = match found.is_empty() {
                    true => "none".to_owned(),
                    false => format!("only {}", found.join(", ")),
                };
                format!("expected the Bluetooth controller {wanted}, but found {found}")
            }
            Self::ControllerOff { controller } => {
                format!("the Bluetooth controller {controller} is switched off")
            }
            Self::NoPermission => {
                "this account may not use the system's Bluetooth service".to_owned()
            }
            Self::NoBus => "the system's message bus (D-Bus) does not answer".to_owned(),
            Self::NoService => {
                "the system's Bluetooth service (bluetoothd) is not running".to_owned()
            }
            Self::NotPaired => {
                "needs an encrypted link, and is not paired with this computer".to_owned()
            }
            Self::PairingRefused => "refused to pair, as it does outside pairing mode".to_owned(),
            Self::BondLost(Side::Computer) => {
                "was paired, but this computer has lost the bond".to_owned()
            }
            Self::BondLost(Side::Adapter) => {
                "no longer answers to its bond: it has lost it, or something else uses its address"
                    .to_owned()
            }
            Self::OutOfRange => "is not heard".to_owned(),
            Self::Asleep => "is asleep or out of range, and a pull is due".to_owned(),
            Self::WrongSerial { wanted, found, address } => format!(
                "expected the adapter {wanted}, but found one with the serial number {found} at \
                 {address}; nothing was taken from it"
            ),
            Self::StaleServices { missing } => {
                format!("expected {missing} in its table of services, but found none")
            }
            Self::Rival => {
                "its readings arrive twice: another program on this computer listens to it too"
                    .to_owned()
            }
            Self::NotFlowing => "sends readings, but none arrive here".to_owned(),
            Self::UnknownUnit { found } => {
                format!("tells its torque in a way that is not known here ({found}); none is taken")
            }
            Self::FirmwareTooNew { found, known } => format!(
                "speaks version {found} of the protocol, and this program knows version {known}; \
                 nothing is read or erased"
            ),
            Self::Broken { text } | Self::Passing { text } => text.clone(),
        }
    }

    fn next_step(&self, adapter: &str) -> String {
        match self {
            Self::NoController { wanted: None, .. } => {
                "plug one in; it is taken up by itself".to_owned()
            }
            Self::NoController { wanted: Some(_), .. } => {
                "plug it in, or name another with --controller".to_owned()
            }
            Self::ControllerOff { .. } => {
                "switch Bluetooth on in the system's settings (on Linux also `bluetoothctl power \
                 on`); it is never switched on from here"
                    .to_owned()
            }
            Self::NoPermission => {
                "log in at the computer itself, or have its administrator allow this account to \
                 use Bluetooth (often the group `bluetooth`), and log in again"
                    .to_owned()
            }
            Self::NoBus => "start it; in a container, give the container the host's bus".to_owned(),
            Self::NoService => {
                "start it (`sudo systemctl start bluetooth`); it is taken up by itself".to_owned()
            }
            Self::NotPaired | Self::BondLost(Side::Computer) => format!(
                "hold its button until it shows pairing mode, and run `clampbook adapter add \
                 {adapter}` within 60 s"
            ),
            Self::PairingRefused => {
                "hold its button until it shows pairing mode, and run the same again within 60 s"
                    .to_owned()
            }
            Self::BondLost(Side::Adapter) => format!(
                "if it is yours and at hand: run `clampbook adapter forget {adapter} --bond`, hold \
                 its button until it shows pairing mode, and run `clampbook adapter add {adapter}` \
                 within 60 s"
            ),
            Self::OutOfRange => {
                "wake it and bring it within reach; it is looked for all the time".to_owned()
            }
            Self::Asleep => {
                "wake it (press its button or move it) and wait for \"ready\" before you pull"
                    .to_owned()
            }
            Self::WrongSerial { .. } => {
                "wake the right one and bring it within reach; `clampbook adapter scan` shows what \
                 is about"
                    .to_owned()
            }
            Self::StaleServices { .. } => format!(
                "the computer may remember an old table: switch Bluetooth off and on; if it stays \
                 so, run `clampbook adapter forget {adapter} --bond` and add it again"
            ),
            Self::Rival => {
                "close the other program; nothing is lost or counted twice meanwhile".to_owned()
            }
            Self::NotFlowing => {
                "it keeps them and is linked anew; if this goes on, switch Bluetooth off and on"
                    .to_owned()
            }
            Self::UnknownUnit { .. } | Self::Broken { .. } => {
                "look for newer software for the adapter or for this program".to_owned()
            }
            Self::FirmwareTooNew { .. } => "update this program".to_owned(),
            Self::Passing { .. } => "it is tried again".to_owned(),
        }
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(adapter) = &self.adapter {
            write!(f, "adapter {adapter}: ")?;
        }
        f.write_str(&self.message)?;
        if !self.next_step.is_empty() {
            write!(f, "; {}", self.next_step)?;
        }
        Ok(())
    }
}
