//! In which condition of its threads a value holds.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What is on the threads and under the head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Condition {
    /// Clean and dry.
    Dry,
    /// As the part comes out of its box, coating and all.
    AsSupplied,
    /// A film of machine oil.
    LightOil,
    /// Anti-seize or moly paste.
    Paste,
    /// Liquid thread locker, wet.
    ThreadLocker,
}

/// A nut factor and how far it may be off: published tables differ by a factor of two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NutFactor {
    /// What is usually taken.
    pub usual: f64,
    /// The least that is published.
    pub least: f64,
    /// The most that is published.
    pub most: f64,
}

impl Condition {
    /// Every condition, in the order in which help lists them.
    pub const ALL: [Self; 5] =
        [Self::Dry, Self::AsSupplied, Self::LightOil, Self::Paste, Self::ThreadLocker];

    /// Nut factor of steel on steel, from published engineering tables. For information: no torque is
    /// ever worked out anew from it.
    #[must_use]
    pub const fn nut_factor(self) -> NutFactor {
        match self {
            Self::Dry | Self::AsSupplied => NutFactor { usual: 0.20, least: 0.18, most: 0.27 },
            Self::LightOil => NutFactor { usual: 0.15, least: 0.10, most: 0.26 },
            Self::Paste => NutFactor { usual: 0.13, least: 0.09, most: 0.18 },
            Self::ThreadLocker => NutFactor { usual: 0.18, least: 0.14, most: 0.24 },
        }
    }

    /// How many times the preload of `published` the same torque brings in this condition: K_old / K_new.
    #[must_use]
    pub fn preload_ratio(self, published: Self) -> f64 {
        published.nut_factor().usual / self.nut_factor().usual
    }

    /// What the operator is asked.
    #[must_use]
    pub const fn question(self) -> &'static str {
        match self {
            Self::Dry => "Threads and seat clean and dry?",
            Self::AsSupplied => "Parts as they came, nothing put on the threads?",
            Self::LightOil => "A film of oil on the threads?",
            Self::Paste => "Paste on the threads, as the data say?",
            Self::ThreadLocker => "Threads clean, thread locker on?",
        }
    }

    /// True if somebody calls it so, with or without hyphens.
    #[must_use]
    pub fn is_called(self, said: &str) -> bool {
        let plain = |text: &str| text.trim().to_lowercase().replace(['-', '_'], " ");
        plain(said) == plain(self.word())
    }

    /// What threads are like then.
    #[must_use]
    pub const fn of_threads(self) -> &'static str {
        match self {
            Self::Dry => "clean and dry",
            Self::AsSupplied => "as supplied",
            Self::LightOil => "lightly oiled",
            Self::Paste => "coated with paste",
            Self::ThreadLocker => "wet with thread locker",
        }
    }

    /// The word of plans.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Dry => "dry",
            Self::AsSupplied => "as-supplied",
            Self::LightOil => "light-oil",
            Self::Paste => "paste",
            Self::ThreadLocker => "thread-locker",
        }
    }
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Dry => "dry",
            Self::AsSupplied => "as supplied",
            Self::LightOil => "light oil",
            Self::Paste => "paste",
            Self::ThreadLocker => "thread locker",
        })
    }
}
