//! The report as one HTML file: no script, nothing fetched, every word from outside escaped.
//!
//! What is open comes first and large. Meaning is carried by shape and word; colour only repeats it.

mod face;
mod lists;
mod ring;
mod shape;
mod step;
mod text;
mod trace;

use crate::report::{Extent, Report};
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// Nothing may be fetched or run; the style is in the page itself.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; \
                      base-uri 'none'; form-action 'none'";
const STYLE: &str = include_str!("page.css");

/// The report as one self-contained page.
#[must_use]
pub fn render(report: &Report) -> String {
    page(report, Extent::Full).into_string()
}

/// The same, telling so much.
#[must_use]
pub fn render_extent(report: &Report, extent: Extent) -> String {
    page(report, extent).into_string()
}

fn page(report: &Report, extent: Extent) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="referrer" content="no-referrer";
                title {
                    "Job " (report.job.number) ", " (text::brief(&report.plan.name)) ": "
                    (report.outcome.headline)
                }
                style { (PreEscaped(STYLE)) }
            }
            body {
                (face::outcome(report))
                main {
                    (face::job(report))
                    (face::holds(report))
                    (lists::legend(report))
                    @for (index, step) in report.steps.iter().enumerate() {
                        (step::section(report, index, step, extent))
                    }
                    @if extent == Extent::Full {
                        (lists::unassigned(report))
                        (lists::operator_said(report))
                        (lists::corrections(report))
                        (lists::warnings(report))
                        (lists::link(report))
                    }
                    (lists::not_known(report))
                    (lists::cautions(report))
                }
                (face::chain(report))
            }
        }
    }
}
