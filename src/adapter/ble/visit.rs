//! A short link to an adapter, for one thing that the operator wants of it.

use super::deadline::{self, within};
use super::drain::{Arrival, Drain};
use super::fault::{LinkError, is_unbonded};
use super::link::{Hints, Link, write};
use super::system::Service;
use crate::adapter::Clock;
use crate::adapter::spec::BleSpec;
use crate::adapter::translate;
use crate::adapter::trouble::{Cause, Side};
use crate::core::command::{AdapterAsk, Done, Refusal};
use crate::core::event::AdapterInfo;
use btleplug::api::Peripheral as _;
use clampbook_protocol::gatt::{assigned, characteristic, service};
use serde::Serialize;
use std::time::Duration;
use tokio::sync::watch;
use uuid::Uuid;

/// A system that asks the operator in a dialog of its own gets this long for the first encrypted value.
const DIALOG: Duration = Duration::from_secs(60);
/// The adapter has 5 s to answer; the way there and back takes a while, too.
const ANSWER: Duration = Duration::from_secs(8);
/// How often a link is tried that fails in passing.
const ATTEMPTS: u32 = 4;
const AGAIN: Duration = Duration::from_millis(250);

/// What an adapter tells of itself.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sheet {
    /// Serial number.
    pub serial: String,
    /// Its maker, as it tells.
    pub manufacturer: Option<String>,
    /// Its model, as it tells.
    pub model: Option<String>,
    /// Its firmware, as it tells.
    pub firmware: Option<String>,
    /// Drive size.
    pub drive: Option<String>,
    /// Least and largest torque of its calibrated range, N·m.
    pub range_nm: Option<(f64, f64)>,
    /// Half-width of the calibrated interval, per cent of reading.
    pub accuracy_pct: Option<f64>,
    /// True if it numbers and keeps its readings.
    pub keeps_readings: bool,
    /// Readings that wait in it.
    pub held: Option<u16>,
    /// Battery, per cent.
    pub battery_pct: Option<u8>,
    /// Its zero: unchecked, good, needed or in progress.
    pub zero: Option<String>,
    /// When it was calibrated, and when that is due again.
    pub calibrated: Option<String>,
    /// The first day on which its calibration is no longer to be relied on.
    pub calibration_due: Option<String>,
}

/// A link for one thing.
pub struct Visit {
    link: Link,
    info: AdapterInfo,
}

impl Visit {
    /// Links to the adapter of that spec.
    ///
    /// # Errors
    /// If it cannot be reached, is another one, or is not bonded.
    pub async fn open(spec: &BleSpec) -> Result<Self, LinkError> {
        let mut hints = Hints::of(spec);
        let opened = async || Self::begin(Link::open(spec, &mut hints).await?).await;
        deadline::patiently(deadline::if_passing(ATTEMPTS), AGAIN, opened).await
    }

    /// On a link that is up: makes sure that the adapter lets itself be asked.
    pub(super) async fn begin(link: Link) -> Result<Self, LinkError> {
        let Some(own) = &link.table.own else {
            let info = translate::live_only_info(&link.serial);
            return Ok(Self { link, info });
        };
        let call = link.peripheral.read(&own.capability);
        let info = match tokio::time::timeout(DIALOG, call).await {
            Ok(Ok(octets)) => {
                translate::adapter_info(&link.serial, &octets).map_err(LinkError::from)
            }
            Ok(Err(error)) if !is_unbonded(&error) => {
                Err(LinkError::stack("read the capability", &error))
            }
            Ok(Err(_)) | Err(_) => Err(Cause::BondLost(Side::Adapter).into()),
        };
        match info {
            Ok(info) => Ok(Self { link, info }),
            Err(error) => {
                link.close().await;
                Err(error)
            }
        }
    }

    /// Serial number of the adapter.
    #[must_use]
    pub fn serial(&self) -> &str {
        &self.link.serial
    }

    /// Everything that the adapter tells of itself. What it does not tell is left out.
    pub async fn sheet(&self) -> Sheet {
        let information = service::DEVICE_INFORMATION;
        let own = self.link.table.own.as_ref();
        let status = match own {
            Some(_) => self.octets(None, characteristic::STATUS).await,
            None => None,
        };
        let status = status.and_then(|octets| translate::status(&octets, true).ok());
        let status = status.map(|(_, status)| status);
        let calibration = match own {
            Some(_) => self.octets(None, characteristic::CALIBRATION).await,
            None => None,
        };
        let (calibrated, calibration_due) =
            calibration.map_or((None, None), |octets| translate::calibration_dates(&octets));
        let battery =
            self.octets(Some(service::BATTERY), assigned(characteristic::BATTERY_LEVEL)).await;
        Sheet {
            serial: self.link.serial.clone(),
            manufacturer: self.text(information, characteristic::MANUFACTURER_NAME).await,
            model: self.text(information, characteristic::MODEL_NUMBER).await,
            firmware: self.text(information, characteristic::FIRMWARE_REVISION).await,
            drive: self.info.drive.clone(),
            range_nm: self.info.range.map(|(least, most)| (least.nm(), most.nm())),
            accuracy_pct: self.info.accuracy_pct,
            keeps_readings: own.is_some(),
            held: status.as_ref().map(|status| status.held),
            battery_pct: status
                .as_ref()
                .and_then(|status| status.battery.percent())
                .or_else(|| battery.and_then(|octets| octets.first().copied())),
            zero: status.as_ref().map(|status| status.zero.to_string()),
            calibrated,
            calibration_due,
        }
    }

    /// Asks the adapter for something, and waits for its answer.
    ///
    /// # Errors
    /// If the adapter declines, or does not answer.
    pub async fn ask(&self, ask: AdapterAsk, clock: Clock) -> Result<Done, Refusal> {
        let serial = &self.link.serial;
        let refused = |reason: &str| Refusal::AdapterRefused {
            adapter: serial.clone(),
            reason: reason.to_owned(),
        };
        let control = self.link.table.own.as_ref().and_then(|own| own.control.as_ref());
        let Some(control) = control else {
            return Err(refused("it tells its torque and takes no requests"));
        };
        let away = |error: LinkError| {
            tracing::debug!("a request to the adapter: {error}");
            Refusal::AdapterAway(serial.clone())
        };
        // Nobody watches the service for so short a while.
        let (_, quiet) = watch::channel(Service::Gone);
        let mut drain = self.link.drain(clock, quiet).await.map_err(away)?;
        self.link.subscribe("answers to requests", control).await.map_err(away)?;
        let octets = translate::control(ask);
        let call = write(&self.link.peripheral, control, &octets);
        within(deadline::CALL, "ask the adapter", call).await.map_err(away)?;
        let answered = async { answer(&mut drain, serial, ask, control.uuid).await };
        match tokio::time::timeout(ANSWER, answered).await {
            Ok(Some(answer)) => answer,
            Ok(None) => Err(Refusal::AdapterAway(serial.clone())),
            Err(_) => Err(refused("it does not answer; ask again")),
        }
    }

    /// Ends the link.
    pub async fn close(self) {
        self.link.close().await;
    }

    async fn text(&self, service: u16, characteristic: u16) -> Option<String> {
        let octets = self.octets(Some(service), assigned(characteristic)).await?;
        let text = String::from_utf8_lossy(&octets).trim_matches(['\0', ' ']).to_owned();
        (!text.is_empty()).then_some(text)
    }

    /// The value of a characteristic of an assigned service, or else of the adapter's own.
    async fn octets(&self, service: Option<u16>, uuid: u128) -> Option<Vec<u8>> {
        let service = Uuid::from_u128(service.map_or(service::TORQUE_ADAPTER, assigned));
        let uuid = Uuid::from_u128(uuid);
        let all = self.link.peripheral.characteristics();
        let found = all.iter().find(|one| one.service_uuid == service && one.uuid == uuid)?;
        let call = self.link.peripheral.read(found);
        within(deadline::CALL, "read about the adapter", call).await.ok()
    }
}

async fn answer(
    drain: &mut Drain,
    serial: &str,
    ask: AdapterAsk,
    control: Uuid,
) -> Option<Result<Done, Refusal>> {
    loop {
        match drain.next().await {
            Arrival::Down => return None,
            Arrival::Value { uuid, octets, .. } if uuid == control => {
                if let Some(answer) = translate::control_answer(serial, ask, &octets) {
                    return Some(answer);
                }
            }
            Arrival::Value { .. } => {}
        }
    }
}
