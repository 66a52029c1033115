//! Words from outside, made fit for a page. Maud escapes markup; what escaping leaves is made visible.

use crate::report::model::Personal;
use crate::report::visible::visible;
use crate::report::words::Words;
use maud::{Markup, html};

/// Most characters kept of a name's start and end where it is only repeated. The end tells members apart.
const HEAD: usize = 72;
const TAIL: usize = 16;

/// Text in full, kept from changing the direction of what stands around it.
pub(super) fn full(text: &str) -> Markup {
    html! { bdi { (visible(text)) } }
}

/// A name where it is repeated: its middle left out if it is very long.
pub(super) fn name(text: &str) -> Markup {
    html! { bdi { (brief(text)) } }
}

/// The same without an element, for titles.
pub(in crate::report) fn brief(text: &str) -> String {
    let length = text.chars().count();
    if length <= HEAD + TAIL {
        return visible(text);
    }
    let head: String = text.chars().take(HEAD).collect();
    let tail: String = text.chars().skip(length - TAIL).collect();
    format!("{}…{}", visible(&head), visible(&tail))
}

/// Text that may have been erased.
pub(super) fn personal(words: Words, text: &Personal) -> Markup {
    match text {
        Personal::NotGiven => html! { span.none { (words.word("not-given")) } },
        Personal::Given(text) => full(text),
        Personal::Removed | Personal::LeftOut => html! { span.none { (words.personal(text)) } },
    }
}

/// What the program said in English at the time: in the language of the page, or marked as English where that cannot be.
pub(super) fn quoted(words: Words, english: &str) -> Markup {
    match words.retold(english) {
        Some(text) => full(&text),
        None => html! { q lang="en" { (full(english)) } },
    }
}

/// A sentence of the table whose places are filled with elements.
pub(in crate::report) fn phrase(
    words: Words,
    name: &'static str,
    places: &[(&'static str, Markup)],
) -> Markup {
    /// Stands for a place until the sentence is taken apart; no sentence of the table has it.
    const MARK: char = '\u{1}';
    let marks: Vec<String> =
        (0..places.len()).map(|index| format!("{MARK}{index}{MARK}")).collect();
    let marked: Vec<(&str, &str)> =
        places.iter().zip(&marks).map(|((place, _), mark)| (*place, mark.as_str())).collect();
    let said = words.say(name, &marked);
    let element = |index: &str| places.get(index.parse::<usize>().ok()?);
    html! {
        @for (piece, text) in said.split(MARK).enumerate() {
            @if piece % 2 == 0 { (text) }
            @else if let Some((_, element)) = element(text) { (element) }
        }
    }
}

/// Text, or a word for its absence.
pub(super) fn or_none(words: Words, text: Option<&str>, none: &'static str) -> Markup {
    match text {
        Some(text) => full(text),
        None => html! { span.none { (words.word(none)) } },
    }
}

/// A torque of ours: the second unit is never cut in two.
pub(super) fn torque(text: &str) -> Markup {
    match text.split_once(" (") {
        Some((stated, second)) => html! { (stated) " " span.second { "(" (second) } },
        None => html! { (text) },
    }
}
