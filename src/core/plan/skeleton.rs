//! Plans by construction to start from: order, conditions, patterns and notes, and no value.

use crate::core::plan::names;
use thiserror::Error;

/// A plan without values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Skeleton {
    /// What it is asked for by.
    pub name: &'static str,
    /// The text of the plan. Its first line is a comment that says what it is about.
    pub text: &'static str,
}

/// No skeleton has that name.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("expected the name of a skeleton, but found `{found}`; {remedy}")]
pub struct UnknownSkeleton {
    found: String,
    remedy: String,
}

macro_rules! skeletons {
    ($($name:literal),* $(,)?) => {
        &[$(Skeleton { name: $name, text: include_str!(concat!("skeletons/", $name, ".toml")) }),*]
    };
}

/// Every skeleton, in the order in which they are listed.
pub const SKELETONS: &[Skeleton] = skeletons![
    "wheels",
    "front-strut-driven",
    "front-strut",
    "front-wishbones-driven",
    "front-wishbones",
    "rear-links-driven",
    "rear-links",
    "rear-beam-disc",
    "rear-beam-drum",
    "rear-leaf",
    "rear-coil",
    "disc-brake",
    "drum-brake",
    "bearing-unit",
    "bearing-tapers",
    "trailer-hub",
];

impl Skeleton {
    /// What it is about, in one line.
    #[must_use]
    pub fn about(&self) -> &'static str {
        self.text.lines().next().unwrap_or_default().trim_start_matches("# ")
    }

    /// The skeleton of that name.
    ///
    /// # Errors
    /// There is none; the nearest name is proposed, or all are.
    pub fn find(name: &str) -> Result<&'static Self, UnknownSkeleton> {
        SKELETONS.iter().find(|skeleton| skeleton.name == name).ok_or_else(|| {
            let known: Vec<&str> = SKELETONS.iter().map(|skeleton| skeleton.name).collect();
            UnknownSkeleton { found: name.to_owned(), remedy: names::did_you_mean(name, &known) }
        })
    }
}
