//! BlueZ over the system's bus.

use super::agent::{Agent, CAPABILITY, PATH};
use super::{Bond, Device, Radio, Survey};
use crate::adapter::ble::deadline;
use crate::adapter::ble::fault::{LinkClass, LinkError, classify, is_bus};
use crate::adapter::ble::table;
use crate::adapter::trouble::Cause;
use std::collections::HashMap;
use std::future::Future;
use std::time::Duration;
use zbus::fdo::{DBusProxy, ManagedObjects, ObjectManagerProxy};
use zbus::names::BusName;
use zbus::zvariant::{ObjectPath, OwnedObjectPath, OwnedValue};
use zbus::{Connection, Proxy};

pub(super) const SERVICE: &str = "org.bluez";
const DEVICE: &str = "org.bluez.Device1";
const CONTROLLER: &str = "org.bluez.Adapter1";
/// How long a service that was just started is waited for, and how often it is looked at.
const SETTLES: Duration = Duration::from_secs(5);
const LOOK: Duration = Duration::from_millis(200);
/// BlueZ gives up on pairing after 30 s by itself; the rest is for the link before it.
const PAIR: Duration = Duration::from_secs(60);

type Properties = HashMap<String, OwnedValue>;

/// A connection to the system's bus of its own.
pub(super) async fn connect() -> Result<Connection, LinkError> {
    match tokio::time::timeout(deadline::CALL, Connection::system()).await {
        Ok(Ok(bus)) => Ok(bus),
        Ok(Err(error)) => {
            tracing::debug!("the system's bus: {error}");
            Err(Cause::NoBus.into())
        }
        Err(_) => Err(Cause::NoBus.into()),
    }
}

/// Everything that BlueZ knows.
///
/// # Errors
/// If it cannot be asked.
pub async fn survey() -> Result<Survey, LinkError> {
    survey_over(&connect().await?).await
}

pub(super) async fn survey_over(bus: &Connection) -> Result<Survey, LinkError> {
    let objects = objects(bus).await?;
    let mut survey = Survey::default();
    let mut addresses = HashMap::new();
    for (path, interfaces) in &objects {
        if let Some(controller) = interfaces.get(CONTROLLER) {
            let name = path.rsplit('/').next().unwrap_or_default().to_owned();
            let address = text(controller, "Address").unwrap_or_default();
            addresses.insert(path.as_str(), address.clone());
            survey.radios.push(Radio { name, address, powered: flag(controller, "Powered") });
        }
    }
    for (path, interfaces) in &objects {
        if let Some(device) = interfaces.get(DEVICE) {
            let controller = path.rsplit_once('/').map_or("", |(controller, _)| controller);
            survey.devices.push(Device {
                address: text(device, "Address").unwrap_or_default(),
                name: text(device, "Name"),
                controller: addresses.get(controller).cloned().unwrap_or_default(),
                bond: bond_in(device),
                connected: flag(device, "Connected"),
                measures_torque: measures_torque(device),
            });
        }
    }
    survey.radios.sort_by(|one, other| one.name.cmp(&other.name));
    survey.devices.sort_by(|one, other| one.address.cmp(&other.address));
    Ok(survey)
}

/// The version of bluetoothd, if it can be found out.
pub async fn version() -> Option<String> {
    let bus = connect().await.ok()?;
    let names = DBusProxy::new(&bus).await.ok()?;
    let name = BusName::try_from(SERVICE).ok()?;
    let process = names.get_connection_unix_process_id(name).await.ok()?;
    let words =
        tokio::task::spawn_blocking(move || std::fs::read(format!("/proc/{process}/cmdline")));
    let words = words.await.ok()?.ok()?;
    let program = words.split(|octet| *octet == 0).next()?;
    let program = std::str::from_utf8(program).ok()?.to_owned();
    // Only what is named like it is run, and only to be asked its version.
    if !program.ends_with("/bluetoothd") {
        return None;
    }
    let asked = tokio::task::spawn_blocking(move || {
        std::process::Command::new(program).arg("--version").output()
    });
    let output = tokio::time::timeout(deadline::CALL, asked).await.ok()?.ok()?.ok()?;
    let version = String::from_utf8(output.stdout).ok()?.trim().to_owned();
    (!version.is_empty()).then_some(version)
}

/// The bond with the device of that id, such as `hci0/dev_00_11_22_33_44_55`.
pub(in crate::adapter::ble) async fn bond(id: &str) -> Result<Bond, LinkError> {
    let objects = objects(&connect().await?).await?;
    let path = path(id)?;
    Ok(objects.get(&path).and_then(|interfaces| interfaces.get(DEVICE)).map_or(Bond::None, bond_in))
}

/// Pairs with the device of that id, with an agent that stands for nothing but that.
pub(in crate::adapter::ble) async fn pair(id: &str) -> Result<(), LinkError> {
    pair_over(&connect().await?, id).await
}

pub(super) async fn pair_over(bus: &Connection, id: &str) -> Result<(), LinkError> {
    let device = path(id)?;
    let agent = Agent::new(device.clone());
    bus.object_server().at(PATH, agent).await.map_err(failed)?;
    let manager = Proxy::new(bus, SERVICE, "/org/bluez", "org.bluez.AgentManager1");
    let manager = manager.await.map_err(failed)?;
    let place = ObjectPath::try_from(PATH).map_err(|error| failed(error.into()))?;
    call(manager.call::<_, _, ()>("RegisterAgent", &(&place, CAPABILITY))).await?;
    let outcome = pair_by(bus, &device).await;
    // Should this fail, the agent goes with its connection.
    let _ = call(manager.call::<_, _, ()>("UnregisterAgent", &(&place,))).await;
    let _ = bus.object_server().remove::<Agent, _>(PATH).await;
    outcome
}

async fn pair_by(bus: &Connection, device: &OwnedObjectPath) -> Result<(), LinkError> {
    let proxy = Proxy::new(bus, SERVICE, device, DEVICE).await.map_err(failed)?;
    // BlueZ takes the agent of whoever asks to pair.
    match tokio::time::timeout(PAIR, proxy.call::<_, _, ()>("Pair", &())).await {
        Ok(Ok(())) => Ok(()),
        Ok(Err(zbus::Error::MethodError(name, text, _))) => {
            let text = text.unwrap_or_default();
            tracing::debug!("pairing: {name}: {text}");
            match name.as_str() {
                "org.bluez.Error.AlreadyExists" => Ok(()),
                "org.bluez.Error.AuthenticationFailed"
                | "org.bluez.Error.AuthenticationRejected"
                | "org.bluez.Error.AuthenticationCanceled"
                | "org.bluez.Error.AuthenticationTimeout" => Err(Cause::PairingRefused.into()),
                name => {
                    let text = format!("could not pair: {text} ({name})");
                    Err(LinkError::passing(text))
                }
            }
        }
        Ok(Err(error)) => Err(failed(error)),
        Err(_) => {
            let _ = call(proxy.call::<_, _, ()>("CancelPairing", &())).await;
            Err(LinkError::passing(format!("could not pair within {} s", PAIR.as_secs())))
        }
    }
}

/// Removes every bond with that address, and whatever else the system remembers of it. Gives how many
/// controllers knew it. A service that has just been started finds its controllers, and what they know,
/// one after the other: it is waited for.
///
/// # Errors
/// If the system refuses, or has no controller.
pub(in crate::adapter::ble) async fn forget(address: &str) -> Result<usize, LinkError> {
    let bus = connect().await?;
    let mut waited = Duration::ZERO;
    let known = loop {
        let known = objects(&bus).await?;
        if known.values().any(|interfaces| interfaces.contains_key(CONTROLLER)) {
            break known;
        }
        if waited >= SETTLES {
            return Err(Cause::NoController { wanted: None, found: Vec::new() }.into());
        }
        tokio::time::sleep(LOOK).await;
        waited += LOOK;
    };
    let mut forgotten = 0;
    for (path, interfaces) in known {
        let Some(device) = interfaces.get(DEVICE) else { continue };
        let own = text(device, "Address").unwrap_or_default();
        let Some((controller, _)) = path.as_str().rsplit_once('/') else { continue };
        if !own.eq_ignore_ascii_case(address) {
            continue;
        }
        let proxy = Proxy::new(&bus, SERVICE, controller, CONTROLLER).await.map_err(failed)?;
        call(proxy.call::<_, _, ()>("RemoveDevice", &(&path,))).await?;
        forgotten += 1;
    }
    Ok(forgotten)
}

async fn objects(bus: &Connection) -> Result<ManagedObjects, LinkError> {
    let manager = ObjectManagerProxy::new(bus, SERVICE, "/").await.map_err(failed)?;
    let asked = async { manager.get_managed_objects().await.map_err(zbus::Error::from) };
    call(asked).await
}

async fn call<T>(call: impl Future<Output = zbus::Result<T>>) -> Result<T, LinkError> {
    match tokio::time::timeout(deadline::CALL, call).await {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(error)) => Err(failed(error)),
        Err(_) => Err(Cause::NoService.into()),
    }
}

fn failed(error: zbus::Error) -> LinkError {
    let text = format!("{error} {error:?}");
    tracing::debug!("the Bluetooth service: {text}");
    match classify(&text) {
        LinkClass::NoService if is_bus(&text) => Cause::NoBus.into(),
        LinkClass::NoService => Cause::NoService.into(),
        LinkClass::NoPermission => Cause::NoPermission.into(),
        _ if matches!(error, zbus::Error::InputOutput(_)) => Cause::NoBus.into(),
        _ => LinkError::passing(format!("the system's Bluetooth service: {error}")),
    }
}

fn path(id: &str) -> Result<OwnedObjectPath, LinkError> {
    let path = ObjectPath::try_from(format!("/org/bluez/{id}"));
    path.map(Into::into).map_err(|error| failed(error.into()))
}

fn bond_in(device: &Properties) -> Bond {
    // Before 5.66 only `Paired` was told.
    let key = if device.contains_key("Bonded") { "Bonded" } else { "Paired" };
    if flag(device, key) { Bond::Bonded } else { Bond::None }
}

fn measures_torque(device: &Properties) -> bool {
    let uuids = device.get("UUIDs").and_then(|value| value.try_clone().ok());
    let uuids: Vec<String> = uuids.and_then(|value| value.try_into().ok()).unwrap_or_default();
    let own = [table::TORQUE_ADAPTER.to_string(), table::INDUSTRIAL.to_string()];
    uuids.iter().any(|uuid| own.contains(&uuid.to_lowercase()))
}

fn flag(properties: &Properties, key: &str) -> bool {
    properties.get(key).and_then(|value| bool::try_from(value).ok()).unwrap_or(false)
}

fn text(properties: &Properties, key: &str) -> Option<String> {
    let value = properties.get(key)?;
    <&str>::try_from(value).ok().map(str::to_owned)
}
