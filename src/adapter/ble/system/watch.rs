//! Watches whether the Bluetooth service runs, and whether the bus to it answers, on a connection of
//! its own: the stack's own connection goes quiet without a word when either has gone.

use super::Service;
use super::bluez::{SERVICE, connect};
use crate::adapter::ble::deadline;
use futures::StreamExt;
use std::time::Duration;
use tokio::sync::watch;
use tokio::task::JoinHandle;
use zbus::fdo::DBusProxy;
use zbus::names::BusName;

/// How often the bus is asked whether it is there.
const ASK: Duration = Duration::from_secs(5);
/// How long to wait before the bus is tried again.
const AGAIN: Duration = Duration::from_secs(1);

/// The watch, for as long as it lives.
#[derive(Debug)]
pub(in crate::adapter::ble) struct Watch {
    state: watch::Receiver<Service>,
    task: JoinHandle<()>,
}

impl Watch {
    /// Begins to watch.
    pub(in crate::adapter::ble) fn start() -> Self {
        let (told, state) = watch::channel(Service::NoBus);
        let task = tokio::spawn(async move {
            while !told.is_closed() {
                follow(&told).await;
                tell(&told, Service::NoBus);
                tokio::time::sleep(AGAIN).await;
            }
        });
        Self { state, task }
    }

    /// A second pair of eyes on the same watch.
    pub(in crate::adapter::ble) fn states(&self) -> watch::Receiver<Service> {
        self.state.clone()
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        self.task.abort();
    }
}

/// Follows the service on one connection until that is dead.
async fn follow(told: &watch::Sender<Service>) {
    let Ok(bus) = connect().await else { return };
    let Ok(names) = DBusProxy::new(&bus).await else { return };
    let Ok(mut changes) = names.receive_name_owner_changed_with_args(&[(0, SERVICE)]).await else {
        return;
    };
    let Ok(service) = BusName::try_from(SERVICE) else { return };
    // After the subscription, so that no change falls between.
    match names.get_name_owner(service).await {
        Ok(owner) => tell(told, Service::Runs(owner.to_string())),
        Err(_) => tell(told, Service::Gone),
    }
    loop {
        tokio::select! {
            change = changes.next() => {
                let Some(change) = change else { return };
                let Ok(arguments) = change.args() else { return };
                match arguments.new_owner().as_ref() {
                    Some(owner) => tell(told, Service::Runs(owner.to_string())),
                    None => tell(told, Service::Gone),
                }
            }
            () = tokio::time::sleep(ASK) => {
                if !matches!(tokio::time::timeout(deadline::CALL, names.get_id()).await, Ok(Ok(_))) {
                    return;
                }
            }
        }
    }
}

fn tell(told: &watch::Sender<Service>, now: Service) {
    told.send_if_modified(|before| {
        let changed = *before != now;
        if changed {
            tracing::debug!("the Bluetooth service: {now:?}");
            *before = now;
        }
        changed
    });
}
