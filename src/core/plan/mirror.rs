//! The same plan for the other side of the vehicle.
//!
//! Left and right change places in names, questions, titles, notes and comments. What belongs to this
//! one vehicle or to the thread stays: `vin`, `plate`, `vehicle`, `source`, `thread`, `class`, `socket`, and whichever
//! way a thread turns.

use std::fmt;
use std::ops::Range;
use thiserror::Error;
use toml_edit::{Document, Item, TableLike};

/// A side of the vehicle, as seated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

/// Why a plan has no other side.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MirrorError {
    /// It names no side, or both alike.
    #[error(
        "expected a plan for one side, but found {0} in its name and its joints; write the side into the name of the plan, like `Front left corner`"
    )]
    NoSide(&'static str),
    /// It is no TOML.
    #[error(
        "expected a plan in TOML, but found another text; start from one that `plan check` accepts"
    )]
    NotToml,
}

/// Keys whose text does not change with the side.
const KEPT: [&str; 7] = ["vin", "plate", "vehicle", "source", "thread", "class", "socket"];

/// The text of a plan, for that side. Unchanged if it is for that side already.
pub(super) fn mirror(text: &str, to: Side) -> Result<String, MirrorError> {
    let document = Document::parse(text).map_err(|_| MirrorError::NotToml)?;
    let mut kept = Vec::new();
    protect(document.as_table(), &mut kept);
    let words = side_words(text, &kept);
    let name = document.get("plan").and_then(Item::span).unwrap_or_default();
    let of_name = words.iter().filter(|word| name.contains(&word.0.start));
    let from =
        one_side(of_name).or_else(|_| one_side(words.iter())).map_err(MirrorError::NoSide)?;
    if from == to {
        return Ok(text.to_owned());
    }
    let mut mirrored = String::with_capacity(text.len() + words.len());
    let mut done = 0;
    for (place, side) in &words {
        mirrored.push_str(&text[done..place.start]);
        mirrored.push_str(&in_the_case_of(&text[place.clone()], side.other()));
        done = place.end;
    }
    mirrored.push_str(&text[done..]);
    Ok(mirrored)
}

/// Which side all of these say.
fn one_side<'w>(
    words: impl Iterator<Item = &'w (Range<usize>, Side)>,
) -> Result<Side, &'static str> {
    let mut found = None;
    for (_, side) in words {
        match found {
            Some(other) if other != *side => return Err("both sides"),
            _ => found = Some(*side),
        }
    }
    found.ok_or("no side")
}

/// The places of `left` and `right` where they name a side.
fn side_words(text: &str, kept: &[Range<usize>]) -> Vec<(Range<usize>, Side)> {
    let mut words = Vec::new();
    let mut start = None;
    for (index, c) in text.char_indices().chain([(text.len(), ' ')]) {
        match (start, c.is_alphanumeric()) {
            (None, true) => start = Some(index),
            (Some(first), false) => {
                start = None;
                let side = match text[first..index].to_lowercase().as_str() {
                    "left" => Side::Left,
                    "right" => Side::Right,
                    _ => continue,
                };
                let fixed = kept.iter().any(|range| range.contains(&first));
                if !fixed && !is_other_word(&text[index..]) {
                    words.push((first..index, side));
                }
            }
            _ => {}
        }
    }
    words
}

/// From what follows: a thread's turn, `left out`, `right angle` and their like.
fn is_other_word(rest: &str) -> bool {
    if !rest.starts_with(['-', ' ']) {
        return false;
    }
    let mut words = rest
        .split(|c: char| !c.is_alphanumeric())
        .map(str::to_lowercase)
        .filter(|word| !word.is_empty());
    match words.next().as_deref() {
        Some("hand") => words
            .next()
            .is_some_and(|next| ["thread", "drive"].iter().any(|turn| next.starts_with(turn))),
        Some("out" | "over" | "alone" | "angle" | "angles" | "away" | "way") => true,
        _ => false,
    }
}

/// The places of what does not change.
fn protect(table: &dyn TableLike, kept: &mut Vec<Range<usize>>) {
    for (name, item) in table.iter() {
        if name == "left-hand" {
            kept.extend(table.key(name).and_then(toml_edit::Key::span));
        }
        if KEPT.contains(&name) && item.is_value() && !item.is_table_like() {
            kept.extend(item.span());
        } else if let Some(inner) = item.as_table_like() {
            protect(inner, kept);
        }
    }
}

fn in_the_case_of(found: &str, side: Side) -> String {
    let word = side.to_string();
    if found.chars().all(char::is_uppercase) {
        word.to_uppercase()
    } else if found.starts_with(char::is_uppercase) {
        word[..1].to_uppercase() + &word[1..]
    } else {
        word
    }
}

impl Side {
    const fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Left => "left",
            Self::Right => "right",
        })
    }
}
