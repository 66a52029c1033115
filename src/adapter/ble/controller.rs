//! The Bluetooth controllers of this computer.

use super::deadline::{self, within};
use super::fault::LinkError;
use crate::adapter::trouble::Cause;
use btleplug::api::{Central, CentralState, Manager as _};
use btleplug::platform::{Adapter, Manager};

/// A Bluetooth controller of this computer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Controller {
    /// Its name, such as `hci0`. It can change when controllers are plugged in and out.
    pub name: String,
    /// Its own address, if the system tells it.
    pub address: Option<String>,
    /// Whether it is switched on.
    pub powered: bool,
}

/// Lists the controllers, in order of their names.
///
/// # Errors
/// If the system's Bluetooth service does not answer.
pub async fn controllers() -> Result<Vec<Controller>, LinkError> {
    let found = all().await?;
    Ok(found.into_iter().map(|(controller, _)| controller).collect())
}

/// The controller of that name or address, or the first one that is switched on, ready for use.
pub(super) async fn choose(wanted: Option<&str>) -> Result<(Controller, Adapter), LinkError> {
    let mut found = all().await?;
    let names: Vec<String> = found.iter().map(|(controller, _)| controller.name.clone()).collect();
    let index = match wanted {
        Some(wanted) => found.iter().position(|(controller, _)| {
            controller.name == wanted
                || controller.address.as_ref().is_some_and(|own| own.eq_ignore_ascii_case(wanted))
        }),
        None => found
            .iter()
            .position(|(controller, _)| controller.powered)
            .or(if found.is_empty() { None } else { Some(0) }),
    };
    let Some(index) = index else {
        let wanted = wanted.map(str::to_owned);
        return Err(Cause::NoController { wanted, found: names }.into());
    };
    let (controller, adapter) = found.swap_remove(index);
    if controller.powered {
        Ok((controller, adapter))
    } else {
        Err(Cause::ControllerOff { controller: controller.name }.into())
    }
}

async fn all() -> Result<Vec<(Controller, Adapter)>, LinkError> {
    // A new manager each time: an old one does not notice when the system's bus has gone.
    let manager =
        within(deadline::CALL, "reach the system's Bluetooth service", Manager::new()).await?;
    let adapters = within(deadline::CALL, "list the controllers", manager.adapters()).await?;
    let mut found = Vec::new();
    for adapter in adapters {
        let info = within(deadline::CALL, "ask a controller", adapter.adapter_info()).await?;
        let name = info.split_whitespace().next().unwrap_or_default().to_owned();
        let address = within(deadline::CALL, "ask a controller", adapter.adapter_address()).await?;
        let state = within(deadline::CALL, "ask a controller", adapter.adapter_state()).await?;
        let controller = Controller {
            name,
            address: address.map(|address| address.to_string()),
            powered: state == CentralState::PoweredOn,
        };
        found.push((controller, adapter));
    }
    // The system lists them in no fixed order.
    found.sort_by(|one, other| one.0.name.cmp(&other.0.name));
    Ok(found)
}
