//! A sentence that stands in the document, to be said in the reader's language.

use crate::core::language::Language;
use crate::core::plan::Window;
use crate::core::units::TorqueUnit;
use crate::report::number;
use crate::report::words::Words;
use serde::{Serialize, Serializer};
use std::fmt;

/// A sentence of the report. Its JSON form is its English text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Saying {
    name: &'static str,
    places: Vec<(&'static str, Part)>,
}

/// What fills a place.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Part {
    /// From outside, or the same in every language.
    Text(String),
    /// Said in English before.
    English(String),
    /// A figure of ours, with a decimal point.
    Figure(String),
    Saying(Saying),
}

impl Saying {
    /// The sentence of that name in the table.
    pub(crate) const fn new(name: &'static str) -> Self {
        Self { name, places: Vec::new() }
    }

    /// With a text that no language changes.
    pub(crate) fn text(self, place: &'static str, text: impl ToString) -> Self {
        self.with(place, Part::Text(text.to_string()))
    }

    /// With what the program said in English before.
    pub(crate) fn english(self, place: &'static str, text: &str) -> Self {
        self.with(place, Part::English(text.to_owned()))
    }

    /// With a figure, which is given with a decimal point.
    pub(crate) fn figure(self, place: &'static str, figure: String) -> Self {
        self.with(place, Part::Figure(figure))
    }

    /// With another sentence in it.
    pub(crate) fn saying(self, place: &'static str, saying: Self) -> Self {
        self.with(place, Part::Saying(saying))
    }

    /// With a peak in the unit of its window, and the way it was pulled if that was the other one.
    pub(crate) fn peak(
        self,
        place: &'static str,
        nm: f64,
        unit: TorqueUnit,
        window: Option<&Window>,
    ) -> Self {
        let peak = number::peak(nm, unit, window);
        match nm < 0.0 {
            true => self.saying(place, Self::new("counter-clockwise").figure("peak", peak)),
            false => self.figure(place, peak),
        }
    }

    fn with(mut self, place: &'static str, part: Part) -> Self {
        self.places.push((place, part));
        self
    }

    /// The sentence in a language.
    #[must_use]
    pub fn in_language(&self, language: Language) -> String {
        let words = Words::new(language);
        let said = self.places.iter().map(|(place, part)| {
            let said = match part {
                Part::Text(text) => text.clone(),
                Part::English(text) => words.quoted(text),
                Part::Figure(figure) => words.figure(figure),
                Part::Saying(saying) => saying.in_language(language),
            };
            (*place, said)
        });
        let said: Vec<(&str, String)> = said.collect();
        let places: Vec<(&str, &str)> =
            said.iter().map(|(place, said)| (*place, said.as_str())).collect();
        words.say(self.name, &places)
    }
}

/// In English.
impl fmt::Display for Saying {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.in_language(Language::English))
    }
}

impl Serialize for Saying {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
