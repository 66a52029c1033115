//! The radio: advertises while the adapter can be reached, and serves one host at a time.

use std::time::Duration;

use bt_hci_linux::Transport;
use clampbook_protocol::Announcement;
use clampbook_protocol::gatt::service;
use serde_json::json;
use trouble_host::prelude::*;

use crate::answer;
use crate::gate::Gate;
use crate::serve;
use crate::table::{self, Identity as About, Server, Values};
use crate::world::World;

type Pool = DefaultPacketPool;
/// Attribute protocol, signalling and security each take a channel.
const CHANNELS: usize = 3;
const LINKS: usize = 1;

/// Octets of an advertisement or a scan response.
const ADVERTISEMENT: usize = 31;
/// Advertising data type of service data under a UUID of 128 bits (assigned numbers, 2.3).
const SERVICE_DATA_128: u8 = 0x21;
/// Advertising data type of the appearance.
const APPEARANCE: u8 = 0x19;
/// How often a change in what is announced is looked for while nobody is connected.
const LOOK: Duration = Duration::from_millis(500);

/// Runs until the controller fails; the error is a sentence for the user.
pub(crate) async fn run(world: &World, about: &About, level: u8, hci: u16) -> Result<(), String> {
    let transport = Transport::new(hci).map_err(|e| {
        format!("expected hci{hci} to be there, down and ours, but found: {e}; try `hciconfig hci{hci} down` as root")
    })?;
    let controller: ExternalController<_, 8> = ExternalController::new(Gate::new(transport, world.latch.clone()));
    let mut resources: HostResources<Pool, LINKS, CHANNELS> = HostResources::new();
    let stack = trouble_host::new(controller, &mut resources)
        .set_random_address(address(&about.serial))
        .set_io_capabilities(IoCapabilities::NoInputNoOutput)
        .build();
    for bond in world.keep.bonds() {
        stack
            .add_bond_information(bond)
            .map_err(|e| format!("expected room for the bonds of the state file, but found: {e:?}"))?;
    }
    let (server, values) = table::build(about, level)?;
    let mut runner = stack.runner();
    let mut peripheral = stack.peripheral();
    let air = async {
        loop {
            world.until_reachable().await;
            let announced = world.device.borrow().announcement(world.now_ms());
            let (data, response) = advertisement(&about.name, level, announced)?;
            let advertiser = peripheral
                .advertise(
                    &AdvertisementParameters {
                        interval_min: embassy_time::Duration::from_millis(100),
                        interval_max: embassy_time::Duration::from_millis(100),
                        ..AdvertisementParameters::default()
                    },
                    Advertisement::ConnectableScannableUndirected {
                        adv_data: &data,
                        scan_data: &response,
                    },
                )
                .await
                .map_err(|e| format!("expected advertising to start, but found: {e:?}"))?;
            let link = tokio::select! {
                biased;
                link = advertiser.accept() => link,
                () = world.until_unreachable() => continue,
                () = until_announcement_changes(world, announced) => continue,
            };
            if let Ok(link) = link {
                one_link(link, &server, &values, world).await;
            }
        }
    };
    tokio::select! {
        ended = runner.run() => Err(format!("expected the controller to go on, but it ended: {ended:?}")),
        ended = air => ended,
    }
}

async fn one_link(link: Connection<'_, Pool>, server: &Server<'_>, values: &Values, world: &World) {
    let peer = link.peer_address().to_string();
    answer::event("connected", json!({ "peer": peer }));
    let bondable = link.set_bondable(true);
    match bondable.and_then(|()| link.with_attribute_server(server)) {
        Ok(link) => {
            let reason = serve::serve(&link, server, values, world).await;
            answer::event("disconnected", json!({ "peer": peer, "reason": reason }));
        }
        Err(error) => answer::event("disconnected", json!({ "peer": peer, "reason": format!("{error:?}") })),
    }
    world.device.borrow_mut().forget_live();
}

async fn until_announcement_changes(world: &World, announced: Announcement) {
    loop {
        tokio::time::sleep(LOOK).await;
        world.set_latch();
        if world.device.borrow().announcement(world.now_ms()) != announced {
            return;
        }
    }
}

/// Advertisement and scan response.
fn advertisement(name: &str, level: u8, announced: Announcement) -> Result<(Vec<u8>, Vec<u8>), String> {
    let own = service::TORQUE_ADAPTER.to_le_bytes();
    let industrial = [service::INDUSTRIAL_MEASUREMENT_DEVICE.to_le_bytes()];
    let mut service_data = own.to_vec();
    service_data.extend_from_slice(&announced.emit());
    let flags = AdStructure::Flags(LE_GENERAL_DISCOVERABLE | BR_EDR_NOT_SUPPORTED);
    let appearance = AdStructure::Unknown {
        ty: APPEARANCE,
        data: &clampbook_protocol::gatt::APPEARANCE_TORQUE_TESTING.to_le_bytes(),
    };
    let name = AdStructure::CompleteLocalName(name.as_bytes());
    let (data, response) = if level >= 1 {
        (
            vec![flags, AdStructure::CompleteServiceUuids128(std::slice::from_ref(&own)), name],
            vec![
                AdStructure::Unknown {
                    ty: SERVICE_DATA_128,
                    data: &service_data,
                },
                AdStructure::CompleteServiceUuids16(&industrial),
                appearance,
            ],
        )
    } else {
        (
            vec![flags, AdStructure::CompleteServiceUuids16(&industrial), name],
            vec![appearance],
        )
    };
    Ok((encode(&data)?, encode(&response)?))
}

fn encode(parts: &[AdStructure<'_>]) -> Result<Vec<u8>, String> {
    let mut octets = vec![0; ADVERTISEMENT];
    let length = AdStructure::encode_slice(parts, &mut octets)
        .map_err(|_| format!("expected an advertisement of at most {ADVERTISEMENT} octets; give a shorter --name"))?;
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
    use clampbook_protocol::AnnouncementFlags;

    use super::*;

    #[test]
    fn the_advertisement_fits_with_the_longest_name() {
        let announced = Announcement {
            flags: AnnouncementFlags::PAIRING,
        };
        let (data, response) = advertisement("Clampbk8", 1, announced).expect("fits");
        assert_eq!((data.len(), response.len()), (31, 28));
        assert_eq!(response[..2], [19, SERVICE_DATA_128]);
        assert_eq!(response[18..20], [1, 1]);
        let (data, response) = advertisement("Clampbk8", 0, announced).expect("fits");
        assert_eq!((data.len(), response.len()), (17, 4));
        assert!(advertisement("Clampbook", 1, announced).is_err());
    }
}
