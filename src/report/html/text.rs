//! Words from outside, made fit for a page. Maud escapes markup; what escaping leaves is made visible.

use crate::report::model::Personal;
use crate::report::visible::visible;
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
        Personal::LeftOut => html! { span.none { "left out" } },
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
