//! The languages that the program has, and tables of sentences in them (Fluent), one file a language.

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;
use std::sync::OnceLock;
use thiserror::Error;
use unic_langid::LanguageIdentifier;
use utoipa::ToSchema;

/// A language that the program speaks and writes, by its code (ISO 639-1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
pub enum Language {
    /// English.
    #[default]
    #[serde(rename = "en")]
    English,
    /// German.
    #[serde(rename = "de")]
    German,
    /// Spanish.
    #[serde(rename = "es")]
    Spanish,
    /// French.
    #[serde(rename = "fr")]
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

    /// A text of figures with its decimal points as the language writes them.
    #[must_use]
    pub fn figure(self, text: &str) -> String {
        if self == Self::English {
            return text.to_owned();
        }
        let mut figure = String::with_capacity(text.len());
        let mut rest = text;
        while let Some(place) = rest.find('.') {
            let digit = |letter: Option<char>| letter.is_some_and(|one| one.is_ascii_digit());
            let (before, behind) = (&rest[..place], &rest[place + 1..]);
            let decimal = digit(before.chars().next_back()) && digit(behind.chars().next());
            figure.push_str(before);
            figure.push(if decimal { ',' } else { '.' });
            rest = behind;
        }
        figure + rest
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

/// The same sentences in every language. A sentence is one line, `name = text with { $places }`.
pub(crate) struct Table {
    texts: [&'static str; 4],
    bundles: OnceLock<Vec<Bundle>>,
}

impl Table {
    /// Of the files in the order of [`Language::ALL`].
    pub(crate) const fn new(texts: [&'static str; 4]) -> Self {
        Self { texts, bundles: OnceLock::new() }
    }

    /// A sentence with its places filled; its name if the table lacks it.
    pub(crate) fn say<'t>(
        &'t self,
        language: Language,
        name: &'static str,
        places: &[(&'static str, &str)],
    ) -> Cow<'t, str> {
        let bundles = self.bundles.get_or_init(|| Language::ALL.map(|one| self.bundle(one)).into());
        let bundle = &bundles[language.place()];
        let mut arguments = FluentArgs::with_capacity(places.len());
        for (place, value) in places {
            arguments.set(*place, *value);
        }
        let pattern = bundle.get_message(name).and_then(|message| message.value());
        let mut faults = Vec::new();
        pattern.map_or(Cow::Borrowed(name), |pattern| {
            bundle.format_pattern(pattern, Some(&arguments), &mut faults)
        })
    }

    /// The names of the sentences, in the order of the file.
    pub(crate) fn names(&self, language: Language) -> impl Iterator<Item = &'static str> + use<> {
        self.sentences(language).map(|(name, _)| name)
    }

    /// Names and texts of the sentences, places as they are written, in the order of the file.
    pub(crate) fn sentences(
        &self,
        language: Language,
    ) -> impl Iterator<Item = (&'static str, &'static str)> + use<> {
        let lines = self.texts[language.place()].lines();
        let lines = lines.filter(|line| line.starts_with(char::is_alphabetic));
        lines.filter_map(|line| line.split_once(" = "))
    }

    /// The table of one language. That it has no faults is tested.
    fn bundle(&self, language: Language) -> Bundle {
        let identifier: LanguageIdentifier =
            language.code().parse().expect("the codes are well formed; this is a bug");
        let mut bundle = FluentBundle::new_concurrent(vec![identifier]);
        // Marks of direction would be spoken or shown by some voices and screens.
        bundle.set_use_isolating(false);
        let text = self.texts[language.place()].to_owned();
        let resource = match FluentResource::try_new(text) {
            Ok(resource) | Err((resource, _)) => resource,
        };
        bundle.add_resource_overriding(resource);
        bundle
    }
}

#[cfg(test)]
impl Table {
    /// Fails unless every language has every sentence once, in the same order, with the same places.
    #[track_caller]
    pub(crate) fn check(&self) {
        use std::collections::BTreeSet;
        let places = |text: &str| {
            let found = text.split("{ $").skip(1).filter_map(|rest| rest.split_once(" }"));
            found.map(|(name, _)| name.to_owned()).collect::<BTreeSet<_>>()
        };
        let sentences = |language: Language| {
            let lines = self.texts[language.place()].lines();
            let lines = lines.filter(|line| !line.is_empty() && !line.starts_with('#'));
            let sentence = |line: &'static str| {
                let (name, text) = line.split_once(" = ").expect("a name and a text");
                assert!(!text.trim().is_empty(), "{language}: {name} says nothing");
                assert_eq!(text.matches('{').count(), text.matches("{ $").count(), "{name}");
                (name, places(text))
            };
            lines.map(sentence).collect::<Vec<_>>()
        };
        for language in Language::ALL {
            let text = self.texts[language.place()].to_owned();
            assert!(FluentResource::try_new(text).is_ok(), "{language}");
            assert_eq!(sentences(language), sentences(Language::English), "{language}");
            let distinct: BTreeSet<&str> = self.names(language).collect();
            assert_eq!(distinct.len(), self.names(language).count(), "{language}");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Language;

    #[test]
    fn a_code_is_read_and_written_alike_everywhere() {
        for language in Language::ALL {
            assert_eq!(language.code().parse(), Ok(language));
            let quoted = format!("\"{language}\"");
            assert_eq!(serde_json::to_string(&language).unwrap(), quoted);
            assert_eq!(serde_json::from_str::<Language>(&quoted).unwrap(), language);
        }
        let unknown = "EN".parse::<Language>().unwrap_err();
        assert_eq!(unknown.to_string(), "expected en, de, es or fr, but found \"EN\"");
    }
}
