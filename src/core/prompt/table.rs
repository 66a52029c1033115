//! The sentences of the prompts and the words of the page.

use crate::core::language::{Language, Table};
use crate::core::prompt::{Argument, Line};
use crate::core::wording;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Sentences of the page begin so.
const OF_THE_PAGE: &str = "page-";

static TABLE: Table = Table::new([
    include_str!("en.ftl"),
    include_str!("de.ftl"),
    include_str!("es.ftl"),
    include_str!("fr.ftl"),
]);

/// A line in a language.
pub(super) fn say(language: Language, line: &Line) -> String {
    let texts = line.arguments.iter().map(|(name, argument)| match argument {
        Argument::Same(text) => (*name, Cow::Borrowed(text.as_str())),
        Argument::English(text) => {
            let told = wording::told(text, language);
            (*name, told.map_or(Cow::Borrowed(text.as_str()), Cow::Owned))
        }
    });
    let texts: Vec<(&'static str, Cow<'_, str>)> = texts.collect();
    let places: Vec<(&'static str, &str)> =
        texts.iter().map(|(name, text)| (*name, text.as_ref())).collect();
    tidy(&TABLE.say(language, line.id, &places))
}

/// Without the marks that are left where there was no name to say.
fn tidy(text: &str) -> String {
    text.replace(". .", ".").replace("? .", "?").replace(": .", ".").trim_end().to_owned()
}

/// The words of the page: name to text.
#[must_use]
pub fn page_words(language: Language) -> BTreeMap<&'static str, String> {
    let names = TABLE.names(language).filter(|name| name.starts_with(OF_THE_PAGE));
    names.map(|name| (&name[OF_THE_PAGE.len()..], say(language, &Line::new(name)))).collect()
}

#[cfg(test)]
mod tests {
    use super::TABLE;

    #[test]
    fn every_language_has_every_sentence_with_the_same_places_and_no_fault() {
        TABLE.check();
    }
}
