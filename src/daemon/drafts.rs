//! Facts about to be kept.

use crate::core::event::{Conclusion, Draft, Event, JobId, PersonalField, ReadingKey, Say};
use crate::core::time::Stamp;

/// What was concluded, as facts to be kept.
pub(super) fn concluded(at: Stamp, job: Option<JobId>, conclusions: &[Conclusion]) -> Vec<Draft> {
    conclusions
        .iter()
        .map(|conclusion| {
            let event = match conclusion {
                Conclusion::Verdict(verdict) => Event::Verdict(verdict.clone()),
                Conclusion::Warning(warning) => Event::Warning(warning.clone()),
            };
            plain(at, job, event)
        })
        .collect()
}

/// Puts the name of whose screen it was said on beside whatever people say.
pub(super) fn sign(drafts: &mut [Draft], name: &str) {
    let said = drafts.iter_mut().filter(|draft| match &draft.event {
        Event::Mark(_) | Event::Given(_) | Event::Photo(_) => true,
        Event::Reading { key, .. } => matches!(key, ReadingKey::Typed { .. }),
        _ => false,
    });
    said.for_each(|draft| draft.personal.push((PersonalField::Operator, name.to_owned())));
}

/// A fact with no words of people and no octets.
pub(super) fn plain(at: Stamp, job: Option<JobId>, event: Event) -> Draft {
    Draft { at, job, event, personal: Vec::new(), raw: None }
}

/// What was said without the words that people chose freely, and those words: they go beside the
/// chain, where they can be erased.
pub(super) fn without_words(say: Say) -> (Say, Option<String>) {
    match say {
        Say::Note { text } => (Say::Note { text: String::new() }, Some(text)),
        Say::Skip { fastener, reason } => {
            (Say::Skip { fastener, reason: String::new() }, Some(reason))
        }
        Say::Confirm { hold, because: Some(reason) } => {
            (Say::Confirm { hold, because: Some(String::new()) }, Some(reason))
        }
        say @ (Say::At { .. }
        | Say::Confirm { because: None, .. }
        | Say::Stated { .. }
        | Say::Opened { .. }
        | Say::Low { .. }
        | Say::Spoiled { .. }
        | Say::AlsoOpened { .. }
        | Say::Figure { .. }
        | Say::Retract) => (say, None),
    }
}
