//! Everything that is not bound to one step.

use super::face::kind;
use super::{shape, step, text};
use crate::core::event::Ending;
use crate::core::units::TorqueUnit;
use crate::report::model::{MarkReport, Pull, Report};
use crate::report::{number, words};
use maud::{Markup, html};

/// What the words and shapes mean.
pub(super) fn legend(report: &Report) -> Markup {
    let endings = [
        (Ending::Shown, "brought to its window, and likely enough to be this very one"),
        (Ending::Counted, "its group has as many good pulls as fasteners"),
        (Ending::Stated, "the operator said or typed so; nothing was measured"),
        (Ending::Open, "none of these"),
    ];
    html! {
        section.legend {
            h2 { "How to read this" }
            ul.plain {
                @for (ending, meaning) in endings { li { (shape::badge(ending)) ": " (meaning) "." } }
            }
            p {
                (kind("measured")) " comes from an adapter. " (kind("inferred")) " is what the program concluded. "
                (kind("stated")) " is what a person said, and nothing more."
            }
            p { (report.decision_rule) }
        }
    }
}

/// Pulls that belong to no fastener, and facts that belong to no job.
pub(super) fn unassigned(report: &Report) -> Markup {
    html! {
        @if !report.unassigned.is_empty() {
            section {
                h2 { "Pulls that belong to no fastener" }
                table {
                    thead { tr {
                        th scope="col" { "Time " (kind("measured")) } th scope="col" { "Peak " (kind("measured")) }
                        th scope="col" { "Pull " (kind("inferred")) } th scope="col" { "Basis" }
                    } }
                    tbody { @for pull in &report.unassigned { (unassigned_row(pull)) } }
                }
            }
        }
        @if !report.loose.is_empty() {
            section {
                h2 { "Recorded meanwhile, without a job" }
                ul.plain {
                    @for fact in &report.loose { li { (fact.at.short) ": " (text::full(&fact.text)) } }
                }
            }
        }
    }
}

fn unassigned_row(pull: &Pull) -> Markup {
    html! {
        tr {
            td data-label="Time" { (step::when(pull)) }
            td data-label="Peak" { (number::peak(pull.measured.peak_nm, TorqueUnit::NewtonMetre, None)) }
            @match pull.stands() {
                Some(verdict) => {
                    td data-label="Pull" {
                        (words::act(verdict.act))
                        @if verdict.revised { " " strong { "(revised)" } }
                    }
                    td data-label="Basis" { (words::bases(&verdict.basis)) }
                }
                None => { td.none colspan="2" { "nothing concluded" } }
            }
        }
    }
}

/// What the operator said, with how it was said.
pub(super) fn operator_said(report: &Report) -> Markup {
    html! {
        section {
            h2 { "What the operator said " (kind("stated")) }
            @if report.operator_said.is_empty() { p.none { "Nothing." } }
            @else {
                table {
                    thead { tr {
                        th scope="col" { "Time" } th scope="col" { "Said" } th scope="col" { "About" }
                        th scope="col" { "How" }
                    } }
                    tbody { @for mark in &report.operator_said { (mark_row(mark)) } }
                }
            }
        }
    }
}

fn mark_row(mark: &MarkReport) -> Markup {
    html! {
        tr {
            td data-label="Time" { time datetime=(mark.at.local) { (mark.at.short) } }
            td data-label="Said" {
                (words::said(mark))
                @if matches!(mark.say, "note" | "skip" | "figure") { ": " (text::personal(&mark.text)) }
            }
            td data-label="About" { (text::or_none(mark.fastener.as_deref().or(mark.hold.as_deref()), "nothing named")) }
            td data-label="How" { (words::origin(mark.origin)) }
        }
    }
}

/// What was said first and is not right.
pub(super) fn corrections(report: &Report) -> Markup {
    html! {
        @if !report.corrections.is_empty() {
            section {
                h2 { "Corrected later " (kind("stated")) }
                ul.plain {
                    @for correction in &report.corrections {
                        li {
                            (correction.at.short) ", about entry " (correction.corrects) ", "
                            (correction.field) ": " (text::personal(&correction.text))
                            @if let Some(before) = &correction.before {
                                " (before: " (text::personal(before)) ")"
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Every warning, oldest first.
pub(super) fn warnings(report: &Report) -> Markup {
    html! {
        section {
            h2 { "Warnings " (kind("inferred")) }
            @if report.warnings.is_empty() { p.none { "None." } }
            @else {
                table {
                    thead { tr {
                        th scope="col" { "Time" } th scope="col" { "Kind" } th scope="col" { "Fastener" }
                        th scope="col" { "What was said" } th scope="col" { "Now" }
                    } }
                    tbody {
                        @for warning in &report.warnings {
                            tr {
                                td data-label="Time" { time datetime=(warning.at.local) { (warning.at.short) } }
                                td data-label="Kind" { span.mark { "△ " } (words::warning(warning.code)) }
                                td data-label="Fastener" { (text::or_none(warning.fastener.as_deref(), "none")) }
                                td data-label="What was said" { (text::full(&warning.text)) }
                                td data-label="Now" {
                                    @if warning.counts { strong { "still counts" } } @else { "for the record" }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Times without a link, and what was lost for good.
pub(super) fn link(report: &Report) -> Markup {
    html! {
        @if !report.link_breaks.is_empty() || !report.gaps.is_empty() {
            section {
                h2 { "The link" }
                ul.plain {
                    @for spell in &report.link_breaks {
                        li {
                            (text::name(&spell.adapter)) " " (words::link(spell.state)) " from " (spell.from.short)
                            @match (&spell.until, spell.seconds) {
                                (Some(until), Some(seconds)) => {
                                    " to " (until.short) " (" (number::duration(seconds)) ")"
                                }
                                _ => ", not back since",
                            }
                            "."
                        }
                    }
                    @for gap in &report.gaps {
                        li {
                            strong { "Missing for good" } ": "
                            @if gap.first == gap.last { "reading " (gap.first) }
                            @else { "readings " (gap.first) " to " (gap.last) }
                            " of " (text::name(&gap.adapter)) ", found " (gap.at.short) "."
                        }
                    }
                }
            }
        }
    }
}

/// What could not be known.
pub(super) fn not_known(report: &Report) -> Markup {
    html! {
        @if !report.not_known.is_empty() {
            section {
                h2 { "What could not be known" }
                ul { @for sentence in &report.not_known { li { (text::full(sentence)) } } }
            }
        }
    }
}

/// What to bear in mind.
pub(super) fn cautions(report: &Report) -> Markup {
    html! {
        section.cautions {
            h2 { "Bear in mind" }
            ul { @for caution in &report.cautions { li { (caution) } } }
        }
    }
}
