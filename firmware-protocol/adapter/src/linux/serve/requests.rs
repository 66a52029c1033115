//! What a host reads and writes.

use clampbook_reference_adapter::access::{Access, Outcome};
use serde_json::json;
use trouble_host::prelude::*;

use super::super::answer;
use super::super::table::Value;
use super::{Sent, Session};

impl<'s, 'v> Session<'_, 's, 'v, '_> {
    /// Answers a read or a write; the table answers what it can.
    pub(super) async fn answer(&mut self, event: GattEvent<'s, 'v, DefaultPacketPool>) -> Sent {
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
                    if let Some(value) = &own.set_point {
                        let set_point =
                            self.world.device.borrow().guide().read(self.world.now_ms());
                        value.set(self.server, &set_point.emit())?;
                    }
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
        let set_point = own.and_then(|own| own.set_point.as_ref());
        if set_point.is_some_and(|value| value.handle == handle) {
            let link = self.link.raw().handle().raw();
            let now_ms = self.world.now_ms();
            let taken = self.world.device.borrow_mut().set_point(&octets, link, now_ms);
            let reply = match taken {
                Ok(_) => write.accept_unprocessed(),
                Err(refused) => write.reject(AttErrorCode::new(refused.att_error())),
            };
            reply?.send().await;
            self.world.tell_set_point(taken);
            self.world.tell_guidance();
            return Ok(());
        }
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
            self.world.tell_guidance();
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
            .into_iter()
            .chain(own.trace.iter().map(|trace| (trace, "trace")))
            .chain(own.button.iter().map(|button| (button, "button")))
            .chain(own.motion.iter().map(|motion| (motion, "motion")))
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
