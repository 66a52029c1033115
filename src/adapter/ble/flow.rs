//! Whether data flows, what was told of it, and how the link is.

use super::backoff::Backoff;
use super::fault::{LinkClass, LinkError};
use crate::adapter::port::Port;
use crate::adapter::presses::Presses;
use crate::adapter::source::SourceEvent;
use crate::adapter::traces::Told;
use crate::adapter::trouble::Cause;
use crate::core::event::{LinkState, ReadingKey};
use crate::core::live::{LinkHealth, LinkPhase};
use crate::core::time::Stamp;

/// So many attempts may fail before a failure that may pass by itself is told.
const PATIENCE: u32 = 3;
/// Values alone are shown no more often than this, seconds.
const SHOW_S: f64 = 1.0;

/// Whether data flows, and what was told of it.
#[derive(Debug, Default)]
pub(super) struct Flow {
    pub(super) backoff: Backoff,
    pub(super) health: LinkHealth,
    /// The adapter announced its sleep: not hearing it is normal.
    asleep: bool,
    told: Option<LinkError>,
    /// It was told that readings do not arrive, and none has since.
    told_vain: bool,
    /// Something was subscribed to, in this run of the program.
    subscribed: bool,
    shown: Option<(Stamp, LinkHealth)>,
    /// Nonsense in its trace that was told of, over all links.
    pub(super) nonsense: Told,
    /// The presses of its button, over all links.
    pub(super) presses: Presses,
}

impl Flow {
    pub(super) fn new(wanted: &str) -> Self {
        let health = LinkHealth { wanted: wanted.to_owned(), ..LinkHealth::default() };
        Self { health, ..Self::default() }
    }

    /// Takes note of what is about to be told.
    pub(super) fn notice(&mut self, event: &SourceEvent) {
        match event {
            SourceEvent::Link { change, .. } => match change.state {
                LinkState::Back => {
                    self.backoff.flowed();
                    self.asleep = false;
                    self.told = None;
                    self.health.links = self.health.links.saturating_add(1);
                    self.health.phase = LinkPhase::Linked;
                    self.health.trouble = None;
                }
                LinkState::Asleep => {
                    self.asleep = true;
                    self.health.phase = LinkPhase::Asleep;
                }
                LinkState::Lost => {}
            },
            SourceEvent::Gap { gap, .. } => {
                let missing = gap.last.saturating_sub(gap.first).saturating_add(1);
                self.health.gaps = self.health.gaps.saturating_add(missing);
            }
            _ => {}
        }
    }

    /// Whether nothing was subscribed to before this, in this run of the program.
    pub(super) fn is_first_subscription(&mut self) -> bool {
        !std::mem::replace(&mut self.subscribed, true)
    }

    /// Something arrived.
    pub(super) fn arrived(&mut self, at: Stamp) {
        self.health.last_value = Some(at);
    }

    /// A reading was kept.
    pub(super) fn stored(&mut self, key: &ReadingKey) {
        self.health.last_stored = Some(key.clone());
        self.told_vain = false;
    }

    /// The link failed, or could not be made.
    pub(super) fn failed(&mut self, error: &LinkError, adapter: &str) {
        let sleeps = self.asleep && error.class == LinkClass::Rescan;
        let trouble = error.trouble(Some(adapter)).to_string();
        if self.health.phase == LinkPhase::Linked {
            self.health.last_loss = Some(trouble.clone());
        }
        self.health.phase = if sleeps { LinkPhase::Asleep } else { LinkPhase::Waiting };
        self.health.trouble = (!sleeps).then_some(trouble);
    }

    /// Whether the operator has to be told: once for each thing in a row, not of mere sleep, and not
    /// of what the next attempt may have put right.
    pub(super) fn is_news(&mut self, error: &LinkError) -> bool {
        // Each new link looks well until a reading is due: patience would never end.
        if error.cause == Cause::NotFlowing {
            return !std::mem::replace(&mut self.told_vain, true);
        }
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

    /// Shows how the link is, if that has changed: at once, and mere values now and then.
    pub(super) fn show(&mut self, port: &Port) {
        let now = port.now();
        if let Some((at, shown)) = &self.shown {
            let values = LinkHealth {
                last_value: shown.last_value,
                last_stored: shown.last_stored.clone(),
                ..self.health.clone()
            };
            let merely_values = values == *shown;
            let early = now.seconds_since(*at) < SHOW_S;
            if *shown == self.health || (merely_values && early) {
                return;
            }
        }
        port.show(SourceEvent::Health(Box::new(self.health.clone())));
        self.shown = Some((now, self.health.clone()));
    }
}
