//! Takes what arrives off the stack's hands at once, and does nothing else with it.

use super::system::Service;
use crate::adapter::Clock;
use crate::core::time::Stamp;
use btleplug::api::{CentralEvent, ValueNotification};
use btleplug::platform::PeripheralId;
use futures::{Stream, StreamExt};
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use uuid::Uuid;

/// How many values may wait: a full memory of a large adapter. Beyond it the stack's own queue
/// grows, nothing is dropped, and an alarm is raised.
const ROOM: usize = 4096;

/// What arrived.
#[derive(Debug)]
pub(super) enum Arrival {
    /// A value of a characteristic.
    Value {
        /// The characteristic.
        uuid: Uuid,
        /// The value.
        octets: Vec<u8>,
        /// When it arrived.
        at: Stamp,
    },
    /// The link is down, or the stack says nothing more.
    Down,
}

/// Values as they arrive, while it lives.
pub(super) struct Drain {
    arrivals: mpsc::Receiver<Arrival>,
    behind: Arc<AtomicBool>,
    task: JoinHandle<()>,
}

type Values = Pin<Box<dyn Stream<Item = ValueNotification> + Send>>;
type Events = Pin<Box<dyn Stream<Item = CentralEvent> + Send>>;

impl Drain {
    /// Begins to take values and the news of the link to `id`. With the run of the service that the
    /// link was made by, the link is gone, and the stack does not say so.
    pub(super) fn start(
        values: Values,
        events: Events,
        id: PeripheralId,
        clock: Clock,
        mut service: watch::Receiver<Service>,
    ) -> Self {
        let (sender, arrivals) = mpsc::channel(ROOM);
        let behind = Arc::new(AtomicBool::new(false));
        let alarm = Arc::clone(&behind);
        let values = values.map(move |value| Arrival::Value {
            uuid: value.uuid,
            octets: value.value,
            at: clock(),
        });
        let values = values.chain(futures::stream::once(std::future::ready(Arrival::Down)));
        let down = events.filter_map(move |event| {
            let down = matches!(event, CentralEvent::DeviceDisconnected(gone) if gone == id);
            std::future::ready(down.then_some(Arrival::Down))
        });
        let gone = futures::stream::once(async move {
            // A watch that has ended tells nothing.
            if service.changed().await.is_err() {
                std::future::pending::<()>().await;
            }
            Arrival::Down
        });
        let task = tokio::spawn(async move {
            let gone: Pin<Box<dyn Stream<Item = Arrival> + Send>> = Box::pin(gone);
            let mut all = futures::stream::select(values, futures::stream::select(down, gone));
            while let Some(arrival) = all.next().await {
                let arrival = match sender.try_send(arrival) {
                    Ok(()) => continue,
                    Err(mpsc::error::TrySendError::Closed(_)) => return,
                    Err(mpsc::error::TrySendError::Full(arrival)) => arrival,
                };
                alarm.store(true, Ordering::Relaxed);
                if sender.send(arrival).await.is_err() {
                    return;
                }
            }
        });
        Self { arrivals, behind, task }
    }

    /// The next arrival.
    pub(super) async fn next(&mut self) -> Arrival {
        self.arrivals.recv().await.unwrap_or(Arrival::Down)
    }

    /// Whether more waited than there is room for, since this was last asked.
    pub(super) fn was_behind(&self) -> bool {
        self.behind.swap(false, Ordering::Relaxed)
    }
}

impl Drop for Drain {
    fn drop(&mut self) {
        self.task.abort();
    }
}
