//! A link to one adapter: found, connected, and known to be the right one.

use super::controller;
use super::deadline::{self, within};
use super::drain::Drain;
use super::fault::{LinkClass, LinkError, is_aborted, was_sent};
use super::find::{self, Candidate, Seen};
use super::system::{self, Bond, Service};
use super::table::Table;
use crate::adapter::Clock;
use crate::adapter::spec::{BleSpec, Pin};
use crate::adapter::trouble::{Cause, Side};
use btleplug::api::{Central, Characteristic, Peripheral as _, WriteType};
use btleplug::platform::{Adapter, Peripheral};
use std::collections::BTreeSet;
use std::time::Duration;
use tokio::sync::watch;

/// How long to listen for an adapter in one go.
const LISTEN: Duration = Duration::from_secs(12);
/// How often an empty or unfitting table is asked for again, and how long to wait before.
const DISCOVERIES: u32 = 3;
const DISCOVER_AGAIN: Duration = Duration::from_secs(1);
/// How long to wait for the end of a link.
const DISCONNECTED: Duration = Duration::from_secs(5);
const LOOK: Duration = Duration::from_millis(200);

/// So many links in a row that ended while they were being encrypted mean that the other side does
/// not know the bond; one alone may be a mere disturbance.
const UNANSWERED_BONDS: u32 = 3;

/// What was learnt about where the adapter is.
#[derive(Debug, Clone, Default)]
pub(super) struct Hints {
    /// Serial number of the adapter that was added or linked first: only that one will do.
    pub(super) serial: Option<String>,
    /// Address of the controller that it was reached by, which has the bond.
    pub(super) controller: Option<String>,
    /// Where it was last found.
    address: Option<String>,
    /// Where other adapters were found.
    others: BTreeSet<String>,
    /// Where adapters without a bond were found.
    strangers: BTreeSet<String>,
    /// Links in a row that ended while they were being encrypted.
    unanswered: u32,
}

impl Hints {
    /// What is known before the first link.
    pub(super) fn of(spec: &BleSpec) -> Self {
        let pin = spec.pin.as_ref();
        Self {
            serial: pin.map(|pin| pin.serial.clone()),
            address: pin.and_then(|pin| pin.address.clone()),
            ..Self::default()
        }
    }
}

/// A link to the right adapter. All calls go through this one handle.
pub(super) struct Link {
    pub(super) peripheral: Peripheral,
    pub(super) table: Table,
    pub(super) serial: String,
    central: Adapter,
}

impl Link {
    /// Finds and connects the adapter, and makes sure that it is the right one.
    pub(super) async fn open(spec: &BleSpec, hints: &mut Hints) -> Result<Self, LinkError> {
        // The address of a controller stays when its index changes.
        let wanted = hints.controller.as_deref().or(spec.controller.as_deref());
        let (controller, central) = controller::choose(wanted).await?;
        let already = find::linked(&central).await?;
        let picked = pick(spec, hints, &already);
        let candidate = match picked.and_then(|index| already.into_iter().nth(index)) {
            Some(candidate) => candidate,
            None => {
                let heard =
                    find::look_for(&central, LISTEN, |heard| pick(spec, hints, heard)).await?;
                let Some(candidate) = heard else {
                    // What was another adapter yesterday may be gone today.
                    hints.others.clear();
                    return Err(Cause::OutOfRange.into());
                };
                candidate
            }
        };
        let bonded = bond(spec, hints, &candidate).await?;
        let adopted = candidate.connected;
        let address = candidate.seen.address.clone();
        let peripheral = candidate.peripheral;
        match Self::check(&central, peripheral.clone(), adopted, spec, hints, &address).await {
            Ok(link) => {
                hints.serial = Some(link.serial.clone());
                hints.controller = controller.address;
                hints.address = Some(address);
                hints.unanswered = 0;
                Ok(link)
            }
            Err(error) => {
                // A link that was there before, to another adapter, belongs to somebody else.
                if !(adopted && error.class == LinkClass::WrongAdapter) {
                    end(&peripheral).await;
                }
                Err(unanswered(hints, bonded, error))
            }
        }
    }

    async fn check(
        central: &Adapter,
        peripheral: Peripheral,
        adopted: bool,
        spec: &BleSpec,
        hints: &mut Hints,
        address: &str,
    ) -> Result<Self, LinkError> {
        if !adopted {
            within(deadline::CONNECT, "connect", peripheral.connect()).await?;
        }
        let link = match Self::acquaint(central, peripheral).await {
            // After a restart the system may show a link that has ended, and nothing behind it.
            Err(error) if adopted && error.class == LinkClass::StaleTable => {
                return Err(LinkError::passing("the link that was there already shows no adapter"));
            }
            acquainted => acquainted?,
        };
        let wanted = hints.serial.as_deref();
        let serial = &link.serial;
        let right = match wanted {
            Some(wanted) => serial == wanted,
            None => *serial == spec.adapter || certain(spec, address, &link.peripheral).await,
        };
        if right && !serial.is_empty() {
            return Ok(link);
        }
        hints.others.insert(address.to_owned());
        let wanted = wanted.unwrap_or(&spec.adapter).to_owned();
        let found = serial.clone();
        Err(Cause::WrongSerial { wanted, found, address: address.to_owned() }.into())
    }

    /// Learns what is at the other end of a link that is up.
    pub(super) async fn acquaint(
        central: &Adapter,
        peripheral: Peripheral,
    ) -> Result<Self, LinkError> {
        let table = discover(&peripheral).await?;
        let serial =
            within(deadline::CALL, "read the serial number", peripheral.read(&table.serial))
                .await?;
        let serial = String::from_utf8_lossy(&serial).trim_matches(['\0', ' ']).to_owned();
        Ok(Self { peripheral, table, serial, central: central.clone() })
    }

    /// Takes values off the stack from now on; before anything is subscribed.
    pub(super) async fn drain(
        &self,
        clock: Clock,
        service: watch::Receiver<Service>,
    ) -> Result<Drain, LinkError> {
        let call = self.peripheral.notifications();
        let values = within(deadline::CALL, "listen to the adapter", call).await?;
        let events = within(deadline::CALL, "listen to the link", self.central.events()).await?;
        Ok(Drain::start(values, events, self.peripheral.id(), clock, service))
    }

    /// Turns the notifications or indications of a characteristic on.
    pub(super) async fn subscribe(
        &self,
        what: &str,
        characteristic: &Characteristic,
    ) -> Result<(), LinkError> {
        let doing = format!("subscribe to {what}");
        within(deadline::CALL, &doing, self.peripheral.subscribe(characteristic)).await
    }

    /// Ends the link and waits until it is down.
    pub(super) async fn close(self) {
        end(&self.peripheral).await;
    }
}

/// Writes, and waits until the adapter has taken it, or, where that cannot be told, until it is sent: what the adapter
/// answers tells more.
pub(super) async fn write(
    peripheral: &Peripheral,
    characteristic: &Characteristic,
    octets: &[u8],
) -> btleplug::Result<()> {
    match peripheral.write(characteristic, octets, WriteType::WithResponse).await {
        Err(error) if was_sent(&error) => Ok(()),
        outcome => outcome,
    }
}

/// Whether there is a bond, where one is needed: without it nothing is even asked.
async fn bond(spec: &BleSpec, hints: &mut Hints, candidate: &Candidate) -> Result<bool, LinkError> {
    let seen = &candidate.seen;
    let pinned = spec.pin.as_ref().is_some_and(|pin| pin.bonded);
    if !pinned && !seen.keeps_readings {
        return Ok(false);
    }
    match system::bond(&candidate.peripheral.id().to_string()).await? {
        Bond::Bonded => {
            hints.strangers.remove(&seen.address);
            Ok(true)
        }
        Bond::NotTold => Ok(true),
        Bond::None => {
            hints.strangers.insert(seen.address.clone());
            let was_bonded = hints.address.as_ref() == Some(&seen.address);
            Err(match (pinned, was_bonded) {
                (_, true) => Cause::BondLost(Side::Computer),
                // Whatever it is, it is not the adapter that was added.
                (true, false) => Cause::OutOfRange,
                (false, false) => Cause::NotPaired,
            }
            .into())
        }
    }
}

/// What it means that a bonded link could not be made. The system ends such a link when the other side
/// does not have the key, and calls that an abort of its own.
fn unanswered(hints: &mut Hints, bonded: bool, error: LinkError) -> LinkError {
    let aborted = match &error.cause {
        Cause::Passing { text } => is_aborted(text),
        Cause::NotPaired => true,
        _ => false,
    };
    if !(bonded && aborted) {
        return error;
    }
    hints.unanswered = hints.unanswered.saturating_add(1);
    if hints.unanswered < UNANSWERED_BONDS {
        return LinkError::passing("the link ended while it was being encrypted");
    }
    Cause::BondLost(Side::Adapter).into()
}

/// Whether the adapter was named by its address or its name, so that its serial need not fit.
async fn certain(spec: &BleSpec, address: &str, peripheral: &Peripheral) -> bool {
    if address.eq_ignore_ascii_case(&spec.adapter) {
        return true;
    }
    let properties = within(deadline::CALL, "ask for the name", peripheral.properties()).await;
    let name = properties.ok().flatten().and_then(|properties| properties.local_name);
    name.as_deref() == Some(spec.adapter.as_str())
}

/// The likeliest of what was heard.
fn pick(spec: &BleSpec, hints: &Hints, heard: &[Candidate]) -> Option<usize> {
    let rank = |one: &Candidate| rank(spec, hints, &one.seen);
    let ranked = heard.iter().enumerate().filter_map(|(index, one)| Some((rank(one)?, index)));
    ranked.min().map(|(_, index)| index)
}

/// How likely this is the adapter, 0 for the likeliest; none if it cannot be.
fn rank(spec: &BleSpec, hints: &Hints, seen: &Seen) -> Option<u8> {
    let name = seen.name.as_deref().unwrap_or_default();
    let is_known_place = hints.address.as_ref() == Some(&seen.address);
    if seen.address.eq_ignore_ascii_case(&spec.adapter) {
        return Some(0);
    }
    // A bond is with one address. Whoever has another one is another adapter, and perhaps in use.
    let is_bond_elsewhere = |pin: &Pin| pin.bonded && pin.address.is_some() && !is_known_place;
    if hints.others.contains(&seen.address) || spec.pin.as_ref().is_some_and(is_bond_elsewhere) {
        return None;
    }
    // What tells nothing of itself is linked only if it is known by its place or its name.
    if !seen.tells_what_it_is() && !is_known_place && name != spec.adapter {
        return None;
    }
    if hints.strangers.contains(&seen.address) && !is_known_place {
        return Some(9);
    }
    if is_known_place || name == spec.adapter {
        return Some(1);
    }
    // An address names one place: nothing else will do.
    if spec.adapter.parse::<btleplug::api::BDAddr>().is_ok() && hints.serial.is_none() {
        return None;
    }
    // A name often ends like the serial number; the rest has to be asked.
    let tail: String = name.chars().rev().take_while(char::is_ascii_alphanumeric).collect();
    let tail: String = tail.chars().rev().collect();
    let likely = tail.len() >= 3 && spec.adapter.ends_with(&tail);
    Some(if likely { 2 } else { 3 })
}

/// Discovers the table; an empty or unfitting one may just be late.
async fn discover(peripheral: &Peripheral) -> Result<Table, LinkError> {
    let mut discoveries = 1;
    loop {
        let call = peripheral.discover_services();
        within(deadline::CONNECT, "discover the adapter's table", call).await?;
        match Table::of(peripheral) {
            Ok(table) => return Ok(table),
            Err(error) if discoveries >= DISCOVERIES => return Err(error),
            Err(_) => tokio::time::sleep(DISCOVER_AGAIN).await,
        }
        discoveries += 1;
    }
}

/// Connects what was found. Nothing is asked of it yet.
pub(super) async fn connect(candidate: &Candidate) -> Result<(), LinkError> {
    if candidate.connected {
        return Ok(());
    }
    within(deadline::CONNECT, "connect", candidate.peripheral.connect()).await
}

/// Ends whatever link or attempt there is. Without this, the next attempt meets the half-open one.
pub(super) async fn end(peripheral: &Peripheral) {
    let _ = within(deadline::CALL, "disconnect", peripheral.disconnect()).await;
    let mut waited = Duration::ZERO;
    while waited < DISCONNECTED {
        let connected = within(deadline::CALL, "ask about the link", peripheral.is_connected());
        if !connected.await.unwrap_or(false) {
            return;
        }
        tokio::time::sleep(LOOK).await;
        waited += LOOK;
    }
}

#[cfg(test)]
mod tests {
    use super::{Hints, rank};
    use crate::adapter::ble::find::Seen;
    use crate::adapter::spec::{BleSpec, Pin};

    fn seen(address: &str, name: &str) -> Seen {
        Seen {
            address: address.to_owned(),
            name: Some(name.to_owned()),
            services: Vec::new(),
            rssi: None,
            keeps_readings: true,
            pairing: false,
        }
    }

    #[test]
    fn an_adapter_with_a_bond_is_looked_for_where_the_bond_is_and_nowhere_else() {
        let pin = Pin { serial: "LK-0007".into(), address: Some("C0:00".into()), bonded: true };
        let mut spec = BleSpec { adapter: "LK-0007".into(), controller: None, pin: Some(pin) };
        let ranks = |spec: &BleSpec, hints: &Hints| {
            [("C0:00", "Clamp"), ("C0:01", "Clamp"), ("C0:02", "LK-0007"), ("C0:03", "Clamp-0007")]
                .map(|(address, name)| rank(spec, hints, &seen(address, name)))
        };
        assert_eq!(ranks(&spec, &Hints::of(&spec)), [Some(1), None, None, None]);
        spec.pin = None;
        assert_eq!(ranks(&spec, &Hints::of(&spec)), [Some(3), Some(3), Some(1), Some(2)]);
        let mut hints = Hints::of(&spec);
        hints.others.insert("C0:00".into());
        hints.strangers.insert("C0:01".into());
        assert_eq!(ranks(&spec, &hints), [None, Some(9), Some(1), Some(2)]);
        let silent = |address, name| Seen { keeps_readings: false, ..seen(address, name) };
        assert_eq!(rank(&spec, &hints, &silent("C0:04", "Clamp-0007")), None);
        assert_eq!(rank(&spec, &hints, &silent("C0:05", "LK-0007")), Some(1));
    }
}
