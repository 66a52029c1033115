//! A source's side of its two channels, such that neither side can wait for the other in a circle.

use crate::adapter::source::{Errand, Guidance, SourceEvent, SourceIo, Stored};
use crate::core::command::Refusal;
use crate::core::time::Stamp;
use std::collections::VecDeque;

/// Nobody wants anything from this source any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Closed;

/// What a source is told while its adapter is linked.
pub(super) enum Told {
    Stored(Stored),
    Errand(Errand),
    Guidance(Guidance),
}

/// A source's side of its channels.
pub(super) struct Port {
    io: SourceIo,
    /// What was acknowledged while the source waited for room.
    stored: VecDeque<Stored>,
    acknowledged: bool,
    asked: bool,
    guided: bool,
}

impl Port {
    pub(super) fn new(io: SourceIo) -> Self {
        Self { io, stored: VecDeque::new(), acknowledged: true, asked: true, guided: true }
    }

    pub(super) fn io(&self) -> &SourceIo {
        &self.io
    }

    pub(super) fn now(&self) -> Stamp {
        (self.io.clock)()
    }

    /// Hands an event over. While there is no room, acknowledgements are still taken.
    pub(super) async fn tell(&mut self, event: SourceEvent) -> Result<(), Closed> {
        loop {
            tokio::select! {
                biased;
                () = self.io.shutdown.wished() => return Err(Closed),
                room = self.io.events.reserve() => {
                    room.map_err(|_| Closed)?.send(event);
                    return Ok(());
                }
                stored = self.io.stored.recv(), if self.acknowledged => match stored {
                    Some(stored) => self.stored.push_back(stored),
                    None => self.acknowledged = false,
                },
            }
        }
    }

    /// Hands over what only a screen wants; without room it is left out.
    pub(super) fn show(&self, event: SourceEvent) {
        let _ = self.io.events.try_send(event);
    }

    /// How the adapter is to guide the hand just now.
    pub(super) fn guidance(&mut self) -> Guidance {
        *self.io.guidance.borrow_and_update()
    }

    /// The next acknowledgement, errand or guidance; never ends once there can be none.
    pub(super) async fn told(&mut self) -> Told {
        loop {
            if let Some(stored) = self.stored.pop_front() {
                return Told::Stored(stored);
            }
            if !self.acknowledged && !self.asked && !self.guided {
                return std::future::pending().await;
            }
            tokio::select! {
                stored = self.io.stored.recv(), if self.acknowledged => match stored {
                    Some(stored) => return Told::Stored(stored),
                    None => self.acknowledged = false,
                },
                errand = self.io.errands.recv(), if self.asked => match errand {
                    Some(errand) => return Told::Errand(errand),
                    None => self.asked = false,
                },
                changed = self.io.guidance.changed(), if self.guided => match changed {
                    Ok(()) => return Told::Guidance(self.guidance()),
                    Err(_) => self.guided = false,
                },
            }
        }
    }

    /// Declines every errand, as long as the adapter cannot be reached; never ends.
    pub(super) async fn decline(&mut self, adapter: &str) {
        while let Some(errand) = self.io.errands.recv().await {
            let _ = errand.answer.send(Err(Refusal::AdapterAway(adapter.to_owned())));
        }
        self.asked = false;
        std::future::pending().await
    }

    /// The next acknowledgement; never ends once there can be none.
    pub(super) async fn stored(&mut self) -> Stored {
        if let Some(stored) = self.stored.pop_front() {
            return stored;
        }
        if self.acknowledged {
            match self.io.stored.recv().await {
                Some(stored) => return stored,
                None => self.acknowledged = false,
            }
        }
        std::future::pending().await
    }

    /// Returns once the shutdown is wished.
    pub(super) fn shut_down(&self) -> impl Future<Output = ()> + Send + use<> {
        let mut shutdown = self.io.shutdown.clone();
        async move { shutdown.wished().await }
    }
}
