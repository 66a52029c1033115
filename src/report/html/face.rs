//! The top of the page (what stands out, what the job was) and its foot.

use super::text::phrase;
use super::{shape, text};
use crate::core::event::Ending;
use crate::core::units::TorqueUnit;
use crate::report::model::{
    AdapterReport, CertificateReport, CertificateStanding, HoldReport, OpenReport, Pause, Personal,
    RecheckReport, Report, WarningReport,
};
use crate::report::moment::Moment;
use crate::report::visible::visible;
use crate::report::words::{Saying, Words};
use maud::{Markup, html};

/// What is open, first and large; then what else needs a look.
pub(super) fn outcome(words: Words, report: &Report) -> Markup {
    let outcome = &report.outcome;
    let counting: Vec<&WarningReport> =
        report.warnings.iter().filter(|warning| warning.counts).collect();
    let name = if report.job.closed.is_none() { "report-not-closed" } else { "report" };
    let holds = outcome.holds_not_confirmed.len() as u64;
    html! {
        header.outcome.clear[outcome.complete] {
            p.kicker {
                (phrase(words, name, &[
                    ("job", html! { (report.job.number) }),
                    ("plan", text::name(&report.plan.name)),
                ]))
            }
            h1 { (words.saying(&outcome.headline)) }
            @if !outcome.open.is_empty() {
                ul.open-list { @for open in &outcome.open { (open_item(words, open)) } }
            }
            (tally(words, report))
            @if holds > 0 {
                h2 { (words.count(holds, "hold-one", "hold-many")) }
                ul.plain {
                    @for hold in report.holds.iter().filter(|hold| !hold.confirmed) {
                        li { (named(words, strong(&hold.name), asked(words, hold))) }
                    }
                }
            }
            @if !report.rechecks.is_empty() {
                h2 { (words.word("pull-again")) }
                ul.plain { @for recheck in &report.rechecks { (recheck_item(words, recheck)) } }
            }
            @if !counting.is_empty() {
                h2 { (words.count(counting.len() as u64, "counting-one", "counting-many")) }
                ul.plain { @for warning in counting { (warning_item(words, warning)) } }
            }
        }
    }
}

fn open_item(words: Words, open: &OpenReport) -> Markup {
    let critical = html! { strong { (words.word("life-critical")) } };
    html! {
        li {
            (shape::icon(Ending::Open))
            div {
                strong.what { (text::name(&open.fastener)) }
                @if let Some(title) = &open.title { " " span.title { (text::name(title)) } }
                p {
                    @if open.do_not_move { (phrase(words, "critical", &[("critical", critical)])) " " }
                    (sentence(words, &open.because))
                }
            }
        }
    }
}

fn sentence(words: Words, parts: &[Saying]) -> Markup {
    let joined = visible(&words.joined(parts.iter().map(|part| words.saying(part))));
    let mut letters = joined.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    html! { (first) (letters.as_str()) "." }
}

fn recheck_item(words: Words, recheck: &RecheckReport) -> Markup {
    let when = html! { (words.recheck(recheck)) "." };
    html! { li { span.mark { "↻ " } (named(words, strong(&recheck.group), when)) } }
}

fn warning_item(words: Words, warning: &WarningReport) -> Markup {
    let said = html! { (words.warning(warning.code)) ". " (text::quoted(words, &warning.text)) };
    html! {
        li {
            span.mark { "△ " }
            @match &warning.fastener {
                Some(fastener) => (named(words, strong(fastener), said)),
                None => (said),
            }
        }
    }
}

/// What was asked, in whose words it was.
fn asked(words: Words, hold: &HoldReport) -> Markup {
    match hold.in_english {
        true => text::quoted(words, &hold.text),
        false => text::full(&hold.text),
    }
}

fn strong(name: &str) -> Markup {
    html! { strong { (text::name(name)) } }
}

/// `what: that`, with the colon as the language sets it.
pub(super) fn named(words: Words, what: Markup, that: Markup) -> Markup {
    phrase(words, "pair", &[("term", what), ("value", that)])
}

/// How many ended how; only endings that occur.
fn tally(words: Words, report: &Report) -> Markup {
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
                span { (count) " " (shape::badge(words, ending)) } " "
            }
        }
    }
}

/// Vehicle, plan, times, adapters.
pub(super) fn job(words: Words, report: &Report) -> Markup {
    let job = &report.job;
    html! {
        section.facts {
            h2 { (words.word("the-job")) }
            dl {
                (told(words, "vehicle", &report.vehicle.text))
                (told(words, "vin", &report.vehicle.vin))
                (told(words, "plate", &report.vehicle.plate))
                (told(words, "operator", &job.operator))
                (pair(words, "plan", text::full(&report.plan.name)))
                (pair(words, "plan-file", html! { "SHA-256 " code { (text::full(&report.plan.sha256)) } }))
                (pair(words, "started", moment(&job.started)))
                (pair(words, "closed", match &job.closed {
                    Some(closed) => left_open(words, moment(closed), &job.open_reason),
                    None => html! { span.none { (words.word("not-yet")) } },
                }))
                @for pause in &report.pauses { (pair(words, "parked", parked(words, pause))) }
                @if let Some(of) = &job.recheck_of {
                    (pair(words, "pulls-again", html! {
                        (words.say("what-job-tightened", &[("job", &of.number.to_string())]))
                        ", " code { (text::full(&of.uuid)) }
                    }))
                }
                (pair(words, "times", html! {
                    (words.say("local-time", &[("offset", &offset(&job.started.local))]))
                }))
                (pair(words, "job", html! { (job.number) ", " code { (text::full(&job.uuid)) } }))
            }
            @if report.adapters.is_empty() {
                p { (words.word("no-adapter")) }
            } @else {
                table.adapters {
                    caption { (words.word("adapters")) }
                    thead { tr {
                        @for column in
                            ["adapter", "serial", "range", "accuracy", "certificate", "it-tells", "readings"]
                        {
                            th scope="col" { (words.word(column)) }
                        }
                    } }
                    tbody { @for adapter in &report.adapters { (adapter_row(words, adapter)) } }
                }
            }
        }
    }
}

fn left_open(words: Words, when: Markup, reason: &Personal) -> Markup {
    match reason {
        Personal::NotGiven => when,
        reason => {
            let reason = text::personal(words, reason);
            phrase(words, "closed-open", &[("when", when), ("reason", reason)])
        }
    }
}

fn parked(words: Words, pause: &Pause) -> Markup {
    let from = moment(&pause.from);
    let span = match &pause.until {
        Some(until) => phrase(words, "from-to", &[("from", from), ("to", moment(until))]),
        None => phrase(words, "not-resumed", &[("from", from)]),
    };
    if pause.open.is_empty() {
        return span;
    }
    let names = text::full(&pause.open.join(", "));
    phrase(words, "parked-open", &[("span", span), ("names", names)])
}

fn adapter_row(words: Words, adapter: &AdapterReport) -> Markup {
    let tells = [
        (adapter.reports.peak, "tells-peak"),
        (adapter.reports.rotation, "tells-rotation"),
        (adapter.reports.trace, "tells-trace"),
        (adapter.reports.motion, "tells-motion"),
        (adapter.reports.button, "tells-button"),
    ];
    let tells: Vec<_> =
        tells.into_iter().filter(|(told, _)| *told).map(|(_, name)| words.word(name)).collect();
    let range = adapter.range_nm.map(|[low, high]| {
        let high = format!("{} {}", words.number(high, 1), TorqueUnit::NewtonMetre);
        words.say("from-to", &[("from", &words.number(low, 1)), ("to", &high)])
    });
    let accuracy = adapter
        .accuracy_pct
        .map(|share| words.say("of-reading", &[("share", &words.number(share, 2))]));
    let drive = |drive| phrase(words, "drive", &[("drive", text::name(drive))]);
    html! {
        tr {
            th scope="row" {
                (text::name(&adapter.id))
                @if let Some(size) = &adapter.drive { ", " (drive(size)) }
            }
            (cell(words, "serial", text::full(&adapter.serial)))
            (cell(words, "range", text::or_none(words, range.as_deref(), "not-on-record")))
            (cell(words, "accuracy", text::or_none(words, accuracy.as_deref(), "not-on-record")))
            (cell(words, "certificate", certificate(words, adapter.certificate.as_ref())))
            (cell(words, "it-tells", html! { (tells.join(", ")) }))
            (cell(words, "readings", html! {
                (adapter.readings)
                @if adapter.numbers_readings == Some(false) { ", " (words.word("not-numbered")) }
            }))
        }
    }
}

fn certificate(words: Words, certificate: Option<&CertificateReport>) -> Markup {
    let Some(certificate) = certificate else {
        return html! { span.none { (words.word("not-on-record")) } };
    };
    let method = text::full(&certificate.method);
    html! {
        (phrase(words, "certificate-line", &[
            ("number", text::full(&certificate.number)),
            ("laboratory", text::full(&certificate.laboratory)),
            ("date", html! { (certificate.date) }),
            ("due", html! { (certificate.due) }),
        ]))
        @if certificate.standing != CertificateStanding::Valid {
            " " strong.alarm { (words.standing(certificate.standing)) }
        }
        span.detail { " " (phrase(words, "method", &[("method", method)])) }
        @for part in words.covered(certificate) { span.detail { " " (part) } }
    }
}

/// What the operator was asked to confirm.
pub(super) fn holds(words: Words, report: &Report) -> Markup {
    html! {
        @if !report.holds.is_empty() {
            section {
                h2 { (words.word("holds")) " " (kind(words, "stated")) }
                table {
                    thead { tr {
                        @for column in ["hold", "condition", "confirmed", "if-too-early"] {
                            th scope="col" { (words.word(column)) }
                        }
                    } }
                    tbody {
                        @for hold in &report.holds {
                            tr {
                                th scope="row" { (text::name(&hold.name)) }
                                (cell(words, "condition", asked(words, hold)))
                                (cell(words, "confirmed", html! {
                                    @if hold.confirmed { "✓ " (words.word("is-confirmed")) }
                                    @else { strong.alarm { "◇ " (words.word("not-confirmed")) } }
                                    @if let Some(at) = &hold.confirmed_at { " " (at.short) }
                                    @if let Some(origin) = hold.origin { ", " (words.origin(origin)) }
                                }))
                                (cell(words, "if-too-early", html! { (hold.cure.map_or("–".into(), |cure| words.cure(cure))) }))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Where the record itself can be checked.
pub(super) fn chain(words: Words, report: &Report, foot: &Markup) -> Markup {
    let entries = words.count(report.chain.length, "entry-one", "entry-many");
    html! {
        footer {
            p {
                (phrase(words, "made", &[
                    ("when", moment(&report.printed_at)),
                    ("version", text::name(&report.software_version)),
                ]))
            }
            p {
                (phrase(words, "chain", &[
                    ("entries", html! { (entries) }),
                    ("hash", html! { code { (report.chain.head) } }),
                ]))
            }
            (foot)
        }
    }
}

/// Tags facts as *measured*, *inferred* or *stated*.
pub(super) fn kind(words: Words, kind: &'static str) -> Markup {
    html! { em.kind { (words.word(kind)) } }
}

/// A cell that names its column where there is no room for a head.
pub(super) fn cell(words: Words, column: &'static str, value: Markup) -> Markup {
    html! { td data-label=(words.word(column)) { (value) } }
}

/// A moment, for people and for programs.
pub(super) fn moment(at: &Moment) -> Markup {
    html! { time datetime=(at.local) { (at.short) } }
}

pub(super) fn pair(words: Words, term: &'static str, value: Markup) -> Markup {
    html! { div { dt { (words.word(term)) } dd { (value) } } }
}

/// Something that only a person said.
fn told(words: Words, term: &'static str, text: &Personal) -> Markup {
    html! {
        div {
            dt { (words.word(term)) " " (kind(words, "stated")) }
            dd { (text::personal(words, text)) }
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
