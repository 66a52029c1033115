//! The photos of the work, in the page itself.

use crate::report::Report;
use crate::report::html::face::kind;
use crate::report::html::text;
use crate::report::model::{Personal, PhotoReport};
use crate::report::words::Words;
use maud::{Markup, html};

/// Every photo, oldest first; of one that was erased or left out, that it was.
pub(super) fn section(words: Words, report: &Report) -> Markup {
    html! {
        @if !report.photos.is_empty() {
            section {
                h2 { (words.word("photos")) " " (kind(words, "stated")) }
                div.photos { @for photo in &report.photos { (figure(words, photo)) } }
            }
        }
    }
}

fn figure(words: Words, photo: &PhotoReport) -> Markup {
    html! {
        figure {
            @match &photo.packed {
                Personal::Given(packed) => {
                    img src={ "data:" (photo.media_type) ";base64," (packed) } alt=(text::brief(&photo.about));
                }
                gone => p.none { (words.personal(gone)) },
            }
            figcaption { (photo.at.short) ": " (text::full(&words.photo(photo))) }
        }
    }
}
