//! Adding an adapter: found, paired with, and known by its serial number from then on.

use super::controller;
use super::deadline;
use super::fault::LinkError;
use super::find::{self, Seen};
use super::link::{self, Link};
use super::system::{self, Bond};
use super::visit::Visit;
use crate::adapter::trouble::Cause;
use btleplug::api::Peripheral as _;
use std::time::Duration;

/// How long to listen for what was chosen a moment ago.
const LISTEN: Duration = Duration::from_secs(15);
/// How often a link is tried that fails in passing, as links do that are hard to hear.
const ATTEMPTS: u32 = 3;

/// An adapter that was added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Added {
    /// Its serial number.
    pub serial: String,
    /// Its address, if the system tells addresses.
    pub address: Option<String>,
    /// Address of the controller that has the bond.
    pub controller: Option<String>,
    /// Whether it keeps its readings, and is bonded for that.
    pub bonded: bool,
    /// Whether the bond was there before.
    pub was_bonded: bool,
}

/// Links to the adapter that was seen, makes sure that it is `serial` if that is told, pairs with it if
/// it keeps its readings, and leaves the link up for a first visit.
///
/// # Errors
/// If it is not heard any more, is another one, refuses to pair, or cannot be used.
pub async fn add(
    seen: &Seen,
    serial: Option<&str>,
    controller: Option<&str>,
) -> Result<(Added, Visit), LinkError> {
    let (controller, central) = controller::choose(controller).await?;
    let here = |one: &find::Candidate| one.seen.address == seen.address;
    let linked = find::linked(&central).await?.into_iter().find(here);
    let candidate = match linked {
        Some(candidate) => candidate,
        None => find::look_for(&central, LISTEN, |heard| heard.iter().position(here))
            .await?
            .ok_or_else(|| LinkError::from(Cause::OutOfRange))?,
    };
    let peripheral = candidate.peripheral.clone();
    let added = async {
        let connected = async || {
            let outcome = link::connect(&candidate).await;
            if outcome.is_err() {
                link::end(&peripheral).await;
            }
            outcome
        };
        deadline::patiently(deadline::if_passing(ATTEMPTS), Duration::ZERO, connected).await?;
        let link = Link::acquaint(&central, peripheral.clone()).await?;
        if let Some(wanted) = serial
            && link.serial != wanted
        {
            return Err(Cause::WrongSerial {
                wanted: wanted.to_owned(),
                found: link.serial,
                address: seen.address.clone(),
            }
            .into());
        }
        if link.serial.is_empty() {
            let text = "tells an empty serial number, and cannot be told from others".to_owned();
            return Err(Cause::Broken { text }.into());
        }
        let bonded = link.table.own.is_some();
        let id = peripheral.id().to_string();
        let mut was_bonded = false;
        if bonded {
            was_bonded = system::bond(&id).await? == Bond::Bonded;
            if !was_bonded {
                system::pair(&id).await?;
                if system::bond(&id).await? == Bond::None {
                    let text = "paired, but made no bond that lasts".to_owned();
                    return Err(Cause::Broken { text }.into());
                }
            }
        }
        // A system that tells no addresses shows zeros.
        let told = peripheral.address() != btleplug::api::BDAddr::default();
        let added = Added {
            serial: link.serial.clone(),
            address: told.then(|| seen.address.clone()),
            controller: controller.address.clone(),
            bonded,
            was_bonded,
        };
        Ok((added, Visit::begin(link).await?))
    };
    match added.await {
        Ok(added) => Ok(added),
        Err(error) => {
            link::end(&peripheral).await;
            Err(error)
        }
    }
}

/// Removes the bonds with that address, and what else the system remembers of it. Gives how many
/// controllers knew it.
///
/// # Errors
/// If the system refuses, or keeps that to its own settings.
pub async fn forget(address: &str) -> Result<usize, LinkError> {
    system::forget(address).await
}
