//! The radio: advertises while the adapter can be reached, and serves one host at a time.

use std::pin::pin;
use std::time::Duration;

use bt_hci::cmd::le::{LeSetAdvData, LeSetAdvEnable, LeSetScanResponseData};
use bt_hci::cmd::link_control::Disconnect;
use bt_hci::param::DisconnectReason;
use bt_hci_linux::Transport;
use clampbook_protocol::gatt::{APPEARANCE_TORQUE_TESTING, service};
use clampbook_protocol::{Announcement, AnnouncementFlags};
use serde_json::json;
use tokio::time::Instant;
use trouble_host::prelude::*;

use super::answer;
use super::args::Args;
use super::gate::Gate;
use super::serve::{self, Ending};
use super::table::{self, Identity as About, Server, Values};
use super::world::World;

type Pool = DefaultPacketPool;
type Controller = ExternalController<Gate<Transport>, 8>;
/// Attribute protocol, signalling and security each take a channel.
const CHANNELS: usize = 3;
const LINKS: usize = 1;

/// Octets of an advertisement or a scan response.
const ADVERTISEMENT: usize = 31;
/// Advertising data type of service data under a UUID of 128 bits (assigned numbers, 2.3).
const SERVICE_DATA_128: u8 = 0x21;
/// Advertising data type of the appearance.
const APPEARANCE: u8 = 0x19;
/// Advertising flag of a device that is found for a limited time (Core Specification supplement, part A, 1.3).
const LE_LIMITED_DISCOVERABLE: u8 = 0b001;
/// For how long advertising is fast after the start, after waking and after a link.
const FAST: Duration = Duration::from_secs(30);
/// How long the end of a link is waited for.
const END: Duration = Duration::from_secs(5);
/// How often a change in what is announced is looked for while nobody is connected.
const LOOK: Duration = Duration::from_millis(500);

/// Runs until the controller fails; the error is a sentence for the user.
pub(crate) async fn run(world: &World, about: &About, args: &Args) -> Result<(), String> {
    let Args { level, hci, .. } = *args;
    let again = args.readvertise.map(|seconds| Duration::from_secs(seconds.into()));
    let transport = Transport::new(hci).map_err(|e| {
        format!("expected hci{hci} to be there, down and ours, but found: {e}; try `hciconfig hci{hci} down` as root")
    })?;
    let gate = Gate::new(transport, world.latch.clone(), world.flow.clone());
    let controller: Controller = ExternalController::new(gate);
    let mut resources: HostResources<Pool, LINKS, CHANNELS> = HostResources::new();
    let stack = trouble_host::new(controller, &mut resources)
        .set_random_address(address(&about.serial))
        .set_io_capabilities(IoCapabilities::NoInputNoOutput)
        .build();
    for bond in world.keep.bonds() {
        stack.add_bond_information(bond).map_err(|e| {
            format!("expected room for the bonds of the state file, but found: {e:?}")
        })?;
    }
    let (server, values) = table::build(about, level)?;
    if let Some(trace) = values.own.as_ref().and_then(|own| own.trace.as_ref()) {
        world.flow.trace_handle.set(trace.handle);
    }
    let started = json!({ "address": address(&about.serial).to_string(), "serial": about.serial, "level": level });
    answer::event("started", started);
    let mut runner = stack.runner();
    let mut peripheral = stack.peripheral();
    let air = async {
        let mut fast_until = Instant::now() + FAST;
        loop {
            if !world.is_reachable() {
                world.until_reachable().await;
                fast_until = Instant::now() + FAST;
            }
            for host in world.keep.take_deleted() {
                stack
                    .remove_bond_information(host)
                    .map_err(|e| format!("expected a bond to be removed, but found: {e:?}"))?;
            }
            let announced = world.device.borrow().announcement(world.now_ms());
            // A controller for which advertising begins anew all the time has no intervals, and to change
            // them takes a pause.
            let fast = again.is_some()
                || announced.flags.has(AnnouncementFlags::PAIRING)
                || Instant::now() < fast_until;
            let (data, response) = advertisement(&about.name, level, announced)?;
            let data = Advertisement::ConnectableScannableUndirected {
                adv_data: &data,
                scan_data: &response,
            };
            let advertiser = peripheral
                .advertise(&intervals(fast), data)
                .await
                .map_err(|e| format!("expected advertising to start, but found: {e:?}"))?;
            let mut accepted = pin!(advertiser.accept());
            let mut announced = announced;
            let link = loop {
                let due = async {
                    tokio::select! {
                        () = world.until_unreachable() => Due::End,
                        () = until_announcement_changes(world, announced) => Due::Anew,
                        () = tokio::time::sleep_until(fast_until), if fast && again.is_none() => Due::End,
                        () = tokio::time::sleep(again.unwrap_or_default()), if again.is_some() => Due::Anew,
                    }
                };
                let due = tokio::select! {
                    biased;
                    link = &mut accepted => break Some(link),
                    due = due => due,
                };
                let mut link = None;
                let now = world.device.borrow().announcement(world.now_ms());
                if due == Due::Anew && (fast || !now.flags.has(AnnouncementFlags::PAIRING)) {
                    announce(&stack, &advertisement(&about.name, level, now)?).await?;
                    announced = now;
                    world.latch.anew.set(true);
                    advertise(&stack, true).await?;
                    link = if_ready(&mut accepted).await;
                    if link.is_none() {
                        continue;
                    }
                }
                // A host may have connected just now, which shows once nobody can any more.
                advertise(&stack, false).await?;
                break match link {
                    None => if_ready(&mut accepted).await,
                    link => link,
                };
            };
            if let Some(Ok(link)) = link {
                one_link(link, &stack, &server, &values, world).await;
                fast_until = Instant::now() + FAST;
            }
        }
    };
    tokio::select! {
        ended = runner.run() => Err(format!("expected the controller to go on, but it ended: {ended:?}")),
        ended = air => ended,
    }
}

/// What is due while nobody is connected.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Due {
    /// Advertising ends, at least for a while.
    End,
    /// It begins anew, with what there is to announce now.
    Anew,
}

/// Changes what is announced, without any pause.
async fn announce(
    stack: &Stack<'_, Controller, Pool>,
    (data, response): &(Vec<u8>, Vec<u8>),
) -> Result<(), String> {
    let padded = |octets: &[u8]| {
        let mut padded = [0; ADVERTISEMENT];
        padded[..octets.len()].copy_from_slice(octets);
        (octets.len() as u8, padded)
    };
    let (length, octets) = padded(data);
    let done = stack.command(LeSetAdvData::new(length, octets)).await;
    done.map_err(|e| format!("expected an advertisement to be taken, but found: {e:?}"))?;
    let (length, octets) = padded(response);
    let done = stack.command(LeSetScanResponseData::new(length, octets)).await;
    done.map_err(|e| format!("expected a scan response to be taken, but found: {e:?}"))
}

async fn advertise(stack: &Stack<'_, Controller, Pool>, on: bool) -> Result<(), String> {
    let done = stack.command(LeSetAdvEnable::new(on)).await;
    done.map_err(|e| format!("expected advertising to begin or end, but found: {e:?}"))
}

/// What a future gives, if it gives that at once.
async fn if_ready<F: Future + Unpin>(future: &mut F) -> Option<F::Output> {
    tokio::select! {
        biased;
        output = future => Some(output),
        () = std::future::ready(()) => None,
    }
}

fn intervals(fast: bool) -> AdvertisementParameters {
    let (least, most) = if fast { (100, 150) } else { (1_000, 1_200) };
    AdvertisementParameters {
        interval_min: embassy_time::Duration::from_millis(least),
        interval_max: embassy_time::Duration::from_millis(most),
        ..AdvertisementParameters::default()
    }
}

async fn one_link(
    link: Connection<'_, Pool>,
    stack: &Stack<'_, Controller, Pool>,
    server: &Server<'_>,
    values: &Values,
    world: &World,
) {
    let peer = link.peer_address().to_string();
    answer::event("connected", json!({ "peer": peer }));
    world.device.borrow_mut().forget_live();
    let bondable = link.set_bondable(true);
    world.latch.bondable.set(true);
    let reason = match bondable.and_then(|()| link.with_attribute_server(server)) {
        Ok(link) => match serve::serve(&link, server, values, world).await {
            Ending::Ended(reason) => reason,
            Ending::Wanted(reason) => {
                end(&link, stack, reason).await;
                format!("ended by the adapter: {reason:?}")
            }
        },
        Err(error) => format!("{error:?}"),
    };
    world.latch.bondable.set(false);
    world.device.borrow_mut().link_lost();
    world.tell_guidance();
    world.tell_refused();
    answer::event("disconnected", json!({ "peer": peer, "reason": reason }));
}

/// Ends a link from our side, and waits until it has ended.
async fn end(
    link: &GattConnection<'_, '_, Pool>,
    stack: &Stack<'_, Controller, Pool>,
    reason: DisconnectReason,
) {
    if let Err(error) = stack.command(Disconnect::new(link.raw().handle(), reason)).await {
        answer::complain(&format!("the link does not end: {error:?}"));
        link.raw().disconnect();
    }
    let ended =
        async { while !matches!(link.next().await, GattConnectionEvent::Disconnected { .. }) {} };
    let _either = tokio::time::timeout(END, ended).await;
}

async fn until_announcement_changes(world: &World, announced: Announcement) {
    loop {
        tokio::time::sleep(LOOK).await;
        world.settle();
        // A host that was turned away may have been gone before its link was seen.
        world.tell_refused();
        if world.device.borrow().announcement(world.now_ms()) != announced {
            return;
        }
    }
}

/// Advertisement and scan response.
fn advertisement(
    name: &str,
    level: u8,
    announced: Announcement,
) -> Result<(Vec<u8>, Vec<u8>), String> {
    let own = service::TORQUE_ADAPTER.to_le_bytes();
    let mut service_data = own.to_vec();
    service_data.extend_from_slice(&announced.emit());
    let discoverable = if announced.flags.has(AnnouncementFlags::PAIRING) {
        LE_LIMITED_DISCOVERABLE
    } else {
        LE_GENERAL_DISCOVERABLE
    };
    let flags = AdStructure::Flags(discoverable | BR_EDR_NOT_SUPPORTED);
    let industrial = [service::INDUSTRIAL_MEASUREMENT_DEVICE.to_le_bytes()];
    let industrial = AdStructure::IncompleteServiceUuids16(&industrial);
    let appearance = APPEARANCE_TORQUE_TESTING.to_le_bytes();
    let appearance = AdStructure::Unknown { ty: APPEARANCE, data: &appearance };
    let name = AdStructure::CompleteLocalName(name.as_bytes());
    if level == 0 {
        return Ok((encode(&[flags, industrial, appearance, name])?, Vec::new()));
    }
    let own = [own];
    let services = AdStructure::CompleteServiceUuids128(&own);
    let announcement = AdStructure::Unknown { ty: SERVICE_DATA_128, data: &service_data };
    Ok((encode(&[flags, services, industrial, appearance])?, encode(&[announcement, name])?))
}

fn encode(parts: &[AdStructure<'_>]) -> Result<Vec<u8>, String> {
    let mut octets = vec![0; ADVERTISEMENT];
    let length = AdStructure::encode_slice(parts, &mut octets).map_err(|_| {
        format!(
            "expected an advertisement of at most {ADVERTISEMENT} octets; give a shorter --name"
        )
    })?;
    octets.truncate(length);
    Ok(octets)
}

/// A static random address of the adapter's own, which a restart does not change.
fn address(serial: &str) -> Address {
    // FNV-1a, 64 bits.
    let hash = serial.bytes().fold(0xCBF2_9CE4_8422_2325_u64, |hash, octet| {
        (hash ^ u64::from(octet)).wrapping_mul(0x0100_0000_01B3)
    });
    let [a, b, c, d, e, f, ..] = hash.to_le_bytes();
    // The two highest bits mark a static random address (Core Specification, volume 6, part B, 1.3.2.1).
    Address::random([a, b, c, d, e, f | 0xC0])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_advertisement_fits_with_the_longest_name_and_marks_pairing_mode() {
        let of = |level, flags| advertisement("Clampbk99", level, Announcement { flags });
        let (data, response) = of(1, AnnouncementFlags::PAIRING).expect("fits");
        assert_eq!((data.len(), response.len()), (29, 31));
        assert_eq!(data[..3], [2, 1, 0b101]);
        assert_eq!(response[..2], [19, SERVICE_DATA_128]);
        assert_eq!(response[18..20], [1, 1]);
        let (data, response) = of(0, AnnouncementFlags::NONE).expect("fits");
        assert_eq!((data.len(), response.len()), (22, 0));
        assert_eq!(data[..3], [2, 1, 0b110]);
        let long = Announcement { flags: AnnouncementFlags::NONE };
        assert!(advertisement("Clampbook-10", 1, long).is_err());
    }
}
