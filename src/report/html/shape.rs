//! The shapes that say how a fastener ended: a disc with a tick, a double ring, a square, a diamond.
//! They differ in outline and in weight, so that they hold in black and white.

use crate::core::event::Ending;
use crate::report::words::{Words, ending_name};
use maud::{Markup, html};

/// The shape with its word beside it. *Counted* brings its caveat along.
pub(super) fn badge(words: Words, ending: Ending) -> Markup {
    html! {
        span.ending.(ending_name(ending)) {
            (icon(ending)) " " (words.ending_word(ending))
            @if ending == Ending::Counted { span.caveat { " (" (words.word("count-only")) ")" } }
        }
    }
}

/// The shape alone, for use beside a word.
pub(super) fn icon(ending: Ending) -> Markup {
    html! {
        svg.icon viewBox="0 0 20 20" aria-hidden="true" focusable="false" {
            g.(ending_name(ending)) {
                @match ending {
                    Ending::Shown => {
                        circle.solid cx="10" cy="10" r="9" {}
                        path.on d="M5.6 10.4 8.8 13.6 14.6 6.8" {}
                    }
                    Ending::Counted => {
                        circle.line cx="10" cy="10" r="8.4" {}
                        circle.line cx="10" cy="10" r="4.4" {}
                    }
                    Ending::Stated => {
                        rect.line x="2.2" y="2.2" width="15.6" height="15.6" rx="3" {}
                        path.line d="M6 10H14" {}
                    }
                    Ending::Open => { path.heavy d="M10 1.8 18.2 10 10 18.2 1.8 10Z" {} }
                }
            }
        }
    }
}

/// The outline around a member's number in a drawing, at `(x, y)`.
pub(super) fn outline(ending: Ending, x: f64, y: f64) -> Markup {
    let place = |offset: f64, centre: f64| format!("{:.1}", centre + offset);
    html! {
        @match ending {
            Ending::Shown => { circle.solid cx=(place(0.0, x)) cy=(place(0.0, y)) r="17" {} }
            Ending::Counted => {
                circle.line cx=(place(0.0, x)) cy=(place(0.0, y)) r="17" {}
                circle.line cx=(place(0.0, x)) cy=(place(0.0, y)) r="12.5" {}
            }
            Ending::Stated => {
                rect.line x=(place(-15.5, x)) y=(place(-15.5, y)) width="31" height="31" rx="5" {}
            }
            Ending::Open => {
                path.heavy d=(format!("M{x:.1} {:.1} {:.1} {y:.1} {x:.1} {:.1} {:.1} {y:.1}Z",
                    y - 21.0, x + 21.0, y + 21.0, x - 21.0)) {}
            }
        }
    }
}
