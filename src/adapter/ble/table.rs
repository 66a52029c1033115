//! The table of attributes that an adapter must have.

use super::fault::LinkError;
use crate::adapter::trouble::Cause;
use btleplug::api::{CharPropFlags, Characteristic, Peripheral as _};
use btleplug::platform::Peripheral;
use clampbook_protocol::gatt::{assigned, characteristic, service};
use uuid::Uuid;

pub(super) const TORQUE_ADAPTER: Uuid = Uuid::from_u128(service::TORQUE_ADAPTER);
pub(super) const INDUSTRIAL: Uuid =
    Uuid::from_u128(assigned(service::INDUSTRIAL_MEASUREMENT_DEVICE));
const INFORMATION: Uuid = Uuid::from_u128(assigned(service::DEVICE_INFORMATION));

/// What is used of an adapter's table.
#[derive(Debug, Clone)]
pub(super) struct Table {
    pub(super) serial: Characteristic,
    pub(super) torque: Option<Characteristic>,
    pub(super) own: Option<Own>,
}

/// What is used of the adapter's own service.
#[derive(Debug, Clone)]
pub(super) struct Own {
    pub(super) capability: Characteristic,
    pub(super) reading: Characteristic,
    pub(super) status: Characteristic,
    pub(super) access: Characteristic,
    /// Samples over time; an adapter need not have it.
    pub(super) trace: Option<Characteristic>,
    /// How the tool moved between two readings; an adapter need not have it.
    pub(super) motion: Option<Characteristic>,
    /// What the next pull should reach; an adapter need not have it.
    pub(super) set_point: Option<Characteristic>,
    /// Presses of its button; an adapter need not have it.
    pub(super) button: Option<Characteristic>,
    /// Every adapter of this level must have it; one that lacks it can still be listened to.
    pub(super) control: Option<Characteristic>,
}

impl Table {
    /// Takes from what was discovered on `peripheral` what is needed.
    ///
    /// # Errors
    /// If something is missing or cannot do what it must.
    pub(super) fn of(peripheral: &Peripheral) -> Result<Self, LinkError> {
        let all = peripheral.characteristics();
        let find = |service: Uuid, uuid: Uuid, needed: CharPropFlags| {
            all.iter()
                .find(|one| one.service_uuid == service && one.uuid == uuid)
                .filter(|one| one.properties.contains(needed))
                .cloned()
        };
        let need = |service, uuid: Uuid, needed, name: &str| {
            find(service, uuid, needed)
                .ok_or_else(|| LinkError::from(Cause::StaleServices { missing: name.to_owned() }))
        };
        let serial = need(
            INFORMATION,
            Uuid::from_u128(assigned(characteristic::SERIAL_NUMBER)),
            CharPropFlags::READ,
            "a serial number",
        )?;
        let torque = find(
            INDUSTRIAL,
            Uuid::from_u128(assigned(characteristic::TORQUE)),
            CharPropFlags::NOTIFY,
        );
        let has_own = all.iter().any(|one| one.service_uuid == TORQUE_ADAPTER);
        let own = if has_own {
            let own = |uuid: u128, needed, name| {
                need(TORQUE_ADAPTER, Uuid::from_u128(uuid), needed, name)
            };
            Some(Own {
                capability: own(characteristic::CAPABILITY, CharPropFlags::READ, "a capability")?,
                reading: own(characteristic::READING, CharPropFlags::NOTIFY, "readings")?,
                status: own(
                    characteristic::STATUS,
                    CharPropFlags::READ | CharPropFlags::NOTIFY,
                    "a status",
                )?,
                access: own(
                    assigned(characteristic::RECORD_ACCESS_CONTROL_POINT),
                    CharPropFlags::WRITE | CharPropFlags::INDICATE,
                    "a record access control point",
                )?,
                trace: find(
                    TORQUE_ADAPTER,
                    Uuid::from_u128(characteristic::TRACE),
                    CharPropFlags::NOTIFY,
                ),
                motion: find(
                    TORQUE_ADAPTER,
                    Uuid::from_u128(characteristic::MOTION),
                    CharPropFlags::NOTIFY,
                ),
                set_point: find(
                    TORQUE_ADAPTER,
                    Uuid::from_u128(characteristic::SET_POINT),
                    CharPropFlags::READ | CharPropFlags::WRITE,
                ),
                button: find(
                    TORQUE_ADAPTER,
                    Uuid::from_u128(characteristic::BUTTON),
                    CharPropFlags::NOTIFY,
                ),
                control: find(
                    TORQUE_ADAPTER,
                    Uuid::from_u128(characteristic::CONTROL_POINT),
                    CharPropFlags::WRITE | CharPropFlags::INDICATE,
                ),
            })
        } else {
            None
        };
        if own.is_none() && torque.is_none() {
            let missing = "readings or torque".to_owned();
            return Err(Cause::StaleServices { missing }.into());
        }
        Ok(Self { serial, torque, own })
    }
}
