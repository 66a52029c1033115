//! What the operating system has to do with a link, beyond what btleplug offers: bonds, and whether
//! its Bluetooth service runs.
//!
//! On Linux that is BlueZ, over a connection to the system's bus of its own. On macOS and Windows the
//! system keeps bonds to itself and asks the operator in a dialog of its own when an encrypted value is
//! first read; there, every answer is "not told".

#[cfg(target_os = "linux")]
mod agent;
#[cfg(target_os = "linux")]
mod bluez;
#[cfg(target_os = "linux")]
mod watch;

#[cfg(all(test, target_os = "linux"))]
mod tests;

#[cfg(not(target_os = "linux"))]
mod other;

#[cfg(target_os = "linux")]
pub(super) use bluez::{bond, forget, pair};
#[cfg(target_os = "linux")]
pub use bluez::{survey, version};
#[cfg(target_os = "linux")]
pub(super) use watch::Watch;

#[cfg(not(target_os = "linux"))]
pub(super) use other::{Watch, bond, forget, pair};
#[cfg(not(target_os = "linux"))]
pub use other::{survey, version};

/// What the system says of the bond with a device.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bond {
    /// There is one, and it is kept.
    Bonded,
    /// There is none.
    None,
    /// The system does not tell.
    NotTold,
}

/// A device as the system knows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// Its address.
    pub address: String,
    /// What it calls itself, if it has told.
    pub name: Option<String>,
    /// Address of the controller that knows it.
    pub controller: String,
    /// The bond with it.
    pub bond: Bond,
    /// Whether it is linked now.
    pub connected: bool,
    /// Whether it announces a service of torque adapters.
    pub measures_torque: bool,
}

/// A controller as the system knows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Radio {
    /// Such as `hci0`.
    pub name: String,
    /// Its own address.
    pub address: String,
    /// Whether it is switched on.
    pub powered: bool,
}

/// Everything that the system's Bluetooth service knows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Survey {
    /// Its controllers, in order of their names.
    pub radios: Vec<Radio>,
    /// The devices that it remembers or hears, in order of their addresses.
    pub devices: Vec<Device>,
}

/// Whether the system's Bluetooth service can be used.
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(not(target_os = "linux"), expect(dead_code, reason = "only Linux tells all of this"))]
pub(super) enum Service {
    /// The bus to it does not answer.
    NoBus,
    /// It does not run.
    Gone,
    /// It runs; the name tells one run from the next.
    Runs(String),
}
