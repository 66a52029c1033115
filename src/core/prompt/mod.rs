//! What is said to the operator: short, in four languages, from one table; and what it sounds like before its words.
//!
//! Guarantees: everything that is said is also written; at most one prompt waits; what is over comes
//! before everything else. Figures of a pull are spelled digit by digit, because thirteen and thirty sound
//! alike; targets are said whole, with their unit.
//!
//! Deliberately absent: who speaks, plays and shows it, and how loud that is.

mod decide;
mod rhythm;
mod table;
mod talk;
mod waiting;

pub use decide::{after, felt};
pub use rhythm::{Rhythm, Tone};
pub use table::page_words;
pub use talk::{Talk, UnknownTalk};
pub use waiting::{REST_S, Waiting};

use crate::core::language::Language;
use crate::core::prompt::table::say;
use crate::core::time::Stamp;
use crate::core::wording;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// How a prompt sounds, the least urgent first.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Cue {
    /// What comes next; without a sound of its own.
    Next,
    /// A pull counts.
    Accepted,
    /// A pull ended below its window: go on.
    More,
    /// Enough: let go.
    Reached,
    /// Something needs the operator.
    Attention,
    /// Too much: stop.
    Over,
}

impl Cue {
    /// True if it is said while a pull is on.
    #[must_use]
    pub fn cuts_in(self) -> bool {
        matches!(self, Self::Reached | Self::Over)
    }
}

/// The same in every language.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
pub struct Words {
    /// English.
    pub en: String,
    /// German.
    pub de: String,
    /// Spanish.
    pub es: String,
    /// French.
    pub fr: String,
}

/// Something said.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Prompt {
    /// Counts what was said since the daemon began, from 1.
    pub number: u64,
    /// When.
    pub at: Stamp,
    /// How it sounds.
    pub cue: Cue,
    /// What is said.
    pub words: Words,
    /// All of what a warning tells, with its figures and its remedy: for whoever asks to hear it again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub whole: Option<Words>,
    /// What is said of the pull alone, where what is next is said with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of_pull: Option<Words>,
}

impl Prompt {
    /// The prompt of that number.
    #[must_use]
    pub fn new(number: u64, at: Stamp, said: Said) -> Self {
        let Said { cue, words, whole, of_pull } = said;
        Self { number, at, cue, words, whole, of_pull }
    }
}

/// What is to be said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// How it sounds.
    pub cue: Cue,
    /// What is said.
    pub words: Words,
    /// See [`Prompt::whole`].
    pub whole: Option<Words>,
    /// See [`Prompt::of_pull`].
    pub of_pull: Option<Words>,
}

impl Said {
    /// Those words, and no others.
    #[must_use]
    pub fn new(cue: Cue, words: Words) -> Self {
        Self { cue, words, whole: None, of_pull: None }
    }
}

/// A sentence of the table with its figures and names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    id: &'static str,
    arguments: Vec<(&'static str, Argument)>,
}

/// What stands in a place of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Argument {
    /// The same in every language.
    Same(String),
    /// Said in English by the program, or in their own words by somebody else.
    English(String),
}

impl Line {
    pub(super) fn new(id: &'static str) -> Self {
        Self { id, arguments: Vec::new() }
    }

    pub(super) fn with(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.arguments.push((name, Argument::Same(value.into())));
        self
    }

    pub(super) fn with_english(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.arguments.push((name, Argument::English(value.into())));
        self
    }
}

impl Words {
    /// What the program says in English, in every language; if it is none of its own sentences, as it is.
    #[must_use]
    pub fn told(english: &str) -> Self {
        wording::in_every_language(english).unwrap_or_else(|| {
            let same = || english.to_owned();
            Self { en: same(), de: same(), es: same(), fr: same() }
        })
    }

    /// Those lines, one after another.
    #[must_use]
    pub fn of(lines: &[Line]) -> Self {
        let all = |language| {
            let said: Vec<String> = lines.iter().map(|line| say(language, line)).collect();
            said.join(" ")
        };
        Self {
            en: all(Language::English),
            de: all(Language::German),
            es: all(Language::Spanish),
            fr: all(Language::French),
        }
    }

    /// In one language.
    #[must_use]
    pub fn in_language(&self, language: Language) -> &str {
        match language {
            Language::English => &self.en,
            Language::German => &self.de,
            Language::Spanish => &self.es,
            Language::French => &self.fr,
        }
    }
}
