//! The traces of a fastener's pulls as drawings, one a tightening.

use crate::report::model::{Pull, StepReport};
use crate::report::plot::{self, Swing};
use crate::report::words::Words;
use maud::{Markup, PreEscaped, html};

/// A row for each tightening that has a trace; pulls of one pass are one tightening.
pub(super) fn rows(words: Words, step: &StepReport, pulls: &[Pull]) -> Markup {
    html! {
        @for tightening in pulls.chunk_by(|one, next| pass(one) == pass(next)) {
            (row(words, step, tightening))
        }
    }
}

fn pass(pull: &Pull) -> Option<u32> {
    pull.stands().and_then(|verdict| verdict.pass)
}

fn row(words: Words, step: &StepReport, tightening: &[Pull]) -> Markup {
    let swings: Vec<Swing<'_>> = tightening.iter().filter_map(swing).collect();
    let window = tightening.first().and_then(|pull| step.window(pass(pull)));
    let Ok(Some(svg)) = plot::tightening(&swings, window, step.unit(), words) else {
        return html! {};
    };
    let at: Vec<&str> = tightening.iter().map(|pull| pull.measured.at.short.as_str()).collect();
    let at = at.join(", ");
    let snug = swings.iter().any(|swing| swing.description.snug.is_some());
    let caption = if snug { "trace-caption-snug" } else { "trace-caption" };
    html! {
        tr.trace { td colspan="6" {
            figure role="img" aria-label=(words.say("trace", &[("when", &at)])) {
                (PreEscaped(svg))
                figcaption { (words.say(caption, &[("when", &at)])) }
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
