//! What the hand that holds the adapter is told, and what it answers with the button.

use crate::core::event::{Conclusion, LinkState, Mark, Origin, Reading};
use crate::core::guide::{self, Aim, Hand};
use crate::core::press::{Meaning, Press, meaning};
use crate::core::snapshot::Snapshot;
use crate::core::time::Stamp;
use crate::daemon::engine::Engine;
use crate::daemon::wake::Outcome;
use crate::journal::JournalError;

/// A pull that is told of later than this after its peak, seconds, is over for the hand: it gets no cue.
const FRESH_S: f64 = 5.0;

impl Engine {
    /// The serial number of the adapter that is to guide the hand, and what by.
    #[must_use]
    pub fn guided(&self) -> Option<(&str, Aim)> {
        let tracker = &self.current.as_ref()?.tracker;
        let next = tracker.snapshot().next;
        let aim = guide::aim(tracker.plan(), next.as_ref(), tracker.asked_alike())?;
        let hands: Vec<Hand<'_>> = self
            .adapters
            .values()
            .map(|known| Hand {
                adapter: &known.info.serial,
                range: known.info.range,
                is_linked: known.link == Some(LinkState::Back),
                pulled: known.pulled,
            })
            .collect();
        Some((guide::chosen(&hands, &aim)?, aim))
    }

    pub(super) fn snapshot(&self) -> Option<Snapshot> {
        self.current.as_ref().map(|current| current.tracker.snapshot())
    }

    /// A pull was kept, and judged by `outcomes`: the cue that follows.
    pub(super) fn pulled(
        &mut self,
        now: Stamp,
        at: Stamp,
        reading: &Reading,
        before: Option<Snapshot>,
        outcomes: &[Outcome],
    ) -> Option<Outcome> {
        self.told_nothing_asked = false;
        let known = self.adapters.get_mut(&reading.adapter)?;
        known.pulled = known.pulled.max(Some(at));
        let serial = known.info.serial.clone();
        if now.seconds_since(at) > FRESH_S {
            return None;
        }
        let concluded: Vec<&Conclusion> = outcomes
            .iter()
            .filter_map(|outcome| match outcome {
                Outcome::Concluded(conclusion) => Some(conclusion),
                _ => None,
            })
            .collect();
        let key = (&*reading.adapter, reading.seq);
        let cue = guide::cue(&concluded, key, &before?, &self.snapshot()?)?;
        Some(Outcome::Cue(serial, cue))
    }

    /// The adapter's button was pressed.
    pub(super) fn pressed(
        &mut self,
        at: Stamp,
        press: Press,
    ) -> Result<Vec<Outcome>, JournalError> {
        let Some(before) = self.snapshot() else {
            return Ok(vec![Outcome::Trouble(
                "the adapter's button was pressed, and did nothing, because no job is under way; start one with `clampbook job start PLAN`"
                    .to_owned(),
            )]);
        };
        match meaning(press, before.next.as_ref()) {
            Meaning::Said(say) => self.keep_mark(at, Mark { say, origin: Origin::Button }),
            Meaning::Help => Ok(vec![Outcome::Help(at, before.next)]),
            Meaning::NothingAsked if std::mem::replace(&mut self.told_nothing_asked, true) => {
                Ok(Vec::new())
            }
            Meaning::NothingAsked => Ok(vec![Outcome::NothingAsked(at)]),
        }
    }
}
