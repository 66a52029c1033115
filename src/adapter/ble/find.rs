//! Looking for adapters.

use super::controller;
use super::deadline::{self, within};
use super::fault::{LinkClass, LinkError};
use super::table;
use crate::adapter::translate;
use btleplug::api::{Central, Peripheral as _, ScanFilter};
use btleplug::platform::{Adapter, Peripheral};
use std::time::Duration;
use uuid::Uuid;

/// How often to look at what the controller has heard.
const LOOK: Duration = Duration::from_millis(300);
/// How often listening is tried that fails in passing, and the wait before the next time. Linux goes on
/// listening for 10 s for a service that has ended, and refuses the next one meanwhile.
const ATTEMPTS: u32 = 7;
const AGAIN: Duration = Duration::from_secs(2);

/// An adapter that was heard.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// Its address, as the system shows it.
    pub address: String,
    /// Its name, if it tells one. Anybody can use any name.
    pub name: Option<String>,
    /// The services that it announces.
    pub services: Vec<Uuid>,
    /// Strength of its signal, dBm.
    pub rssi: Option<i16>,
    /// True if it numbers and keeps its readings; false if it only tells its present torque.
    pub keeps_readings: bool,
    /// True if it announces pairing mode. Anybody can announce anything.
    pub pairing: bool,
}

impl Seen {
    /// Whether it is known to be a torque adapter. BlueZ shows no services at all of a device whose first
    /// link broke off before they were discovered, however often it announces them afterwards.
    pub(super) fn tells_what_it_is(&self) -> bool {
        self.keeps_readings || !self.services.is_empty()
    }
}

/// Of something that may be an adapter: whether it keeps its readings, as far as it tells. None for
/// something else.
fn keeps_readings(services: &[Uuid], announces: bool) -> Option<bool> {
    let keeps = announces || services.contains(&table::TORQUE_ADAPTER);
    let may_be = keeps || services.is_empty() || services.contains(&table::INDUSTRIAL);
    may_be.then_some(keeps)
}

/// Listens for adapters for `duration`, on the named controller or the first that is switched on.
///
/// # Errors
/// If there is no such controller, it is switched off, or it cannot scan.
pub async fn scan(duration: Duration, controller: Option<&str>) -> Result<Vec<Seen>, LinkError> {
    let listened = async || listen(duration, controller).await;
    let candidates = deadline::patiently(attempts, AGAIN, listened).await?;
    let mut seen: Vec<Seen> = candidates.into_iter().map(|candidate| candidate.seen).collect();
    seen.retain(Seen::tells_what_it_is);
    seen.sort_by(|one, other| other.rssi.cmp(&one.rssi).then(one.address.cmp(&other.address)));
    Ok(seen)
}

/// How often listening is tried that fails like this.
fn attempts(class: LinkClass) -> u32 {
    match class {
        LinkClass::Retryable => ATTEMPTS,
        // A service that has just been started may find it in a moment.
        LinkClass::NoController => 2,
        _ => 1,
    }
}

async fn listen(duration: Duration, controller: Option<&str>) -> Result<Vec<Candidate>, LinkError> {
    let (_, central) = controller::choose(controller).await?;
    start(&central).await?;
    tokio::time::sleep(duration).await;
    let candidates = candidates(&central, true).await;
    let stopped = stop(&central).await;
    let candidates = candidates?;
    if candidates.is_empty() {
        // With nothing to stop, nobody listened any more: the service was restarted.
        stopped?;
    }
    Ok(candidates)
}

/// Something that may be the adapter.
pub(super) struct Candidate {
    pub(super) peripheral: Peripheral,
    pub(super) seen: Seen,
    pub(super) connected: bool,
}

/// Listens until `pick` finds one among what was heard, at most for `duration`.
pub(super) async fn look_for(
    central: &Adapter,
    duration: Duration,
    pick: impl Fn(&[Candidate]) -> Option<usize>,
) -> Result<Option<Candidate>, LinkError> {
    start(central).await?;
    let mut waited = Duration::ZERO;
    let found = loop {
        match candidates(central, true).await {
            Err(error) => break Err(error),
            Ok(mut heard) => {
                if let Some(index) = pick(&heard) {
                    break Ok(Some(heard.swap_remove(index)));
                }
            }
        }
        if waited >= duration {
            break Ok(None);
        }
        tokio::time::sleep(LOOK).await;
        waited += LOOK;
    };
    // Connecting while scanning fails on some controllers.
    let stopped = stop(central).await;
    let found = found?;
    if found.is_none() {
        stopped?;
    }
    Ok(found)
}

/// Adapters that are linked to this computer already, such as after a restart of this program.
pub(super) async fn linked(central: &Adapter) -> Result<Vec<Candidate>, LinkError> {
    let mut known = candidates(central, false).await?;
    known.retain(|candidate| candidate.connected);
    Ok(known)
}

async fn start(central: &Adapter) -> Result<(), LinkError> {
    let filter = ScanFilter { services: vec![table::TORQUE_ADAPTER, table::INDUSTRIAL] };
    within(deadline::CALL, "listen for adapters", central.start_scan(filter)).await
}

async fn stop(central: &Adapter) -> Result<(), LinkError> {
    within(deadline::CALL, "go on listening", central.stop_scan()).await
}

async fn candidates(central: &Adapter, heard_only: bool) -> Result<Vec<Candidate>, LinkError> {
    let peripherals = within(deadline::CALL, "ask what was heard", central.peripherals()).await?;
    let mut candidates = Vec::new();
    for peripheral in peripherals {
        let Ok(Some(properties)) =
            within(deadline::CALL, "ask about an adapter", peripheral.properties()).await
        else {
            continue;
        };
        // The system mixes in what other programs look for, and what it heard long ago.
        let announced = properties.service_data.get(&table::TORQUE_ADAPTER);
        let Some(keeps_readings) = keeps_readings(&properties.services, announced.is_some()) else {
            continue;
        };
        if heard_only && properties.rssi.is_none() {
            continue;
        }
        let connected = within(deadline::CALL, "ask about a link", peripheral.is_connected()).await;
        candidates.push(Candidate {
            seen: Seen {
                address: properties.address.to_string(),
                name: properties.local_name,
                services: properties.services,
                rssi: properties.rssi,
                keeps_readings,
                pairing: announced.is_some_and(|octets| translate::announces_pairing(octets)),
            },
            peripheral,
            connected: connected.unwrap_or(false),
        });
    }
    Ok(candidates)
}

#[cfg(test)]
mod tests {
    use super::keeps_readings;
    use crate::adapter::ble::table::{INDUSTRIAL, TORQUE_ADAPTER};
    use uuid::Uuid;

    #[test]
    fn an_adapter_is_known_by_what_it_announces_even_where_the_system_shows_no_services() {
        let other = Uuid::from_u128(1);
        let cases: [(&[Uuid], bool, Option<bool>); 6] = [
            (&[other, TORQUE_ADAPTER], false, Some(true)),
            (&[INDUSTRIAL], false, Some(false)),
            (&[], true, Some(true)),
            (&[other], true, Some(true)),
            (&[], false, Some(false)),
            (&[other], false, None),
        ];
        for (services, announces, expected) in cases {
            assert_eq!(keeps_readings(services, announces), expected, "{services:?} {announces}");
        }
    }
}
