//! Which source has which adapter, how their links are, and where requests to adapters go.

use crate::adapter::{Errand, SourceEvent};
use crate::core::command::Refusal;
use crate::core::live::{LinkHealth, Live};
use std::collections::BTreeMap;
use tokio::sync::mpsc;

/// The sources, by their adapters.
pub(super) struct Roll {
    errands: Vec<Option<mpsc::Sender<Errand>>>,
    /// Serial numbers as told.
    serials: BTreeMap<String, usize>,
    links: BTreeMap<usize, LinkHealth>,
    /// Counts what changed here alone.
    changes: u64,
}

impl Roll {
    pub(super) fn new(errands: Vec<Option<mpsc::Sender<Errand>>>) -> Self {
        Self { errands, serials: BTreeMap::new(), links: BTreeMap::new(), changes: 0 }
    }

    /// Takes note of what a source says of itself.
    pub(super) fn note(&mut self, source: usize, event: &SourceEvent) {
        match event {
            SourceEvent::Adapter { info, .. } => {
                self.serials.insert(info.serial.clone(), source);
            }
            SourceEvent::Health(health) => {
                self.changes += 1;
                self.links.insert(source, (**health).clone());
            }
            _ => {}
        }
    }

    /// Adds how the links are.
    pub(super) fn complete(&self, live: &mut Live) {
        live.links = self.links.values().cloned().collect();
        live.revision += self.changes;
    }

    /// Sends a request to its adapter; it is answered in any case.
    pub(super) fn send(&self, adapter: &str, errand: Errand) {
        let by_health = self.links.iter().find(|(_, health)| {
            health.wanted == adapter || health.serial.as_deref() == Some(adapter)
        });
        let source = self.serials.get(adapter).or(by_health.map(|(source, _)| source));
        // Whoever asked may have gone; that is no error.
        let Some(source) = source else {
            let mut known: Vec<String> = self.serials.keys().cloned().collect();
            known.extend(
                self.links
                    .values()
                    .filter(|one| one.serial.is_none())
                    .map(|one| one.wanted.clone()),
            );
            let refusal = Refusal::NoAdapter { name: adapter.to_owned(), known };
            let _ = errand.answer.send(Err(refusal));
            return;
        };
        let Some(Some(errands)) = self.errands.get(*source) else {
            let refusal = Refusal::AdapterRefused {
                adapter: adapter.to_owned(),
                reason: "it is only played from a recording".to_owned(),
            };
            let _ = errand.answer.send(Err(refusal));
            return;
        };
        if let Err(full) = errands.try_send(errand) {
            let refusal = Refusal::AdapterAway(adapter.to_owned());
            let _ = full.into_inner().answer.send(Err(refusal));
        }
    }
}
