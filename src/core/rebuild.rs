//! From kept facts back to the state of a job.

use crate::core::event::{Entry, Event, Input, What};
use crate::core::time::Stamp;
use crate::core::tracker::Tracker;

/// The tracker of a job as its entries leave it; none if they do not begin with the job's start.
///
/// Conclusions among the entries are passed over: they follow again from the inputs.
#[must_use]
pub fn rebuild<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Option<Tracker> {
    let mut tracker = None;
    for entry in entries {
        match (&entry.event, &mut tracker) {
            (Event::JobStarted { plan, .. }, _) => tracker = Some(Tracker::new(plan.clone())),
            (event, Some(tracker)) => {
                if let Some(input) = input(event, entry.at) {
                    tracker.step(input);
                }
            }
            (_, None) => {}
        }
    }
    tracker
}

/// What the tracker was told when this fact was kept; none for what it concluded itself.
#[must_use]
pub fn input(event: &Event, recorded: Stamp) -> Option<Input> {
    let (at, what) = match event {
        Event::Adapter(info) => (recorded, What::Adapter(info.clone())),
        Event::Reading { at, reading, .. } | Event::Claimed { at, reading, .. } => {
            (*at, What::Reading(reading.clone()))
        }
        Event::Described { at, described, .. } => (*at, What::Described(described.clone())),
        Event::Motion(motion) => (recorded, What::Motion(motion.clone())),
        Event::Mark(mark) => (recorded, What::Mark(mark.clone())),
        Event::Given(given) => (recorded, What::Given(given.clone())),
        Event::Link(change) => (recorded, What::Link(change.clone())),
        Event::Gap(gap) => (recorded, What::Gap(gap.clone())),
        Event::JobClosed { .. } => (recorded, What::End),
        Event::JobStarted { .. }
        | Event::JobParked { .. }
        | Event::JobResumed
        | Event::Erased { .. }
        | Event::Corrected { .. }
        | Event::Certificate(_)
        | Event::Photo(_)
        | Event::RecheckOf { .. }
        | Event::RecheckDue { .. }
        | Event::Verdict(_)
        | Event::Warning(_) => return None,
    };
    Some(Input { at, what })
}
