//! The table of sentences (Fluent), one file a language.

use crate::core::prompt::Line;
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource};
use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;
use std::sync::LazyLock;
use thiserror::Error;
use unic_langid::LanguageIdentifier;

/// Sentences of the page begin so.
const OF_THE_PAGE: &str = "page-";

/// A language that the program speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Language {
    /// English.
    #[default]
    English,
    /// German.
    German,
    /// Spanish.
    Spanish,
    /// French.
    French,
}

/// A language that the program does not speak.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("expected en, de, es or fr, but found \"{0}\"")]
pub struct UnknownLanguage(String);

impl Language {
    /// Every language.
    pub const ALL: [Self; 4] = [Self::English, Self::German, Self::Spanish, Self::French];

    /// Its code (ISO 639-1).
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::German => "de",
            Self::Spanish => "es",
            Self::French => "fr",
        }
    }

    const fn text(self) -> &'static str {
        match self {
            Self::English => include_str!("en.ftl"),
            Self::German => include_str!("de.ftl"),
            Self::Spanish => include_str!("es.ftl"),
            Self::French => include_str!("fr.ftl"),
        }
    }

    const fn place(self) -> usize {
        match self {
            Self::English => 0,
            Self::German => 1,
            Self::Spanish => 2,
            Self::French => 3,
        }
    }
}

impl fmt::Display for Language {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl FromStr for Language {
    type Err = UnknownLanguage;

    fn from_str(text: &str) -> Result<Self, UnknownLanguage> {
        let known = Self::ALL.into_iter().find(|language| language.code() == text);
        known.ok_or_else(|| UnknownLanguage(text.to_owned()))
    }
}

type Bundle = FluentBundle<FluentResource>;

static BUNDLES: LazyLock<Vec<Bundle>> = LazyLock::new(|| Language::ALL.map(bundle).into());

/// The table of one language. That it has no faults is tested.
fn bundle(language: Language) -> Bundle {
    let identifier: LanguageIdentifier =
        language.code().parse().expect("the codes are well formed; this is a bug");
    let mut bundle = FluentBundle::new_concurrent(vec![identifier]);
    // Marks of direction would be spoken or shown by some voices and screens.
    bundle.set_use_isolating(false);
    let resource = match FluentResource::try_new(language.text().to_owned()) {
        Ok(resource) | Err((resource, _)) => resource,
    };
    bundle.add_resource_overriding(resource);
    bundle
}

/// A line in a language; its name if the table lacks it.
pub(super) fn say(language: Language, line: &Line) -> String {
    let bundle = &BUNDLES[language.place()];
    let mut arguments = FluentArgs::new();
    for (name, value) in &line.arguments {
        arguments.set(*name, value.as_str());
    }
    let pattern = bundle.get_message(line.id).and_then(|message| message.value());
    let mut faults = Vec::new();
    pattern.map_or_else(
        || line.id.to_owned(),
        |pattern| tidy(&bundle.format_pattern(pattern, Some(&arguments), &mut faults)),
    )
}

/// Without the marks that are left where there was no name to say.
fn tidy(text: &str) -> String {
    text.replace(". .", ".").replace("? .", "?").replace(": .", ".").trim_end().to_owned()
}

/// The words of the page: name to text.
#[must_use]
pub fn page_words(language: Language) -> BTreeMap<&'static str, String> {
    let names = names(language).filter(|name| name.starts_with(OF_THE_PAGE));
    names.map(|name| (&name[OF_THE_PAGE.len()..], say(language, &Line::new(name)))).collect()
}

/// The names of the sentences, in the order of the file.
fn names(language: Language) -> impl Iterator<Item = &'static str> {
    let lines = language.text().lines().filter(|line| line.starts_with(char::is_alphabetic));
    lines.filter_map(|line| line.split_once(" =").map(|(name, _)| name))
}

#[cfg(test)]
mod tests {
    use super::{Language, names};
    use fluent_bundle::FluentResource;
    use std::collections::BTreeSet;

    #[test]
    fn every_language_has_every_sentence_with_the_same_places_and_no_fault() {
        let places = |language: Language| {
            let lines =
                language.text().lines().filter(|line| line.starts_with(char::is_alphabetic));
            let places = |text: &str| {
                let found = text.split("{ $").skip(1).filter_map(|rest| rest.split_once(" }"));
                found.map(|(name, _)| name.to_owned()).collect::<BTreeSet<_>>()
            };
            let sentence = |line: &'static str| {
                let (name, text) = line.split_once(" =").expect("a name and a text");
                (name, places(text))
            };
            lines.map(sentence).collect::<Vec<_>>()
        };
        for language in Language::ALL {
            assert!(FluentResource::try_new(language.text().to_owned()).is_ok(), "{language}");
            assert_eq!(places(language), places(Language::English), "{language}");
            let distinct: BTreeSet<&str> = names(language).collect();
            assert_eq!(distinct.len(), names(language).count(), "{language}");
        }
    }
}
