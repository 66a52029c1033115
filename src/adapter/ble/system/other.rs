//! Systems that keep bonds to themselves and ask the operator in a dialog of their own.

use super::{Bond, Service, Survey};
use crate::adapter::ble::controller;
use crate::adapter::ble::fault::LinkError;
use crate::adapter::ble::system::Radio;
use crate::adapter::trouble::Cause;
use tokio::sync::watch;

/// The controllers; devices are not told.
///
/// # Errors
/// If the system cannot be asked.
pub async fn survey() -> Result<Survey, LinkError> {
    let radios = controller::controllers().await?;
    let radios = radios
        .into_iter()
        .map(|one| Radio {
            name: one.name,
            address: one.address.unwrap_or_default(),
            powered: one.powered,
        })
        .collect();
    Ok(Survey { radios, devices: Vec::new() })
}

/// Not told.
pub async fn version() -> Option<String> {
    None
}

/// Not told.
pub(in crate::adapter::ble) async fn bond(_id: &str) -> Result<Bond, LinkError> {
    Ok(Bond::NotTold)
}

/// Nothing to do: the system shows its dialog when the first encrypted value is read.
pub(in crate::adapter::ble) async fn pair(_id: &str) -> Result<(), LinkError> {
    Ok(())
}

/// The system does not let programs do this.
///
/// # Errors
/// Always.
pub(in crate::adapter::ble) async fn forget(_address: &str) -> Result<usize, LinkError> {
    let text = "this system removes a bond only in its own Bluetooth settings; remove it there";
    Err(Cause::Broken { text: text.to_owned() }.into())
}

/// Nothing to watch.
#[derive(Debug)]
pub(in crate::adapter::ble) struct Watch {
    state: watch::Receiver<Service>,
    _told: watch::Sender<Service>,
}

impl Watch {
    /// Begins.
    pub(in crate::adapter::ble) fn start() -> Self {
        let (told, state) = watch::channel(Service::Runs(String::new()));
        Self { state, _told: told }
    }

    /// The state, which never changes.
    pub(in crate::adapter::ble) fn states(&self) -> watch::Receiver<Service> {
        self.state.clone()
    }
}
