//! One link: answers the host, guides the hand, and notifies readings with their motion, presses, status, live torque
//! and the trace.

mod requests;
mod trace;

use std::time::Duration;

use bt_hci::param::DisconnectReason;
use clampbook_protocol::{Button, Reading, State, Status, StatusFlags, Torque, Zero};
use clampbook_reference_adapter::access::{Access, Step};
use clampbook_reference_adapter::device::Power;
use serde_json::json;
use tokio::time::MissedTickBehavior;
use trouble_host::prelude::*;

use self::trace::Sampling;
use super::answer;
use super::table::{OwnValues, Server, Values};
use super::world::World;

type Link<'s, 'v> = GattConnection<'s, 'v, DefaultPacketPool>;
type Sent = Result<(), Error>;

const HEARTBEAT_MS: u64 = 5_000;
/// Live torque is sampled every 20 ms: 50 samples a second.
const SAMPLE_MS: u64 = 20;
/// So long after a pull every sample is notified; later one in this time.
const IDLE_MS: u64 = 500;
/// By what the sensors see in such steps it guides: 200 a second.
const GUIDE_MS: u64 = 5;
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
    guided_ms: u64,
    sampled_ms: u64,
    sample_sent_ms: u64,
    torque_ms: u64,
    sampling: Sampling,
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
    world.flow.reset();
    let mut session = Session {
        link,
        server,
        values,
        world,
        access: Access::default(),
        began_ms: now_ms,
        guided_ms: now_ms,
        sampled_ms: now_ms,
        sample_sent_ms: 0,
        torque_ms: 0,
        sampling: Sampling::new(now_ms * 1_000),
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
        self.guide(now_ms);
        self.send_live().await?;
        self.send_presses().await?;
        if let Some(own) = &self.values.own {
            let (status, told) = self.status();
            let due = now_ms >= self.status_sent_ms + HEARTBEAT_MS || self.told != Some(told);
            if due && self.is_encrypted() && own.status.should_notify(self.link) {
                own.status.notify_raw(self.link, &status.emit(), false).await?;
                self.status_sent_ms = now_ms;
                self.told = Some(told);
            }
        }
        self.send_torque(now_ms).await?;
        self.send_trace(now_ms).await?;
        self.world.forget_before(self.sampled_ms.saturating_sub(LATEST_MS));
        Ok(())
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

    /// Guides the hand by everything that the sensors saw since the last look.
    fn guide(&mut self, now_ms: u64) {
        self.guided_ms = self.guided_ms.max(now_ms.saturating_sub(LATEST_MS));
        while self.guided_ms + GUIDE_MS <= now_ms {
            self.guided_ms += GUIDE_MS;
            self.world.feel(self.guided_ms);
        }
    }

    async fn send_presses(&self) -> Sent {
        let button = self.values.own.as_ref().and_then(|own| own.button.as_ref());
        while let Some(press) = self.next_press() {
            let heard =
                button.filter(|value| self.is_encrypted() && value.should_notify(self.link));
            if let Some(value) = heard {
                value.notify_raw(self.link, &press.emit(), false).await?;
            }
        }
        Ok(())
    }

    fn next_press(&self) -> Option<Button> {
        self.world.device.borrow_mut().next_press()
    }

    fn next_live(&self) -> Option<Reading> {
        self.world.device.borrow_mut().next_live(self.world.now_ms())
    }

    /// The status now, and the part of it whose change is told at once.
    fn status(&self) -> (Status, Told) {
        let device = self.world.device.borrow();
        let now_ms = self.world.now_ms();
        let status = device.status(now_ms, self.world.is_pulled_at(now_ms));
        (status, (status.epoch.get(), status.state, status.zero, status.flags))
    }

    fn is_encrypted(&self) -> bool {
        self.link.raw().security_level().is_ok_and(|level| level.encrypted())
    }

    async fn send_reading(&self, own: &OwnValues, reading: &Reading) -> Sent {
        if !self.is_encrypted() {
            return Ok(());
        }
        own.reading.notify_raw(self.link, &reading.emit(), false).await?;
        let Some(value) = own.motion.as_ref().filter(|value| value.should_notify(self.link)) else {
            return Ok(());
        };
        let motion = self.world.device.borrow().store().motion_to(reading.key);
        match motion {
            Some(motion) => value.notify_raw(self.link, &motion.emit(), false).await,
            None => Ok(()),
        }
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
}
