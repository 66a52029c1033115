//! What is said of what is to be pulled again: the list in English, a calendar in the language of whoever reads it.

use crate::cli::verb::recheck::Row;
use crate::core::language::{Language, Table};
use crate::core::plan::{Interval, RecheckMethod};
use std::borrow::Cow;

static TABLE: Table = Table::new([
    include_str!("words/en.ftl"),
    include_str!("words/de.ftl"),
    include_str!("words/es.ftl"),
    include_str!("words/fr.ftl"),
]);

/// A sentence of the table.
pub(super) fn say(
    language: Language,
    name: &'static str,
    places: &[(&'static str, &str)],
) -> Cow<'static, str> {
    TABLE.say(language, name, places)
}

/// By when, and where that comes from.
pub(super) fn when(row: &Row, language: Language) -> String {
    let after = row.km.map(|km| {
        let distance = language.figure(&Interval { km: Some(km), days: None }.to_string());
        say(language, "after", &[("distance", &distance)])
    });
    let by = row.by.map(|by| say(language, "by", &[("day", &by.to_string())]));
    let set = match (after, by) {
        (Some(after), Some(by)) => say(language, "either", &[("after", &after), ("by", &by)]),
        (after, by) => after.or(by).unwrap_or_else(|| say(language, "as-planned", &[])),
    };
    let when = match row.reminder {
        None => set,
        Some(day) => {
            let (day, whose) = (day.to_string(), whose(row, language));
            say(language, "reminder", &[("when", &set), ("day", &day), ("whose", &whose)])
        }
    };
    match row.in_plan {
        true => when.into_owned(),
        false => say(language, "usual", &[("when", &when)]).into_owned(),
    }
}

/// Whose day a reminder is, and what counts instead.
pub(super) fn whose(row: &Row, language: Language) -> Cow<'static, str> {
    let what = if row.km.is_some() { "distance-counts" } else { "plan-counts" };
    say(language, what, &[])
}

/// How it is pulled again, in sentences.
pub(super) fn how(row: &Row, language: Language) -> String {
    let cold = row.is_wheel.then_some("cold");
    let pulled = match row.method {
        RecheckMethod::PullToTorque => Some("as-it-stands"),
        RecheckMethod::BackOffAndPull => Some("slacken-first"),
        RecheckMethod::None => None,
    };
    let sentences: Vec<_> =
        cold.into_iter().chain(pulled).map(|name| say(language, name, &[])).collect();
    sentences.join(" ")
}

#[cfg(test)]
mod tests {
    use super::TABLE;

    #[test]
    fn every_language_has_every_sentence_with_the_same_places_and_no_fault() {
        TABLE.check();
    }
}
