//! Sentences that the program makes in English while it works, in the other languages: what warnings tell and what
//! is asked before a job is closed.
//!
//! A warning is kept as one English sentence, and what was kept years ago shall be told in the reader's language,
//! too. So a sentence is taken apart by the English table into its name and what stands in its places, and put
//! together again by another. Taken apart and put together in English it is the same again, letter by letter; a
//! sentence that no table has stays as it is.

mod template;

use crate::core::event::Verdict;
use crate::core::language::{Language, Table};
use crate::core::prompt::Words;
use crate::core::snapshot::{Next, Snapshot};
use crate::core::wording::template::Template;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// What begins so is found in places only.
const PART: &str = "part-";
/// What stands here is one of the table's own sentences, or the whole is none of them.
const OWN: &str = "own";
/// What stands here is somebody's own words or name, digits and points included.
const AS_IT_IS: [&str; 11] = [
    "adapter", "again", "day", "fact", "hold", "mirrored", "order", "part", "parts", "said",
    "thing",
];

static TABLE: Table = Table::new([
    include_str!("en.ftl"),
    include_str!("de.ftl"),
    include_str!("es.ftl"),
    include_str!("fr.ftl"),
]);

/// A sentence of the table taken apart.
struct Taken<'t> {
    name: &'static str,
    places: Vec<(&'static str, Held<'t>)>,
}

/// What stands in a place.
enum Held<'t> {
    /// Another sentence, or a part of one.
    Taken(Taken<'t>),
    /// Figures.
    Figures(&'t str),
    /// A name, or somebody's own words.
    AsItIs(&'t str),
}

/// The English sentence in another language; none if it is none of the program's own.
#[must_use]
pub fn told(english: &str, language: Language) -> Option<String> {
    let taken = take(english, false)?;
    Some(if language == Language::English { english.to_owned() } else { put(&taken, language) })
}

/// The English sentence in every language; none if it is none of the program's own.
#[must_use]
pub fn in_every_language(english: &str) -> Option<Words> {
    let taken = take(english, false)?;
    Some(Words {
        en: english.to_owned(),
        de: put(&taken, Language::German),
        es: put(&taken, Language::Spanish),
        fr: put(&taken, Language::French),
    })
}

/// What a watcher is shown of a job in sentences of the program's own, by its English: what is asked, and of the
/// warnings those since the `latest` pull.
#[must_use]
pub fn of(snapshot: &Snapshot, latest: Option<&Verdict>) -> BTreeMap<String, Words> {
    let since = latest.map(|latest| latest.at);
    let warnings = snapshot.warnings.iter().filter(|one| since.is_none_or(|since| one.at >= since));
    let next = match &snapshot.next {
        Some(Next::Confirm { text, .. }) => Some(text),
        Some(Next::Pull { .. } | Next::LookUp { .. } | Next::State { .. }) | None => None,
    };
    let asked = snapshot.holds.iter().map(|hold| &hold.text).chain(next);
    let all = warnings.map(|warning| &warning.text).chain(asked);
    all.filter_map(|english| Some((english.clone(), in_every_language(english)?))).collect()
}

/// Takes a sentence apart, or a part of one.
fn take(english: &str, is_part: bool) -> Option<Taken<'_>> {
    let fitting = templates().iter().filter(|one| one.name().starts_with(PART) == is_part);
    fitting.filter_map(|one| Some((one.name(), one.take(english)?))).find_map(|(name, places)| {
        let places = places.into_iter().map(|(place, text)| Some((place, hold(place, text)?)));
        Some(Taken { name, places: places.collect::<Option<_>>()? })
    })
}

/// What stands in a place; none where it may not stand there.
fn hold<'t>(place: &str, text: &'t str) -> Option<Held<'t>> {
    if AS_IT_IS.contains(&place) {
        return Some(Held::AsItIs(text));
    }
    match place {
        OWN => take(text, false).map(Held::Taken),
        "question" => Some(take(text, false).map_or(Held::AsItIs(text), Held::Taken)),
        _ => Some(take(text, true).map_or(Held::Figures(text), Held::Taken)),
    }
}

fn put(taken: &Taken<'_>, language: Language) -> String {
    let texts: Vec<(&'static str, String)> = taken
        .places
        .iter()
        .map(|(place, held)| match held {
            Held::Taken(taken) => (*place, put(taken, language)),
            Held::Figures(text) => (*place, language.figure(text)),
            Held::AsItIs(text) => (*place, (*text).to_owned()),
        })
        .collect();
    let places: Vec<(&'static str, &str)> =
        texts.iter().map(|(place, text)| (*place, text.as_str())).collect();
    TABLE.say(language, taken.name, &places).into_owned()
}

/// The English sentences, those first that leave the least open.
fn templates() -> &'static [Template] {
    static TEMPLATES: OnceLock<Vec<Template>> = OnceLock::new();
    TEMPLATES.get_or_init(|| {
        let sentences = TABLE.sentences(Language::English);
        let mut templates: Vec<Template> =
            sentences.map(|(name, text)| Template::new(name, text)).collect();
        templates.sort_by_key(|one| std::cmp::Reverse(one.fixed()));
        templates
    })
}

#[cfg(test)]
mod tests;
