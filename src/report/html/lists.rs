//! Everything that is not bound to one step.

use super::face::{cell, kind, moment, named};
use super::text::phrase;
use super::{shape, step, text};
use crate::core::event::Ending;
use crate::core::units::TorqueUnit;
use crate::report::model::{
    CorrectionReport, GapReport, LinkBreak, MarkReport, Pull, Report, WarningReport,
};
use crate::report::words::Words;
use maud::{Markup, html};

/// What the words and shapes mean.
pub(super) fn legend(words: Words, report: &Report) -> Markup {
    let endings = [
        (Ending::Shown, "meaning-shown"),
        (Ending::Counted, "meaning-counted"),
        (Ending::Stated, "meaning-stated"),
        (Ending::Open, "meaning-open"),
    ];
    let means = |ending, meaning| {
        let meaning = html! { (words.word(meaning)) "." };
        named(words, shape::badge(words, ending), meaning)
    };
    html! {
        section.legend {
            h2 { (words.word("how-to-read")) }
            ul.plain { @for (ending, meaning) in endings { li { (means(ending, meaning)) } } }
            p {
                (phrase(words, "kinds", &[
                    ("measured", kind(words, "measured")),
                    ("inferred", kind(words, "inferred")),
                    ("stated", kind(words, "stated")),
                ]))
            }
            p { (text::full(&words.saying(&report.decision_rule))) }
        }
    }
}

/// Pulls that belong to no fastener, and facts that belong to no job.
pub(super) fn unassigned(words: Words, report: &Report) -> Markup {
    html! {
        @if !report.unassigned.is_empty() {
            section {
                h2 { (words.word("no-fastener")) }
                table {
                    thead { tr {
                        th scope="col" { (words.word("time")) " " (kind(words, "measured")) }
                        th scope="col" { (words.word("peak")) " " (kind(words, "measured")) }
                        th scope="col" { (words.word("pull")) " " (kind(words, "inferred")) }
                        th scope="col" { (words.word("basis")) }
                    } }
                    tbody { @for pull in &report.unassigned { (unassigned_row(words, pull)) } }
                }
            }
        }
        @if !report.loose.is_empty() {
            section {
                h2 { (words.word("without-a-job")) }
                ul.plain {
                    @for fact in &report.loose {
                        li { (named(words, html! { (fact.at.short) }, text::full(&words.saying(&fact.text)))) }
                    }
                }
            }
        }
    }
}

fn unassigned_row(words: Words, pull: &Pull) -> Markup {
    let peak = words.peak(pull.measured.peak_nm, TorqueUnit::NewtonMetre, None);
    html! {
        tr {
            (cell(words, "time", step::when(words, pull)))
            (cell(words, "peak", html! { (peak) }))
            @match pull.stands() {
                Some(verdict) => {
                    (cell(words, "pull", step::act(words, verdict)))
                    (cell(words, "basis", html! { (words.bases(&verdict.basis)) }))
                }
                None => { td.none colspan="2" { (words.word("nothing-concluded")) } }
            }
        }
    }
}

/// What the operator said, with how it was said.
pub(super) fn operator_said(words: Words, report: &Report) -> Markup {
    html! {
        section {
            h2 { (words.word("operator-said")) " " (kind(words, "stated")) }
            @if report.operator_said.is_empty() { p.none { (words.word("nothing-said")) } }
            @else {
                table {
                    thead { tr {
                        @for column in ["time", "said", "about", "how"] {
                            th scope="col" { (words.word(column)) }
                        }
                    } }
                    tbody { @for mark in &report.operator_said { (mark_row(words, mark)) } }
                }
            }
        }
    }
}

fn mark_row(words: Words, mark: &MarkReport) -> Markup {
    let about = mark.fastener.as_deref().or(mark.hold.as_deref());
    let said = html! { (words.said(mark)) };
    let said = match mark.say {
        "note" | "skip" | "figure" | "value" => {
            named(words, said, text::personal(words, &mark.text))
        }
        _ => said,
    };
    html! {
        tr {
            (cell(words, "time", moment(&mark.at)))
            (cell(words, "said", said))
            (cell(words, "about", text::or_none(words, about, "nothing-named")))
            (cell(words, "how", text::full(&words.means(mark))))
        }
    }
}

/// What was said first and is not right.
pub(super) fn corrections(words: Words, report: &Report) -> Markup {
    html! {
        @if !report.corrections.is_empty() {
            section {
                h2 { (words.word("corrected")) " " (kind(words, "stated")) }
                ul.plain {
                    @for correction in &report.corrections { li { (corrected(words, correction)) } }
                }
            }
        }
    }
}

fn corrected(words: Words, correction: &CorrectionReport) -> Markup {
    html! {
        (phrase(words, "correction", &[
            ("when", html! { (correction.at.short) }),
            ("entry", html! { (correction.corrects) }),
            ("field", html! { (words.field(correction.field)) }),
            ("text", text::personal(words, &correction.text)),
        ]))
        @if let Some(before) = &correction.before {
            " " (phrase(words, "before", &[("text", text::personal(words, before))]))
        }
    }
}

/// Every warning, oldest first.
pub(super) fn warnings(words: Words, report: &Report) -> Markup {
    html! {
        section {
            h2 { (words.word("warnings")) " " (kind(words, "inferred")) }
            @if report.warnings.is_empty() { p.none { (words.word("no-warning")) } }
            @else {
                table {
                    thead { tr {
                        @for column in ["time", "kind", "fastener", "what-was-said", "now"] {
                            th scope="col" { (words.word(column)) }
                        }
                    } }
                    tbody { @for warning in &report.warnings { (warning_row(words, warning)) } }
                }
            }
        }
    }
}

fn warning_row(words: Words, warning: &WarningReport) -> Markup {
    html! {
        tr {
            (cell(words, "time", moment(&warning.at)))
            (cell(words, "kind", html! { span.mark { "△ " } (words.warning(warning.code)) }))
            (cell(words, "fastener", text::or_none(words, warning.fastener.as_deref(), "none-named")))
            (cell(words, "what-was-said", text::quoted(words, &warning.text)))
            (cell(words, "now", html! {
                @if warning.counts { strong { (words.word("still-counting")) } }
                @else if let Some(put_right) = words.put_right(warning) { (text::full(&put_right)) }
                @else { (words.word("for-the-record")) }
            }))
        }
    }
}

/// Times without a link, and what was lost for good.
pub(super) fn link(words: Words, report: &Report) -> Markup {
    html! {
        @if !report.link_breaks.is_empty() || !report.gaps.is_empty() {
            section {
                h2 { (words.word("link")) }
                ul.plain {
                    @for spell in &report.link_breaks { li { (link_break(words, spell)) } }
                    @for gap in &report.gaps { li { (lost(words, gap)) } }
                }
            }
        }
    }
}

fn link_break(words: Words, spell: &LinkBreak) -> Markup {
    let adapter = ("adapter", text::name(&spell.adapter));
    let state = ("state", html! { (words.link(spell.state)) });
    let from = ("from", html! { (spell.from.short) });
    match (&spell.until, spell.seconds) {
        (Some(until), Some(seconds)) => {
            let to = ("to", html! { (until.short) });
            let span = ("span", html! { (words.duration(seconds)) });
            phrase(words, "link-break", &[adapter, state, from, to, span])
        }
        _ => phrase(words, "link-break-lasts", &[adapter, state, from]),
    }
}

fn lost(words: Words, gap: &GapReport) -> Markup {
    let missing = ("missing", html! { strong { (words.word("missing")) } });
    let adapter = ("adapter", text::name(&gap.adapter));
    let when = ("when", html! { (gap.at.short) });
    if gap.first == gap.last {
        let number = ("number", html! { (gap.first) });
        return phrase(words, "missing-one", &[missing, number, adapter, when]);
    }
    let (first, last) = (("first", html! { (gap.first) }), ("last", html! { (gap.last) }));
    phrase(words, "missing-many", &[missing, first, last, adapter, when])
}

/// What could not be known.
pub(super) fn not_known(words: Words, report: &Report) -> Markup {
    html! {
        @if !report.not_known.is_empty() {
            section {
                h2 { (words.word("not-known")) }
                ul { @for sentence in &report.not_known { li { (text::full(&words.saying(sentence))) } } }
            }
        }
    }
}

/// What to bear in mind.
pub(super) fn cautions(words: Words, report: &Report) -> Markup {
    html! {
        section.cautions {
            h2 { (words.word("bear-in-mind")) }
            ul { @for caution in &report.cautions { li { (text::full(&words.saying(caution))) } } }
        }
    }
}
