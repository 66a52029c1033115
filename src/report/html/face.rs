//! The top of the page (what stands out, what the job was) and its foot.

use super::{shape, text};
use crate::core::event::Ending;
use crate::core::units::TorqueUnit;
use crate::report::model::{
    AdapterReport, CertificateReport, CertificateStanding, OpenReport, Personal, RecheckReport,
    Report, WarningReport,
};
use crate::report::{number, words};
use maud::{Markup, html};

/// What is open, first and large; then what else needs a look.
pub(super) fn outcome(report: &Report) -> Markup {
    let outcome = &report.outcome;
    let counting: Vec<&WarningReport> =
        report.warnings.iter().filter(|warning| warning.counts).collect();
    html! {
        header.outcome.clear[outcome.complete] {
            p.kicker {
                "Job report " (report.job.number) ", " (text::name(&report.plan.name))
                @if report.job.closed.is_none() { ", job not closed yet" }
            }
            h1 { (outcome.headline) }
            @if !outcome.open.is_empty() {
                ul.open-list { @for open in &outcome.open { (open_item(open)) } }
            }
            (tally(report))
            @if !outcome.holds_not_confirmed.is_empty() {
                h2 { (words::count(outcome.holds_not_confirmed.len() as u64, "hold", "holds")) " not confirmed" }
                ul.plain {
                    @for hold in report.holds.iter().filter(|hold| !hold.confirmed) {
                        li { strong { (text::name(&hold.name)) } ": " (text::full(&hold.text)) }
                    }
                }
            }
            @if !report.rechecks.is_empty() {
                h2 { "To be pulled again" }
                ul.plain { @for recheck in &report.rechecks { (recheck_item(recheck)) } }
            }
            @if !counting.is_empty() {
                h2 { (words::count(counting.len() as u64, "warning still counts", "warnings still count")) }
                ul.plain { @for warning in counting { (warning_item(warning)) } }
            }
        }
    }
}

fn open_item(open: &OpenReport) -> Markup {
    html! {
        li {
            (shape::icon(Ending::Open))
            div {
                strong.what { (text::name(&open.fastener)) }
                @if let Some(title) = &open.title { " " span.title { (text::name(title)) } }
                p {
                    @if open.life_critical { strong { "Life-critical" } ": do not move the vehicle. " }
                    (sentence(&open.because))
                }
            }
        }
    }
}

fn sentence(parts: &[String]) -> Markup {
    let joined = parts.join("; ");
    let mut letters = joined.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    html! { (first) (letters.as_str()) "." }
}

fn recheck_item(recheck: &RecheckReport) -> Markup {
    html! {
        li {
            span.mark { "↻ " }
            strong { (text::name(&recheck.group)) } ": " (words::recheck(recheck)) "."
        }
    }
}

fn warning_item(warning: &WarningReport) -> Markup {
    html! {
        li {
            span.mark { "△ " }
            @if let Some(fastener) = &warning.fastener { strong { (text::name(fastener)) } ": " }
            (words::warning(warning.code)) ". " (text::full(&warning.text))
        }
    }
}

/// How many ended how; only endings that occur.
fn tally(report: &Report) -> Markup {
    let outcome = &report.outcome;
    let counts = [
        (Ending::Shown, outcome.shown),
        (Ending::Counted, outcome.counted),
        (Ending::Stated, outcome.stated),
        (Ending::Open, outcome.open.len()),
    ];
    html! {
        p.tally {
            @for (ending, count) in counts.into_iter().filter(|(_, count)| *count > 0) {
                span { (count) " " (shape::badge(ending)) } " "
            }
        }
    }
}

/// Vehicle, plan, times, adapters.
pub(super) fn job(report: &Report) -> Markup {
    let job = &report.job;
    html! {
        section.facts {
            h2 { "The job" }
            dl {
                (pair("Vehicle", "stated", text::personal(&report.vehicle.text)))
                (pair("VIN", "stated", text::personal(&report.vehicle.vin)))
                (pair("Operator", "stated", text::personal(&job.operator)))
                (pair("Plan", "", html! { (text::full(&report.plan.name)) }))
                (pair("Plan file", "", html! { "SHA-256 " code { (text::full(&report.plan.sha256)) } }))
                (pair("Started", "", html! { time datetime=(job.started.local) { (job.started.short) } }))
                @match &job.closed {
                    Some(closed) => (pair("Closed", "", html! {
                        time datetime=(closed.local) { (closed.short) }
                        @match &job.open_reason {
                            Personal::NotGiven => {}
                            reason => { ", with something open: " (text::personal(reason)) }
                        }
                    })),
                    None => (pair("Closed", "", html! { span.none { "not yet" } })),
                }
                @for pause in &report.pauses {
                    (pair("Parked", "", html! {
                        time datetime=(pause.from.local) { (pause.from.short) }
                        @match &pause.until {
                            Some(until) => { " to " time datetime=(until.local) { (until.short) } }
                            None => ", not resumed",
                        }
                        @if !pause.open.is_empty() { ", open: " (text::full(&pause.open.join(", "))) }
                    }))
                }
                @if let Some(of) = &job.recheck_of {
                    (pair("Pulls again", "", html! { "what job " (of.number) " tightened, " code { (text::full(&of.uuid)) } }))
                }
                (pair("Times", "", html! { "local, " (offset(&job.started.local)) }))
                (pair("Job", "", html! { (job.number) ", " code { (text::full(&job.uuid)) } }))
            }
            @if report.adapters.is_empty() {
                p { "No adapter took part." }
            } @else {
                table.adapters {
                    caption { "Adapters" }
                    thead { tr {
                        th scope="col" { "Adapter" } th scope="col" { "Serial" } th scope="col" { "Range" }
                        th scope="col" { "Accuracy" } th scope="col" { "Certificate" }
                        th scope="col" { "It tells" } th scope="col" { "Readings" }
                    } }
                    tbody { @for adapter in &report.adapters { (adapter_row(adapter)) } }
                }
            }
        }
    }
}

fn adapter_row(adapter: &AdapterReport) -> Markup {
    let tells = [
        (adapter.reports.peak, "peak"),
        (adapter.reports.rotation, "rotation"),
        (adapter.reports.trace, "trace"),
        (adapter.reports.motion, "motion"),
        (adapter.reports.button, "button"),
    ];
    let tells: Vec<&str> =
        tells.into_iter().filter(|(told, _)| *told).map(|(_, word)| word).collect();
    let range = adapter.range_nm.map(|[low, high]| {
        let (low, high) = (number::nearest(low, 1), number::nearest(high, 1));
        format!("{low} to {high} {}", TorqueUnit::NewtonMetre)
    });
    let accuracy =
        adapter.accuracy_pct.map(|share| format!("±{} % of reading", number::nearest(share, 2)));
    html! {
        tr {
            th scope="row" {
                (text::name(&adapter.id))
                @if let Some(drive) = &adapter.drive { ", drive " (text::name(drive)) }
            }
            td data-label="Serial" { (text::full(&adapter.serial)) }
            td data-label="Range" { (text::or_none(range.as_deref(), "not on record")) }
            td data-label="Accuracy" { (text::or_none(accuracy.as_deref(), "not on record")) }
            td data-label="Certificate" { (certificate(adapter.certificate.as_ref())) }
            td data-label="It tells" { (tells.join(", ")) }
            td data-label="Readings" {
                (adapter.readings)
                @if adapter.numbers_readings == Some(false) { ", not numbered by it" }
            }
        }
    }
}

fn certificate(certificate: Option<&CertificateReport>) -> Markup {
    html! {
        @match certificate {
            None => span.none { "not on record" },
            Some(certificate) => {
                (text::full(&certificate.number)) ", " (text::full(&certificate.laboratory)) ", "
                (certificate.date) ", due " (certificate.due)
                @if certificate.standing != CertificateStanding::Valid {
                    " " strong.alarm { (words::standing(certificate.standing)) }
                }
                span.detail { " method: " (text::full(&certificate.method)) }
            }
        }
    }
}

/// What the operator was asked to confirm.
pub(super) fn holds(report: &Report) -> Markup {
    html! {
        @if !report.holds.is_empty() {
            section {
                h2 { "Holds " (kind("stated")) }
                table {
                    thead { tr {
                        th scope="col" { "Hold" } th scope="col" { "Condition" }
                        th scope="col" { "Confirmed" } th scope="col" { "If too early" }
                    } }
                    tbody {
                        @for hold in &report.holds {
                            tr {
                                th scope="row" { (text::name(&hold.name)) }
                                td data-label="Condition" { (text::full(&hold.text)) }
                                td data-label="Confirmed" {
                                    @if hold.confirmed { "✓ confirmed" } @else { strong.alarm { "◇ not confirmed" } }
                                    @if let Some(at) = &hold.confirmed_at { " " (at.short) }
                                    @if let Some(origin) = hold.origin { ", " (words::origin(origin)) }
                                }
                                td data-label="If too early" { (hold.cure.map_or("–", words::cure)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Where the record itself can be checked.
pub(super) fn chain(report: &Report) -> Markup {
    html! {
        footer {
            p {
                "Made " time datetime=(report.printed_at.local) { (report.printed_at.short) }
                " by Clampbook " (text::name(&report.software_version)) "."
            }
            p {
                "The journal then held " (words::count(report.chain.length, "entry", "entries"))
                ", chained by their hashes. While the last of them still has the hash "
                code { (report.chain.head) } ", nothing before it was changed."
            }
        }
    }
}

/// Tags facts as *measured*, *inferred* or *stated*.
pub(super) fn kind(kind: &str) -> Markup {
    html! { em.kind { (kind) } }
}

pub(super) fn pair(term: &str, known: &str, value: Markup) -> Markup {
    html! {
        div {
            dt { (term) @if !known.is_empty() { " " (kind(known)) } }
            dd { (value) }
        }
    }
}

/// The offset from UTC at the end of an RFC 3339 time.
fn offset(local: &str) -> String {
    match local.get(local.len().saturating_sub(6)..) {
        Some(offset) if offset.starts_with(['+', '-']) => format!("UTC{offset}"),
        _ => "UTC".to_owned(),
    }
}
