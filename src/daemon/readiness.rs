//! Says when an adapter is ready, and that it should be woken when a pull is due; sleep alone is normal
//! and nothing is said of it.

use crate::adapter::Cause;
use crate::core::event::{LinkChange, LinkState};
use crate::core::live::{LinkHealth, LinkPhase, Live};
use crate::core::snapshot::Next;
use std::collections::BTreeMap;

/// What was said of whom.
#[derive(Debug, Default)]
pub(super) struct Readiness {
    links: BTreeMap<String, LinkState>,
    /// It was said that one should be woken.
    told: bool,
}

impl Readiness {
    /// A link changed.
    pub(super) fn link(&mut self, change: &LinkChange) {
        let before = self.links.insert(change.adapter.clone(), change.state);
        if change.state == LinkState::Back {
            self.told = false;
            // The first link is told by the adapter's own entry.
            if before.is_some_and(|before| before != LinkState::Back) {
                tracing::info!("adapter {} is ready", change.adapter);
            }
        }
    }

    /// The operator said something, so that work goes on. If a pull is next and no adapter is awake,
    /// that is said, once until one is.
    pub(super) fn work_goes_on(&mut self, live: &Live) {
        if let Some(trouble) = self.wake_wanted(live) {
            tracing::warn!("{trouble}");
        }
    }

    fn wake_wanted(&mut self, live: &Live) -> Option<String> {
        let pull_is_next = live
            .snapshot
            .as_ref()
            .is_some_and(|snapshot| matches!(snapshot.next, Some(Next::Pull { .. })));
        let awake = live.adapters.iter().any(|adapter| adapter.link == Some(LinkState::Back));
        // The first look for it may still find it.
        let first = |link: &LinkHealth| link.phase == LinkPhase::Looking && link.trouble.is_none();
        if !pull_is_next
            || awake
            || live.links.iter().any(first)
            || self.told
            || live.links.is_empty()
        {
            return None;
        }
        self.told = true;
        let wanted = live.links.first().map(|link| link.serial.as_ref().unwrap_or(&link.wanted));
        Some(Cause::Asleep.trouble(wanted.map(String::as_str)).to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::Readiness;
    use crate::core::event::{LinkChange, LinkState};
    use crate::core::live::{AdapterState, LinkHealth, LinkPhase, Live};
    use crate::core::snapshot::{Next, Snapshot};

    fn live(next: Option<Next>, link: LinkState) -> Live {
        let serial = "LK-0007".to_owned();
        Live {
            snapshot: Some(Snapshot {
                plan: String::new(),
                next,
                groups: Vec::new(),
                holds: Vec::new(),
                open: Vec::new(),
                questions: Vec::new(),
                warnings: Vec::new(),
            }),
            adapters: vec![AdapterState {
                id: serial.clone(),
                serial: serial.clone(),
                link: Some(link),
            }],
            links: vec![LinkHealth {
                wanted: serial,
                phase: LinkPhase::Asleep,
                ..LinkHealth::default()
            }],
            ..Live::default()
        }
    }

    fn pull() -> Option<Next> {
        Some(Next::Pull { fastener: "a/1".into(), pass: 1, passes: 1, target: String::new() })
    }

    #[test]
    fn sleep_is_told_only_when_a_pull_is_due_and_once() {
        let mut readiness = Readiness::default();
        let hold = Some(Next::Confirm { hold: "stands".into(), text: String::new() });
        assert_eq!(readiness.wake_wanted(&live(hold, LinkState::Asleep)), None);
        assert_eq!(readiness.wake_wanted(&live(pull(), LinkState::Back)), None);
        let mut starting = live(pull(), LinkState::Lost);
        starting.links[0].phase = LinkPhase::Looking;
        assert_eq!(readiness.wake_wanted(&starting), None);
        assert_eq!(
            readiness.wake_wanted(&live(pull(), LinkState::Asleep)).as_deref(),
            Some(
                "adapter LK-0007: is asleep or out of range, and a pull is due; wake it (press its \
                 button or move it) and wait for \"ready\" before you pull"
            )
        );
        assert_eq!(readiness.wake_wanted(&live(pull(), LinkState::Asleep)), None);
        readiness.link(&LinkChange { adapter: "LK-0007".into(), state: LinkState::Back });
        assert!(readiness.wake_wanted(&live(pull(), LinkState::Asleep)).is_some());
    }
}
