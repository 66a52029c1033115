//! Words from outside, made fit for a page. Maud escapes markup; here goes what escaping leaves:
//! characters that cannot be seen, that reorder the line, or that HTML forbids.

use crate::report::model::Personal;
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
pub(super) fn brief(text: &str) -> String {
    let length = text.chars().count();
    if length <= HEAD + TAIL {
        return visible(text);
    }
    let head: String = text.chars().take(HEAD).collect();
    let tail: String = text.chars().skip(length - TAIL).collect();
    format!("{}…{}", visible(&head), visible(&tail))
}

/// Text that may have been erased.
pub(super) fn personal(text: &Personal) -> Markup {
    match text {
        Personal::NotGiven => html! { span.none { "not given" } },
        Personal::Given(text) => full(text),
        Personal::Removed => html! { span.none { "removed" } },
    }
}

/// Text, or a word for its absence.
pub(super) fn or_none(text: Option<&str>, none: &str) -> Markup {
    match text {
        Some(text) => full(text),
        None => html! { span.none { (none) } },
    }
}

/// A torque of ours: the second unit is never cut in two.
pub(super) fn torque(text: &str) -> Markup {
    match text.split_once(" (") {
        Some((stated, second)) => html! { (stated) " " span.second { "(" (second) } },
        None => html! { (text) },
    }
}

/// Invisible and reordering characters as their code points.
fn visible(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '\n' | '\t' => shown.push(character),
            _ if character.is_control() || reorders_or_hides(character) => {
                shown.push_str(&format!("⟨U+{:04X}⟩", u32::from(character)));
            }
            _ => shown.push(character),
        }
    }
    shown
}

/// Unicode bidirectional controls (UAX #9), zero-width characters, line and paragraph separators, tags.
fn reorders_or_hides(character: char) -> bool {
    matches!(
        character,
        '\u{061C}' | '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}'
            | '\u{FEFF}' | '\u{FFF9}'..='\u{FFFB}' | '\u{E0000}'..='\u{E007F}'
    )
}
