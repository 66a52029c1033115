//! One link: answers the host, and notifies readings, status and live torque.

use std::time::Duration;

use clampbook_protocol::{Reading, State, Torque};
use clampbook_reference_adapter::access::{Access, Outcome, Step};
use clampbook_reference_adapter::device::Power;
use serde_json::json;
use tokio::time::MissedTickBehavior;
use trouble_host::prelude::*;

use crate::answer;
use crate::table::{OwnValues, Server, Value, Values};
use crate::world::World;

type Link<'s, 'v> = GattConnection<'s, 'v, DefaultPacketPool>;
type Sent = Result<(), Error>;

/// The heartbeat.
const HEARTBEAT_MS: u64 = 1_000;
/// Live torque is sampled every 20 ms: 50 samples a second.
const SAMPLE_MS: u64 = 20;
/// Without torque one sample in half a second is notified.
const IDLE_MS: u64 = 500;
/// Samples older than this are not made up for.
const LATEST_MS: u64 = 5_000;
/// How long an announced sleep is waited with, so that the announcement goes out.
const FAREWELL: Duration = Duration::from_millis(300);
/// How long the end of the link is waited for.
const END: Duration = Duration::from_secs(5);

/// What a link needs to remember.
struct Session<'a, 's, 'v, 't> {
    link: &'a Link<'s, 'v>,
    server: &'a Server<'t>,
    values: &'a Values,
    world: &'a World,
    access: Access,
    sampled_ms: u64,
    sample_sent_ms: u64,
    under_torque: bool,
    status_sent_ms: Option<u64>,
    told: Option<(u16, State)>,
}

/// Serves until the link ends, and says why it did.
pub(crate) async fn serve(link: &Link<'_, '_>, server: &Server<'_>, values: &Values, world: &World) -> String {
    let now_ms = world.now_ms();
    world.device.borrow_mut().forget_live();
    let mut session = Session {
        link,
        server,
        values,
        world,
        access: Access::default(),
        sampled_ms: now_ms,
        sample_sent_ms: 0,
        under_torque: false,
        status_sent_ms: None,
        told: None,
    };
    match session.run().await {
        Ok(reason) => reason,
        Err(error) => format!("{error:?}"),
    }
}

impl<'s, 'v> Session<'_, 's, 'v, '_> {
    async fn run(&mut self) -> Result<String, Error> {
        let mut ticker = tokio::time::interval(Duration::from_millis(SAMPLE_MS));
        ticker.set_missed_tick_behavior(MissedTickBehavior::Skip);
        loop {
            self.world.set_latch();
            let refused = self.world.latch.refused.take();
            if refused > 0 {
                answer::event("pairing-refused", json!({ "times": refused }));
            }
            if !self.world.is_reachable() {
                return self.end().await;
            }
            self.send_due().await?;
            let reporting = self.access.is_reporting();
            tokio::select! {
                biased;
                event = self.link.next() => {
                    if let Some(reason) = self.take(event).await? {
                        return Ok(reason);
                    }
                }
                () = std::future::ready(()), if reporting => self.report().await?,
                () = self.world.changed.notified() => {}
                _ = ticker.tick() => {}
            }
        }
    }

    /// Ends the link from our side, after a word of farewell if it is sleep.
    async fn end(&mut self) -> Result<String, Error> {
        let asleep = self.world.device.borrow().power() == Power::Asleep;
        if asleep && let Some(own) = &self.values.own {
            self.send_status(own).await?;
            tokio::time::sleep(FAREWELL).await;
        }
        self.link.raw().disconnect();
        let ended = async {
            while !matches!(self.link.next().await, GattConnectionEvent::Disconnected { .. }) {}
        };
        let _either = tokio::time::timeout(END, ended).await;
        Ok("ended by the adapter".to_owned())
    }

    async fn send_due(&mut self) -> Sent {
        let now_ms = self.world.now_ms();
        if let Some(own) = &self.values.own {
            while let Some(reading) = self.next_live() {
                self.send_reading(own, &reading).await?;
            }
            let told = self.status().1;
            let every_ms = HEARTBEAT_MS;
            let due = self.status_sent_ms.is_none_or(|sent| now_ms >= sent + every_ms);
            if due || self.told != Some(told) {
                self.send_status(own).await?;
                self.status_sent_ms = Some(now_ms);
                self.told = Some(told);
            }
        }
        self.send_torque(now_ms).await
    }

    fn next_live(&self) -> Option<Reading> {
        self.world.device.borrow_mut().next_live()
    }

    /// The status now, and the part of it whose change is told at once.
    fn status(&self) -> (clampbook_protocol::Status, (u16, State)) {
        let device = self.world.device.borrow();
        let now_ms = self.world.now_ms();
        let under_torque = self.world.torque_at(now_ms) != Torque::ZERO;
        let asleep = device.power() == Power::Asleep;
        let status = device.status(now_ms, asleep, under_torque);
        (status, (status.epoch.get(), status.state))
    }

    /// Whether our own values may go out: the link is encrypted.
    fn is_encrypted(&self) -> bool {
        self.link.raw().security_level().is_ok_and(|level| level.encrypted())
    }

    async fn send_reading(&self, own: &OwnValues, reading: &Reading) -> Sent {
        if self.is_encrypted() {
            own.reading.notify_raw(self.link, &reading.emit(), false).await?;
        }
        Ok(())
    }

    async fn send_status(&self, own: &OwnValues) -> Sent {
        if self.is_encrypted() {
            let status = self.status().0;
            own.status.notify_raw(self.link, &status.emit(), false).await?;
        }
        Ok(())
    }

    /// Every sample since the last look, so that a slow machine sends late rather than less.
    async fn send_torque(&mut self, now_ms: u64) -> Sent {
        let torque = &self.values.torque;
        if !torque.should_notify(self.link) || now_ms > self.sampled_ms + LATEST_MS {
            self.sampled_ms = now_ms;
        }
        while self.sampled_ms + SAMPLE_MS <= now_ms {
            self.sampled_ms += SAMPLE_MS;
            let sample = self.world.torque_at(self.sampled_ms);
            let idle = sample == Torque::ZERO && !self.under_torque;
            self.under_torque = sample != Torque::ZERO;
            if !idle || self.sampled_ms >= self.sample_sent_ms + IDLE_MS {
                torque.notify_raw(self.link, &sample.emit(), false).await?;
                self.sample_sent_ms = self.sampled_ms;
            }
        }
        self.world.forget_before(self.sampled_ms);
        Ok(())
    }

    /// One step of the report under way.
    async fn report(&mut self) -> Sent {
        let Some(own) = &self.values.own else { return Ok(()) };
        let step = self.access.next(self.world.device.borrow().store());
        match step {
            Some(Step::Notify(reading)) => self.send_reading(own, &reading).await,
            Some(Step::Answer(answer)) => own.access.indicate_raw(self.link, &answer.emit(), false).await,
            None => Ok(()),
        }
    }

    /// Takes an event; a reason means that the link has ended.
    async fn take(&mut self, event: GattConnectionEvent<'s, 'v, DefaultPacketPool>) -> Result<Option<String>, Error> {
        match event {
            GattConnectionEvent::Disconnected { reason } => return Ok(Some(format!("{reason:?}"))),
            GattConnectionEvent::PairingComplete { bond, .. } => {
                answer::event("paired", json!({ "bonded": bond.is_some() }));
                let mut device = self.world.device.borrow_mut();
                device.leave_pairing();
                if let Some(bond) = bond {
                    self.world.keep.bond(bond, &device);
                }
            }
            GattConnectionEvent::PairingFailed(error) => {
                answer::event("pairing-failed", json!({ "reason": format!("{error:?}") }));
            }
            GattConnectionEvent::Encrypted { .. } => answer::event("encrypted", json!({})),
            GattConnectionEvent::Gatt { event } => self.gatt(event).await?,
            _ => {}
        }
        Ok(None)
    }

    async fn gatt(&mut self, event: GattEvent<'s, 'v, DefaultPacketPool>) -> Sent {
        match event {
            GattEvent::Write(write) => self.write(write).await,
            GattEvent::Read(read) => {
                // The table answers, so the value has to be in it first.
                let charge = self.status().0.battery.percent().unwrap_or_default();
                self.values.battery.set(self.server, &[charge])?;
                if let Some(own) = &self.values.own {
                    own.status.set(self.server, &self.status().0.emit())?;
                }
                read.accept()?.send().await;
                Ok(())
            }
            other => {
                other.accept()?.send().await;
                Ok(())
            }
        }
    }

    async fn write(&mut self, write: WriteEvent<'s, 'v, DefaultPacketPool>) -> Sent {
        let handle = write.handle();
        let octets = write.with_data(|_, data| data.to_vec());
        let Some(own) = &self.values.own else {
            write.accept()?.send().await;
            return Ok(());
        };
        if handle != own.access.handle && handle != own.control.handle {
            let subscribed = [(&own.reading, "reading"), (&own.status, "status"), (&own.access, "access")]
                .into_iter()
                .find(|(value, _)| value.cccd_handle == Some(handle));
            write.accept()?.send().await;
            if let Some((_, name)) = subscribed {
                answer::event("subscribed", json!({ "to": name, "on": octets.first().is_some_and(|&o| o != 0) }));
            }
            return Ok(());
        }
        let value = if handle == own.access.handle { &own.access } else { &own.control };
        if !self.indicates(value) {
            write.reject(AttErrorCode::CCCD_IMPROPERLY_CONFIGURED)?.send().await;
            return Ok(());
        }
        if handle == own.control.handle {
            write.accept_unprocessed()?.send().await;
            let torque = self.world.torque_at(self.world.now_ms());
            let answer = self.world.device.borrow_mut().control(&octets, torque);
            answer::event("control", json!({ "answer": answer.to_string() }));
            return own.control.indicate_raw(self.link, &answer.emit(), false).await;
        }
        let held = self.world.device.borrow().store().len();
        let outcome = self.access.request(&octets, self.world.device.borrow_mut().store_mut());
        match outcome {
            Outcome::Busy => {
                write.reject(AttErrorCode::PROCEDURE_ALREADY_IN_PROGRESS)?.send().await;
                Ok(())
            }
            Outcome::Reporting if !own.reading.should_notify(self.link) => {
                self.access = Access::default();
                write.reject(AttErrorCode::CCCD_IMPROPERLY_CONFIGURED)?.send().await;
                Ok(())
            }
            Outcome::Reporting => {
                write.accept_unprocessed()?.send().await;
                Ok(())
            }
            Outcome::Answer(answer) => {
                self.note_release(held);
                write.accept_unprocessed()?.send().await;
                own.access.indicate_raw(self.link, &answer.emit(), false).await
            }
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
