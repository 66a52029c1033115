//! A real adapter over Bluetooth Low Energy.
//!
//! Guarantees: the adapter is told apart by its serial number and nothing is taken from another one;
//! the computer's controller is never switched on; a link is tried for ever, and counts as up only
//! once data has arrived; every call has a deadline of our own.
//!
//! Deliberately absent: pairing, which the system does when the operator wants it, and removing an
//! adapter from the system's memory, which would delete the bond.

mod backoff;
mod controller;
mod conversation;
mod deadline;
mod drain;
mod fault;
mod find;
mod link;
mod listening;
mod table;

pub use backoff::Backoff;
pub use controller::{Controller, controllers};
pub use fault::{LinkClass, LinkError, classify};
pub use find::{Seen, scan};

use crate::adapter::live::Live;
use crate::adapter::port::{Closed, Port};
use crate::adapter::session::Session;
use crate::adapter::source::{SourceEvent, SourceIo};
use crate::adapter::spec::BleSpec;
use crate::adapter::translate;
use crate::core::event::LinkState;
use link::{Hints, Link};
use rand::RngExt;

/// So many attempts may fail before a failure that may pass by itself is told.
const PATIENCE: u32 = 3;

/// A real adapter.
#[derive(Debug, Clone)]
pub struct Ble {
    spec: BleSpec,
}

/// Why a link ended.
enum End {
    /// Nobody wants anything from this source any more.
    Closed,
    /// It failed, and is to be built anew.
    Failed(LinkError),
}

impl From<Closed> for End {
    fn from(_: Closed) -> Self {
        Self::Closed
    }
}

impl From<LinkError> for End {
    fn from(error: LinkError) -> Self {
        Self::Failed(error)
    }
}

/// Whether data flows, and what was told of it.
#[derive(Debug, Default)]
struct Flow {
    backoff: Backoff,
    /// The adapter announced its sleep: not hearing it is normal.
    asleep: bool,
    told: Option<LinkError>,
}

impl Flow {
    fn notice(&mut self, event: &SourceEvent) {
        if let SourceEvent::Link { change, .. } = event {
            match change.state {
                LinkState::Back => {
                    self.backoff.flowed();
                    self.asleep = false;
                    self.told = None;
                }
                LinkState::Asleep => self.asleep = true,
                LinkState::Lost => {}
            }
        }
    }

    /// Whether the operator has to be told: once for each thing in a row, not of mere sleep, and not
    /// of what the next attempt may have put right.
    fn is_news(&mut self, error: &LinkError) -> bool {
        if error.class == LinkClass::Retryable && self.backoff.failures() < PATIENCE {
            return false;
        }
        let sleeps = self.asleep && error.class == LinkClass::Rescan;
        let known = self.told.as_ref().is_some_and(|told| told.class == error.class);
        if sleeps || known {
            return false;
        }
        self.told = Some(error.clone());
        true
    }
}

/// What is known of the one adapter, over all links.
enum Acquaintance {
    Numbers(Box<Session>),
    Tells(Box<Live>),
}

impl Ble {
    /// The adapter that `spec` names.
    #[must_use]
    pub fn new(spec: BleSpec) -> Self {
        Self { spec }
    }

    /// Links to the adapter and says what it says, for ever, until shutdown.
    pub async fn run(self, io: SourceIo) {
        // It ends only when nobody listens any more: there is nothing left to say.
        let _ = self.keep(Port::new(io)).await;
    }

    async fn keep(self, mut port: Port) -> Result<(), Closed> {
        let mut hints = Hints::default();
        let mut flow = Flow::default();
        let mut acquaintance = None;
        loop {
            let shut_down = port.shut_down();
            let opened = tokio::select! {
                biased;
                () = shut_down => return Err(Closed),
                opened = Link::open(&self.spec, &mut hints) => opened,
            };
            let error = match opened {
                Ok(link) => {
                    let end = hold(&mut port, &mut flow, &mut acquaintance, &link).await;
                    link.close().await;
                    match end {
                        Ok(()) => continue,
                        Err(End::Closed) => return Err(Closed),
                        Err(End::Failed(error)) => error,
                    }
                }
                Err(error) => error,
            };
            if flow.is_news(&error) {
                let adapter = hints.serial.as_deref().unwrap_or(&self.spec.adapter);
                let trouble = error.trouble(Some(adapter));
                let at = port.now();
                port.tell(SourceEvent::Trouble { at, trouble }).await?;
            }
            let pause = flow.backoff.failed(error.class, rand::rng().random());
            let shut_down = port.shut_down();
            tokio::select! {
                biased;
                () = shut_down => return Err(Closed),
                () = tokio::time::sleep(pause) => {}
            }
        }
    }
}

/// Talks with, or listens to, a linked adapter until the link ends.
async fn hold(
    port: &mut Port,
    flow: &mut Flow,
    acquaintance: &mut Option<Acquaintance>,
    link: &Link,
) -> Result<(), End> {
    // Before anything is subscribed: what arrives at once must find somebody who listens.
    let mut drain = link.drain(port.io().clock.clone()).await?;
    if let Some(own) = &link.table.own {
        let info = conversation::begin(link, own).await?;
        if let Some(torque) = &link.table.torque {
            // Only for a screen: without it, everything else still works.
            let _ = link.subscribe("torque", torque).await;
        }
        if !matches!(acquaintance, Some(Acquaintance::Numbers(_))) {
            let session = Session::new(&link.serial, &link.serial, &port.io().known);
            *acquaintance = Some(Acquaintance::Numbers(Box::new(session)));
        }
        if let Some(Acquaintance::Numbers(session)) = acquaintance {
            return conversation::hold(port, session, flow, link, own, &mut drain, info).await;
        }
    }
    let Some(torque) = &link.table.torque else {
        let text = "expected readings or torque from the adapter, but it has neither";
        return Err(End::Failed(LinkError::new(LinkClass::StaleTable, text)));
    };
    listening::begin(link, torque).await?;
    if !matches!(acquaintance, Some(Acquaintance::Tells(_))) {
        let live = Live::new(translate::live_only_info(&link.serial));
        *acquaintance = Some(Acquaintance::Tells(Box::new(live)));
    }
    if let Some(Acquaintance::Tells(live)) = acquaintance {
        return listening::hold(port, live, flow, torque, &mut drain).await;
    }
    Ok(())
}
