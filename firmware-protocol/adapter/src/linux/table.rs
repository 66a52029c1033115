//! The GATT table: the services of the Bluetooth SIG on every level, our own service from level 1, its trace, set-point
//! and button from level 2, its motion from level 3.

use clampbook_protocol::gatt::{characteristic, descriptor, service};
use clampbook_protocol::{Calibration, Capability, PresentationFormat};
use embassy_sync::blocking_mutex::raw::NoopRawMutex;
use trouble_host::prelude::*;

/// Attributes of the whole table, at most.
const ATTRIBUTES: usize = 64;
/// Hosts whose subscriptions are remembered.
const CLIENTS: usize = 8;
/// Octets of a message at the default ATT_MTU.
const MESSAGE: usize = 20;

/// The server that answers with the table.
pub(crate) type Server<'v> =
    AttributeServer<'v, NoopRawMutex, DefaultPacketPool, ATTRIBUTES, CLIENTS>;
type Attributes<'v> = AttributeTable<'v, NoopRawMutex, ATTRIBUTES>;
/// A characteristic whose values are written by [`clampbook_protocol`].
pub(crate) type Value = Characteristic<[u8]>;

/// What the adapter says of itself.
pub(crate) struct Identity {
    pub(crate) name: String,
    pub(crate) serial: String,
    pub(crate) capability: Capability,
    pub(crate) calibration: Calibration,
}

/// The characteristics that change.
pub(crate) struct Values {
    pub(crate) battery: Value,
    pub(crate) torque: Value,
    pub(crate) own: Option<OwnValues>,
}

/// The characteristics of our own service that change.
pub(crate) struct OwnValues {
    pub(crate) reading: Value,
    pub(crate) status: Value,
    pub(crate) access: Value,
    pub(crate) control: Value,
    pub(crate) trace: Option<Value>,
    pub(crate) set_point: Option<Value>,
    pub(crate) button: Option<Value>,
    pub(crate) motion: Option<Value>,
}

fn short(number: u16) -> Uuid {
    Uuid::Uuid16(number.to_le_bytes())
}

/// Builds the table; the error says which part did not fit.
pub(crate) fn build(identity: &Identity, level: u8) -> Result<(Server<'_>, Values), String> {
    let mut table = Attributes::new();
    GapConfig::Peripheral(PeripheralConfig {
        name: &identity.name,
        appearance: &appearance::industrial_measurement_device::TORQUE_TESTING_DEVICE,
    })
    .build(&mut table)?;

    let mut information = table.add_service(Service::new(short(service::DEVICE_INFORMATION)));
    for (number, text) in [
        (characteristic::MANUFACTURER_NAME, "Clampbook"),
        (characteristic::MODEL_NUMBER, "Reference adapter"),
        (characteristic::SERIAL_NUMBER, identity.serial.as_str()),
        (characteristic::FIRMWARE_REVISION, env!("CARGO_PKG_VERSION")),
    ] {
        information.add_characteristic_ro(short(number), text).build();
    }
    information.build();

    let mut battery_service = table.add_service(Service::new(short(service::BATTERY)));
    let battery = battery_service
        .add_characteristic_small(
            short(characteristic::BATTERY_LEVEL),
            [CharacteristicProp::Read, CharacteristicProp::Notify],
            [0_u8; 1],
        )
        .to_raw()
        .build();
    battery_service.build();

    let mut industrial =
        table.add_service(Service::new(short(service::INDUSTRIAL_MEASUREMENT_DEVICE)));
    let mut torque = industrial.add_characteristic_small(
        short(characteristic::TORQUE),
        [CharacteristicProp::Notify],
        [0_u8; 4],
    );
    let mut format = [0; PresentationFormat::LENGTH];
    format.copy_from_slice(&PresentationFormat::TORQUE.emit());
    torque.add_descriptor_small(
        short(descriptor::PRESENTATION_FORMAT),
        AttPermissions { read: PermissionLevel::Allowed, write: PermissionLevel::NotAllowed },
        format,
    );
    if level >= 1 {
        torque = torque.cccd_permission(PermissionLevel::EncryptionRequired);
    }
    let torque = torque.to_raw().build();
    industrial.build();

    let own = (level >= 1).then(|| own_service(&mut table, identity, level));
    Ok((Server::new(table), Values { battery, torque, own }))
}

/// Our own service: everything needs an encrypted link, and so do the subscriptions.
fn own_service<'v>(table: &mut Attributes<'v>, identity: &Identity, level: u8) -> OwnValues {
    const ENCRYPTED: PermissionLevel = PermissionLevel::EncryptionRequired;
    let mut own = table.add_service(Service::new(service::TORQUE_ADAPTER));

    let mut capability = [0; Capability::LENGTH];
    capability.copy_from_slice(&identity.capability.emit());
    own.add_characteristic_small(
        characteristic::CAPABILITY,
        [CharacteristicProp::Read],
        capability,
    )
    .read_permission(ENCRYPTED)
    .build();
    let mut calibration = [0; Calibration::LENGTH];
    calibration.copy_from_slice(&identity.calibration.emit());
    own.add_characteristic_small(
        characteristic::CALIBRATION,
        [CharacteristicProp::Read],
        calibration,
    )
    .read_permission(ENCRYPTED)
    .build();
    let reading = own
        .add_characteristic_small(
            characteristic::READING,
            [CharacteristicProp::Notify],
            [0_u8; MESSAGE],
        )
        .cccd_permission(ENCRYPTED)
        .to_raw()
        .build();
    let status = own
        .add_characteristic_small(
            characteristic::STATUS,
            [CharacteristicProp::Read, CharacteristicProp::Notify],
            [0_u8; MESSAGE],
        )
        .read_permission(ENCRYPTED)
        .cccd_permission(ENCRYPTED)
        .to_raw()
        .build();
    let mut procedure = |uuid: Uuid| {
        own.add_characteristic_small(
            uuid,
            [CharacteristicProp::Write, CharacteristicProp::Indicate],
            [0_u8; MESSAGE],
        )
        .write_permission(ENCRYPTED)
        .cccd_permission(ENCRYPTED)
        .to_raw()
        .build()
    };
    let access = procedure(short(characteristic::RECORD_ACCESS_CONTROL_POINT));
    let control = procedure(characteristic::CONTROL_POINT.into());
    // What is notified is never read, so the table keeps none of it.
    let mut notified = |uuid: Uuid| {
        own.add_characteristic_small(uuid, [CharacteristicProp::Notify], [0_u8; MESSAGE])
            .cccd_permission(ENCRYPTED)
            .to_raw()
            .build()
    };
    let trace = (level >= 2).then(|| notified(characteristic::TRACE.into()));
    let button = (level >= 2).then(|| notified(characteristic::BUTTON.into()));
    let motion = (level >= 3).then(|| notified(characteristic::MOTION.into()));
    let set_point = (level >= 2).then(|| {
        own.add_characteristic_small(
            characteristic::SET_POINT,
            [CharacteristicProp::Read, CharacteristicProp::Write],
            [0_u8; MESSAGE],
        )
        .read_permission(ENCRYPTED)
        .write_permission(ENCRYPTED)
        .to_raw()
        .build()
    });
    own.build();
    OwnValues { reading, status, access, control, trace, set_point, button, motion }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_has_what_its_level_adds() {
        let args = super::super::args::Args::default();
        let about = super::super::identity(&args, None).expect("an identity");
        let adds = [0, 1, 2, 3].map(|level| {
            let (_, values) = build(&about, level).expect("a table");
            values.own.map(|own| {
                let hand = [own.trace, own.set_point, own.button].map(|value| value.is_some());
                (hand, own.motion.is_some())
            })
        });
        let (none, all) = ([false; 3], [true; 3]);
        let expected = [None, Some((none, false)), Some((all, false)), Some((all, true))];
        assert_eq!(adds, expected);
    }
}
