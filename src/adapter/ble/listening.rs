//! Listening to an adapter that only tells its present torque (L0).

use super::deadline::{self, within};
use super::drain::{Arrival, Drain};
use super::fault::LinkError;
use super::link::Link;
use super::{End, Flow};
use crate::adapter::live::Live;
use crate::adapter::port::{Port, Told};
use crate::adapter::source::SourceEvent;
use crate::adapter::translate;
use crate::adapter::trouble::Cause;
use crate::core::command::Refusal;
use btleplug::api::{Characteristic, Peripheral as _};
use clampbook_protocol::PresentationFormat;
use clampbook_protocol::gatt::{assigned, descriptor};
use std::time::Duration;
use uuid::Uuid;

/// Without a value for so long, the link is dead: the adapter sends at least one a second.
const SILENCE: Duration = Duration::from_secs(3);

/// Makes sure that the values are what they should be, and turns them on.
pub(super) async fn begin(link: &Link, torque: &Characteristic) -> Result<(), LinkError> {
    let format = Uuid::from_u128(assigned(descriptor::PRESENTATION_FORMAT));
    if let Some(descriptor) = torque.descriptors.iter().find(|one| one.uuid == format) {
        let call = link.peripheral.read_descriptor(descriptor);
        let octets = within(deadline::CALL, "read the unit of torque", call).await?;
        PresentationFormat::parse(&octets)
            .and_then(PresentationFormat::check_torque)
            .map_err(|error| LinkError::from(Cause::UnknownUnit { found: error.to_string() }))?;
    }
    link.subscribe("torque", torque).await
}

/// Listens until the link ends.
pub(super) async fn hold(
    port: &mut Port,
    live: &mut Live,
    flow: &mut Flow,
    torque: &Characteristic,
    drain: &mut Drain,
) -> Result<(), End> {
    let connected = live.connected(port.now());
    let outcome = match tell(port, flow, connected).await {
        Ok(()) => listen(port, live, flow, torque, drain).await,
        Err(end) => Err(end),
    };
    let last = live.disconnected(port.now());
    tell(port, flow, last).await?;
    outcome
}

async fn listen(
    port: &mut Port,
    live: &mut Live,
    flow: &mut Flow,
    torque: &Characteristic,
    drain: &mut Drain,
) -> Result<(), End> {
    loop {
        let shut_down = port.shut_down();
        let arrival = tokio::select! {
            biased;
            () = shut_down => return Err(End::Closed),
            arrival = tokio::time::timeout(SILENCE, drain.next()) => arrival,
            told = port.told() => {
                match told {
                    // Nothing can be released in such an adapter, and it guides nobody.
                    Told::Stored(stored) => flow.stored(&stored.key),
                    Told::Guidance(_) => {}
                    Told::Errand(errand) => {
                        let reason = "it tells its torque and takes no requests".to_owned();
                        let adapter = flow.health.serial.clone().unwrap_or_default();
                        let refusal = Refusal::AdapterRefused { adapter, reason };
                        let _ = errand.answer.send(Err(refusal));
                    }
                }
                continue;
            }
        };
        let (uuid, octets, at) = match arrival {
            Ok(Arrival::Value { uuid, octets, at }) => (uuid, octets, at),
            Ok(Arrival::Down) => {
                return Err(End::Failed(LinkError::passing("the link is down")));
            }
            Err(_) => {
                let text = "the adapter has told no torque for 3 s";
                return Err(End::Failed(LinkError::passing(text)));
            }
        };
        flow.arrived(at);
        if uuid == torque.uuid
            && let Some(torque) = translate::live_torque(&octets)
        {
            let events = live.sample(at, torque);
            tell(port, flow, events).await?;
        }
        flow.show(port);
    }
}

async fn tell(port: &mut Port, flow: &mut Flow, events: Vec<SourceEvent>) -> Result<(), End> {
    for event in events {
        flow.notice(&event);
        match event {
            SourceEvent::Live { .. } => port.show(event),
            event => port.tell(event).await?,
        }
    }
    Ok(())
}
