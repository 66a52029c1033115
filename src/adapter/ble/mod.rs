//! A real adapter over Bluetooth Low Energy.
//!
//! Guarantees: the adapter is told apart by its serial number and nothing is taken from another one;
//! the computer's controller is never switched on; a link is tried for ever, and counts as up only
//! once data has arrived; every call has a deadline of our own; an adapter that keeps its readings is
//! only listened to over a bond; a bond is made and removed only when the operator asks for that.

mod adding;
mod backoff;
mod control;
mod controller;
mod conversation;
mod deadline;
mod drain;
mod fault;
mod find;
mod flow;
mod hand;
mod link;
mod listening;
mod rival;
mod system;
mod table;
mod visit;

pub use adding::{Added, add, forget};
pub use backoff::Backoff;
pub use controller::{Controller, controllers};
pub use fault::{LinkClass, LinkError, classify};
pub use find::{Seen, scan};
pub use system::{Bond, Device, Radio, Survey, survey, version};
pub use visit::{Sheet, Visit};

use crate::adapter::live::Live;
use crate::adapter::port::{Closed, Port};
use crate::adapter::session::Session;
use crate::adapter::source::{SourceEvent, SourceIo};
use crate::adapter::spec::BleSpec;
use crate::adapter::translate;
use crate::adapter::trouble::Cause;
use crate::core::live::LinkPhase;
use flow::Flow;
use link::{Hints, Link};
use rand::RngExt;
use std::time::Duration;
use system::{Service, Watch};
use tokio::sync::watch;

/// How long the first look at the system's Bluetooth service may take.
const FIRST_LOOK: Duration = Duration::from_secs(1);
/// A service that was just started finds its controllers within this.
const SETTLED: Duration = Duration::from_millis(500);

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
        let service = Watch::start();
        let mut states = service.states();
        // A first look at the service takes a moment.
        let _ = tokio::time::timeout(FIRST_LOOK, states.changed()).await;
        let mut hints = Hints::of(&self.spec);
        let mut flow = Flow::new(&self.spec.adapter);
        let mut acquaintance = None;
        loop {
            let adapter = hints.serial.clone().unwrap_or_else(|| self.spec.adapter.clone());
            states.borrow_and_update();
            if flow.health.phase != LinkPhase::Asleep {
                flow.health.phase = LinkPhase::Looking;
            }
            flow.health.service_runs = runs(&states);
            flow.show(&port);
            let shut_down = port.shut_down();
            let opened = tokio::select! {
                biased;
                () = shut_down => return Err(Closed),
                opened = Link::open(&self.spec, &mut hints) => opened,
                () = port.decline(&adapter) => continue,
            };
            let error = match opened {
                Ok(link) => {
                    flow.health.serial = Some(link.serial.clone());
                    flow.health.controller.clone_from(&hints.controller);
                    let end =
                        hold(&mut port, &mut flow, &mut acquaintance, &link, states.clone()).await;
                    // What went with the service has no link any more, and a bus that has gone answers nothing.
                    if !states.has_changed().unwrap_or(false) {
                        link.close().await;
                    }
                    match end {
                        Ok(()) => continue,
                        Err(End::Closed) => return Err(Closed),
                        Err(End::Failed(error)) => {
                            tracing::info!("adapter {adapter}: the link ended: {error}");
                            error
                        }
                    }
                }
                Err(error) => error,
            };
            flow.health.service_runs = runs(&states);
            flow.failed(&error, &adapter);
            flow.show(&port);
            if flow.is_news(&error) {
                let trouble = error.trouble(Some(&adapter));
                let at = port.now();
                port.tell(SourceEvent::Trouble { at, trouble }).await?;
            }
            let pause = flow.backoff.failed(error.class, rand::rng().random());
            let shut_down = port.shut_down();
            tokio::select! {
                biased;
                () = shut_down => return Err(Closed),
                () = tokio::time::sleep(pause) => {}
                () = started(&mut states) => {}
                () = port.decline(&adapter) => {}
            }
        }
    }
}

fn runs(states: &watch::Receiver<Service>) -> bool {
    matches!(*states.borrow(), Service::Runs(_))
}

/// Returns once the system's Bluetooth service has been started, and has had a moment to find its
/// controllers: then there is no reason to wait any longer.
async fn started(states: &mut watch::Receiver<Service>) {
    loop {
        if states.changed().await.is_err() {
            return std::future::pending().await;
        }
        if matches!(*states.borrow_and_update(), Service::Runs(_)) {
            return tokio::time::sleep(SETTLED).await;
        }
    }
}

/// Talks with, or listens to, a linked adapter until the link ends.
async fn hold(
    port: &mut Port,
    flow: &mut Flow,
    acquaintance: &mut Option<Acquaintance>,
    link: &Link,
    service: watch::Receiver<Service>,
) -> Result<(), End> {
    // Before anything is subscribed: what arrives at once must find somebody who listens.
    let mut drain = link.drain(port.io().clock.clone(), service).await?;
    if let Some(own) = &link.table.own {
        let greeted = conversation::begin(link, own).await?;
        if let Some(torque) = &link.table.torque {
            // Only for a screen: without it, everything else still works.
            let _ = link.subscribe("torque", torque).await;
        }
        if !matches!(acquaintance, Some(Acquaintance::Numbers(_))) {
            let session = Session::new(&link.serial, &link.serial, &port.io().known);
            *acquaintance = Some(Acquaintance::Numbers(Box::new(session)));
        }
        if let Some(Acquaintance::Numbers(session)) = acquaintance {
            return conversation::hold(port, session, flow, link, own, &mut drain, greeted).await;
        }
    }
    let Some(torque) = &link.table.torque else {
        let missing = "readings or torque".to_owned();
        return Err(End::Failed(Cause::StaleServices { missing }.into()));
    };
    if matches!(acquaintance, Some(Acquaintance::Numbers(_))) {
        // Whatever answers now without a bond, it is not what was talked with before.
        let missing = "the service of an adapter that keeps its readings".to_owned();
        return Err(End::Failed(Cause::StaleServices { missing }.into()));
    }
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
