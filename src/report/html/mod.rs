//! The report as one HTML file: no script, nothing fetched, every word from outside escaped.
//!
//! What is open comes first and large. Meaning is carried by shape and word; colour only repeats it.

mod face;
mod lists;
mod photos;
mod ring;
mod shape;
mod step;
mod text;
mod trace;

use crate::core::language::Language;
use crate::report::words::Words;
use crate::report::{Extent, Report};
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// Nothing may be fetched or run; the style is in the page itself.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; \
                      base-uri 'none'; form-action 'none'";
const STYLE: &str = include_str!("page.css");

#[cfg(feature = "pdf")]
pub(super) use text::{brief, phrase};

/// The report as one self-contained page in a language, telling so much.
#[must_use]
pub fn render(report: &Report, extent: Extent, language: Language) -> String {
    page(report, extent, Words::new(language), &html! {}).into_string()
}

/// What the page is called.
pub(super) fn title(words: Words, report: &Report) -> String {
    let job = report.job.number.to_string();
    let plan = text::brief(&report.plan.name);
    let headline = words.saying(&report.outcome.headline);
    words.say("page-title", &[("job", &job), ("plan", &plan), ("headline", &headline)])
}

/// The page, with something more at its foot.
pub(super) fn page(report: &Report, extent: Extent, words: Words, foot: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang=(words.language().code()) {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="referrer" content="no-referrer";
                title { (title(words, report)) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                (face::outcome(words, report))
                main {
                    (face::job(words, report))
                    (face::holds(words, report))
                    (lists::legend(words, report))
                    @for (index, step) in report.steps.iter().enumerate() {
                        (step::section(words, report, index, step, extent))
                    }
                    (photos::section(words, report))
                    @if extent == Extent::Full {
                        (lists::unassigned(words, report))
                        (lists::operator_said(words, report))
                        (lists::corrections(words, report))
                        (lists::warnings(words, report))
                        (lists::link(words, report))
                    }
                    (lists::not_known(words, report))
                    (lists::cautions(words, report))
                }
                (face::chain(words, report, foot))
            }
        }
    }
}
