//! The traces of a fastener's pulls as drawings, one a tightening.

use crate::report::model::{Pull, StepReport};
use crate::report::plot::{self, Swing};
use maud::{Markup, PreEscaped, html};

/// A row for each tightening that has a trace; pulls of one pass are one tightening.
pub(super) fn rows(step: &StepReport, pulls: &[Pull]) -> Markup {
    html! {
        @for tightening in pulls.chunk_by(|one, next| pass(one) == pass(next)) {
            (row(step, tightening))
        }
    }
}

fn pass(pull: &Pull) -> Option<u32> {
    pull.stands().and_then(|verdict| verdict.pass)
}

fn row(step: &StepReport, tightening: &[Pull]) -> Markup {
    let swings: Vec<Swing<'_>> = tightening.iter().filter_map(swing).collect();
    let window = tightening.first().and_then(|pull| step.window(pass(pull)));
    let Ok(Some(svg)) = plot::tightening(&swings, window, step.unit()) else {
        return html! {};
    };
    let at: Vec<&str> = tightening.iter().map(|pull| pull.measured.at.short.as_str()).collect();
    html! {
        tr.trace { td colspan="6" {
            figure role="img" aria-label=(format!("Torque of the pull of {}", at.join(", "))) {
                (PreEscaped(svg))
                figcaption {
                    "Torque of " (at.join(", ")) ". ▲ peak as the adapter told it"
                    @if swings.iter().any(|swing| swing.description.snug.is_some()) { ", ○ snug" }
                    ", band: window."
                }
            }
        } }
    }
}

fn swing(pull: &Pull) -> Option<Swing<'_>> {
    let measured = &pull.measured;
    Some(Swing {
        trace: measured.trace.as_ref()?,
        description: measured.description.as_deref()?,
        peak: crate::core::units::Torque::from_nm(measured.peak_nm),
    })
}
