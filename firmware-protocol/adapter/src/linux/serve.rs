//! One link: answers the host, and notifies readings, status and live torque.

use std::time::Duration;

use bt_hci::param::DisconnectReason;
use clampbook_protocol::{Reading, State, Status, StatusFlags, Torque, Zero};
use clampbook_reference_adapter::access::{Access, Outcome, Step};
use clampbook_reference_adapter::device::Power;
use serde_json::json;
use tokio::time::MissedTickBehavior;
use trouble_host::prelude::*;

use super::answer;
use super::table::{OwnValues, Server, Value, Values};
use super::world::World;

type Link<'s, 'v> = GattConnection<'s, 'v, DefaultPacketPool>;
type Sent = Result<(), Error>;

const HEARTBEAT_MS: u64 = 5_000;
/// Live torque is sampled every 20 ms: 50 samples a second.
const SAMPLE_MS: u64 = 20;
/// So long after a pull every sample is notified; later one in this time.
const IDLE_MS: u64 = 500;
/// Samples older than this are not made up for.
const LATEST_MS: u64 = 5_000;
/// How long a host may stay without encryption, outside pairing mode.
const STRANGER_MS: u64 = 30_000;

/// Who ends a link, and why.
pub(crate) enum Ending {
    /// It has ended, with this reason.
    Ended(String),
    /// The adapter wants it ended, for this reason.
    Wanted(DisconnectReason),
}

/// The part of a status whose change is told at once.
type Told = (u16, State, Zero, StatusFlags);

/// What a link needs to remember.
struct Session<'a, 's, 'v, 't> {
    link: &'a Link<'s, 'v>,
    server: &'a Server<'t>,
    values: &'a Values,
    world: &'a World,
    access: Access,
    began_ms: u64,
    sampled_ms: u64,
    sample_sent_ms: u64,
    torque_ms: u64,
    status_sent_ms: u64,
    told: Option<Told>,
    is_unwelcome: bool,
}

/// Serves until the link ends or has to.
pub(crate) async fn serve(
    link: &Link<'_, '_>,
    server: &Server<'_>,
    values: &Values,
    world: &World,
) -> Ending {
    let now_ms = world.now_ms();
    let mut session = Session {
        link,
        server,
        values,
        world,
        access: Access::default(),
        began_ms: now_ms,
        sampled_ms: now_ms,
        sample_sent_ms: 0,
        torque_ms: 0,
        status_sent_ms: 0,
        told: None,
        is_unwelcome: false,
    };
    match session.run().await {
        Ok(ending) => ending,
        Err(error) => Ending::Ended(format!("{error:?}")),
    }
}

impl<'s, 'v> Session<'_, 's, 'v, '_> {
    async fn run(&mut self) -> Result<Ending, Error> {
        let mut ticker = tokio::time::interval(Duration::from_millis(SAMPLE_MS));
        ticker.set_missed_tick_behavior(MissedTickBehavior::Skip);
        loop {
            self.world.settle();
            self.world.tell_refused();
            if let Some(reason) = self.has_to_end() {
                return Ok(Ending::Wanted(reason));
            }
            self.send_due().await?;
            let reporting = self.access.is_reporting();
            tokio::select! {
                biased;
                event = self.link.next() => {
                    if let Some(reason) = self.take(event).await? {
                        return Ok(Ending::Ended(reason));
                    }
                }
                () = std::future::ready(()), if reporting => self.report().await?,
                () = self.world.changed.notified() => {}
                _ = ticker.tick() => {}
            }
        }
    }

    fn has_to_end(&self) -> Option<DisconnectReason> {
        let now_ms = self.world.now_ms();
        let device = self.world.device.borrow();
        let stranger = self.values.own.is_some()
            && !self.is_encrypted()
            && !device.is_pairing(now_ms)
            && now_ms > self.began_ms + STRANGER_MS;
        if device.power() == Power::Asleep {
            Some(DisconnectReason::RemoteDeviceTerminatedConnPowerOff)
        } else if stranger || self.is_unwelcome {
            Some(DisconnectReason::AuthenticationFailure)
        } else {
            (!self.world.is_reachable()).then_some(DisconnectReason::RemoteUserTerminatedConn)
        }
    }

    async fn send_due(&mut self) -> Sent {
        let now_ms = self.world.now_ms();
        self.send_live().await?;
        if let Some(own) = &self.values.own {
            let (status, told) = self.status();
            let due = now_ms >= self.status_sent_ms + HEARTBEAT_MS || self.told != Some(told);
            if due && self.is_encrypted() && own.status.should_notify(self.link) {
                own.status.notify_raw(self.link, &status.emit(), false).await?;
                self.status_sent_ms = now_ms;
                self.told = Some(told);
            }
        }
        self.send_torque(now_ms).await
    }

    /// Readings go out before any status that shows them.
    async fn send_live(&self) -> Sent {
        if let Some(own) = &self.values.own {
            while let Some(reading) = self.next_live() {
                self.send_reading(own, &reading).await?;
            }
        }
        Ok(())
    }

    fn next_live(&self) -> Option<Reading> {
        self.world.device.borrow_mut().next_live()
    }

    /// The status now, and the part of it whose change is told at once.
    fn status(&self) -> (Status, Told) {
        let device = self.world.device.borrow();
        let now_ms = self.world.now_ms();
        let under_torque = self.world.torque_at(now_ms) != Torque::ZERO;
        let status = device.status(now_ms, under_torque);
        (status, (status.epoch.get(), status.state, status.zero, status.flags))
    }

    fn is_encrypted(&self) -> bool {
        self.link.raw().security_level().is_ok_and(|level| level.encrypted())
    }

    async fn send_reading(&self, own: &OwnValues, reading: &Reading) -> Sent {
        if self.is_encrypted() {
            own.reading.notify_raw(self.link, &reading.emit(), false).await?;
        }
        Ok(())
    }

    /// Every sample since the last look, so that a slow machine sends late rather than less.
    async fn send_torque(&mut self, now_ms: u64) -> Sent {
        let torque = &self.values.torque;
        let heard =
            torque.should_notify(self.link) && (self.values.own.is_none() || self.is_encrypted());
        if !heard || now_ms > self.sampled_ms + LATEST_MS {
            self.sampled_ms = now_ms;
        }
        while self.sampled_ms + SAMPLE_MS <= now_ms {
            self.sampled_ms += SAMPLE_MS;
            let sample = self.world.torque_at(self.sampled_ms);
            if sample != Torque::ZERO {
                self.torque_ms = self.sampled_ms;
            }
            let soon_after = self.sampled_ms <= self.torque_ms + IDLE_MS;
            if soon_after || self.sampled_ms >= self.sample_sent_ms + IDLE_MS {
                torque.notify_raw(self.link, &sample.emit(), false).await?;
                self.sample_sent_ms = self.sampled_ms;
            }
        }
        self.world.forget_before(self.sampled_ms.saturating_sub(LATEST_MS));
        Ok(())
    }

    /// One step of the report under way.
    async fn report(&mut self) -> Sent {
        let Some(own) = &self.values.own else { return Ok(()) };
        let step = self.access.next(self.world.device.borrow().store());
        match step {
            Some(Step::Notify(reading)) => self.send_reading(own, &reading).await,
            Some(Step::Answer(answer)) => {
                own.access.indicate_raw(self.link, &answer.emit(), false).await
            }
            None => Ok(()),
        }
    }

    /// Takes an event; a reason means that the link has ended.
    async fn take(
        &mut self,
        event: GattConnectionEvent<'s, 'v, DefaultPacketPool>,
    ) -> Result<Option<String>, Error> {
        match event {
            GattConnectionEvent::Disconnected { reason } => return Ok(Some(format!("{reason:?}"))),
            GattConnectionEvent::PairingComplete { bond, .. } => {
                answer::event("paired", json!({ "bonded": bond.is_some() }));
                let Some(bond) = bond else {
                    self.is_unwelcome = true;
                    return Ok(None);
                };
                let mut device = self.world.device.borrow_mut();
                device.leave_pairing();
                self.world.keep.bond(bond, &device);
            }
            GattConnectionEvent::PairingFailed(error) => {
                answer::event("pairing-failed", json!({ "reason": format!("{error:?}") }));
            }
            GattConnectionEvent::Encrypted { .. } => {
                self.told = None;
                answer::event("encrypted", json!({}));
            }
            GattConnectionEvent::Gatt { event } => self.answer(event).await?,
            _ => {}
        }
        Ok(None)
    }

    async fn answer(&mut self, event: GattEvent<'s, 'v, DefaultPacketPool>) -> Sent {
        let reply = match event {
            GattEvent::Write(write) => return self.write(write).await,
            GattEvent::Read(read) => {
                self.send_live().await?;
                // The table answers, so the values have to be in it first.
                let status = self.status().0;
                let charge = status.battery.percent().unwrap_or_default();
                self.values.battery.set(self.server, &[charge])?;
                if let Some(own) = &self.values.own {
                    own.status.set(self.server, &status.emit())?;
                }
                read.accept()
            }
            GattEvent::NotAllowed(refused) => {
                let key_unused = self.link.raw().is_bonded_peer() && !self.is_encrypted();
                if key_unused && self.needs_encryption(refused.handle()) {
                    refused.reject(AttErrorCode::INSUFFICIENT_ENCRYPTION)
                } else {
                    refused.accept()
                }
            }
            GattEvent::Other(other) => other.accept(),
        };
        reply?.send().await;
        Ok(())
    }

    async fn write(&mut self, write: WriteEvent<'s, 'v, DefaultPacketPool>) -> Sent {
        let handle = write.handle();
        let octets = write.with_data(|_, data| data.to_vec());
        let own = self.values.own.as_ref();
        let points = own.map(|own| [&own.access, &own.control]).into_iter().flatten();
        let point = points.into_iter().find(|point| point.handle == handle);
        let (Some(own), Some(point)) = (own, point) else {
            write.accept()?.send().await;
            self.note_subscription(handle, &octets);
            return Ok(());
        };
        let refusal = if octets.is_empty() {
            Some(AttErrorCode::INVALID_ATTRIBUTE_VALUE_LENGTH)
        } else {
            (!self.indicates(point)).then_some(AttErrorCode::CCCD_IMPROPERLY_CONFIGURED)
        };
        if let Some(code) = refusal {
            write.reject(code)?.send().await;
            return Ok(());
        }
        if handle == own.control.handle {
            write.accept_unprocessed()?.send().await;
            let (now_ms, is_free) = (self.world.now_ms(), self.world.is_free());
            let answer = self.world.device.borrow_mut().control(&octets, now_ms, is_free);
            answer::event("control", json!({ "answer": answer.to_string() }));
            return own.control.indicate_raw(self.link, &answer.emit(), false).await;
        }
        let held = self.world.device.borrow().store().len();
        let outcome = self.world.device.borrow_mut().access(&octets, &mut self.access);
        match outcome {
            Outcome::Busy => {
                write.reject(AttErrorCode::PROCEDURE_ALREADY_IN_PROGRESS)?.send().await;
            }
            Outcome::Reporting if !own.reading.should_notify(self.link) => {
                self.access = Access::default();
                write.reject(AttErrorCode::CCCD_IMPROPERLY_CONFIGURED)?.send().await;
            }
            Outcome::Reporting => write.accept_unprocessed()?.send().await,
            Outcome::Answer(answer) => {
                self.note_release(held);
                write.accept_unprocessed()?.send().await;
                own.access.indicate_raw(self.link, &answer.emit(), false).await?;
            }
        }
        Ok(())
    }

    fn note_subscription(&mut self, handle: u16, octets: &[u8]) {
        let on = octets.first().is_some_and(|&octet| octet != 0);
        let torque = [(&self.values.torque, "torque")];
        let own = self.values.own.iter().flat_map(|own| {
            [
                (&own.reading, "reading"),
                (&own.status, "status"),
                (&own.access, "access"),
                (&own.control, "control"),
            ]
        });
        let mut all = torque.into_iter().chain(own);
        if let Some((_, name)) = all.find(|(value, _)| value.cccd_handle == Some(handle)) {
            if name == "status" {
                self.told = None;
            }
            answer::event("subscribed", json!({ "to": name, "on": on }));
        }
    }

    /// Keeps and tells that the host has released readings: before the answer, so that what was answered
    /// as released does not come back with a restart.
    fn note_release(&self, held_before: usize) {
        let device = self.world.device.borrow();
        let held = device.store().len();
        if held != held_before {
            self.world.keep.device(&device);
            answer::event("released", json!({ "count": held_before - held, "held": held }));
        }
    }

    fn needs_encryption(&self, handle: u16) -> bool {
        self.server.table().permissions(handle).is_some_and(|permissions| {
            [permissions.read, permissions.write].contains(&PermissionLevel::EncryptionRequired)
        })
    }

    /// Whether the host has asked for indications of a value.
    fn indicates(&self, value: &Value) -> bool {
        const INDICATE: u8 = 2;
        let mut configuration = [0; 2];
        value.cccd_handle.is_some_and(|handle| {
            self.server.read(self.link.raw(), handle, 0, &mut configuration).is_ok()
                && configuration[0] & INDICATE != 0
        })
    }
}
