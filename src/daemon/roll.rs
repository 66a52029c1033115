//! Which source has which adapter, how their links are, and where requests to adapters and guidance go.

use crate::adapter::{Errand, Guidance, SourceEvent};
use crate::core::command::Refusal;
use crate::core::guide::{Aim, Cue};
use crate::core::live::{LinkHealth, Live};
use std::collections::BTreeMap;
use tokio::sync::{mpsc, watch};

/// The sources, by their adapters.
pub(super) struct Roll {
    errands: Vec<Option<mpsc::Sender<Errand>>>,
    guidance: Vec<watch::Sender<Guidance>>,
    /// Serial numbers as told.
    serials: BTreeMap<String, usize>,
    links: BTreeMap<usize, LinkHealth>,
    /// Counts what changed here alone.
    changes: u64,
}

impl Roll {
    pub(super) fn new(
        errands: Vec<Option<mpsc::Sender<Errand>>>,
        guidance: Vec<watch::Sender<Guidance>>,
    ) -> Self {
        Self { errands, guidance, serials: BTreeMap::new(), links: BTreeMap::new(), changes: 0 }
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

    /// One adapter guides the hand from now on, by its serial number, and no other does.
    pub(super) fn guide(&self, guided: Option<(&str, Aim)>) {
        let of = guided.and_then(|(serial, aim)| Some((*self.serials.get(serial)?, aim)));
        for (source, guidance) in self.guidance.iter().enumerate() {
            let aim = of.filter(|(guided, _)| *guided == source).map(|(_, aim)| aim);
            guidance.send_if_modified(|before| std::mem::replace(&mut before.aim, aim) != aim);
        }
    }

    /// The adapter of this serial number is to give a cue.
    pub(super) fn cue(&self, serial: &str, cue: Cue) {
        let source = self.serials.get(serial).and_then(|source| self.guidance.get(*source));
        if let Some(guidance) = source {
            guidance.send_modify(|before| {
                let number = before.cue.map_or(1, |(number, _)| number + 1);
                before.cue = Some((number, cue));
            });
        }
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
