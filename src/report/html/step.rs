//! One step: what was asked for, and every fastener with every pull.

use super::face::{cell, kind, moment, named, pair};
use super::text::phrase;
use super::{ring, shape, text, trace};
use crate::core::event::TorqueVerdict;
use crate::core::plan::{Identity, Pattern};
use crate::report::Extent;
use crate::report::model::{
    Certified, FastenerReport, Inferred, MarkReport, PassReport, Pull, Report, StepReport,
    WarningReport, Withdrawn,
};
use crate::report::words::Words;
use maud::{Markup, html};
use std::borrow::Cow;

/// The step at `index`.
pub(super) fn section(
    words: Words,
    report: &Report,
    index: usize,
    step: &StepReport,
    extent: Extent,
) -> Markup {
    html! {
        section.step {
            h2 {
                span.index { (index + 1) } " "
                (text::full(step.title.as_deref().unwrap_or(&step.group)))
                @if step.title.is_some() { " " span.group { (text::full(&step.group)) } }
            }
            @if step.life_critical { p.critical { (words.word("critical-joint")) } }
            (passes(words, step))
            dl {
                (asked(words, step))
            }
            @for note in &step.notes { p.note { (text::full(note)) } }
            @if let Some(position) = &step.position { p.position { (text::full(&words.saying(position))) } }
            @if step.pattern == Pattern::Ring { (ring::drawing(words, step)) }
            @match extent {
                Extent::Full => (fasteners(words, report, step)),
                Extent::Customer => (endings(words, step)),
            }
        }
    }
}

fn passes(words: Words, step: &StepReport) -> Markup {
    html! {
        table.passes {
            colgroup { col.c-pass; col.c-target; col.c-span; col.c-order; col; }
            thead { tr {
                @for column in ["pass", "target", "window", "order", "holds"] {
                    th scope="col" { (words.word(column)) }
                }
            } }
            tbody { @for pass in &step.passes { (pass_row(words, step, pass)) } }
        }
    }
}

fn pass_row(words: Words, step: &StepReport, pass: &PassReport) -> Markup {
    let holds: Vec<&String> = step.holds.iter().chain(&pass.holds).collect();
    let order: Vec<String> = pass.order.iter().map(u16::to_string).collect();
    html! {
        tr {
            th scope="row" {
                (pass.number)
                @if pass.named { " " (text::name(&pass.name)) }
                @if pass.check { " (" (words.word("check-round")) ")" }
            }
            @match &pass.window {
                Some(window) => {
                    td.target data-label=(words.word("target")) { (text::torque(&words.target(&window.window))) }
                    (cell(words, "window", text::torque(&words.window(&window.window))))
                }
                None => {
                    (cell(words, "target", html! { (words.expectation(pass.expect)) }))
                    (cell(words, "window", html! { (words.word("no-window")) }))
                }
            }
            (cell(words, "order", html! {
                @if step.fasteners.len() == 1 { (words.word("one-alone")) }
                @else if pass.ordered { (order.join("-")) }
                @else { (words.word("any-order")) }
            }))
            (cell(words, "holds", html! {
                @if holds.is_empty() { (words.word("no-hold")) }
                @for (place, hold) in holds.iter().enumerate() {
                    @if place > 0 { ", " }
                    (text::name(hold))
                }
            }))
        }
    }
}

fn asked(words: Words, step: &StepReport) -> Markup {
    let plain =
        [("socket", &step.socket), ("thread", &step.thread), ("thread-condition", &step.condition)];
    let mut rules = vec![words.pattern(step.pattern)];
    if step.pattern == Pattern::Line && step.passes.iter().any(|pass| pass.ordered) {
        rules.push(words.word("row-order"));
    }
    if step.turned_to_reach {
        rules.push(words.word("turned-to-reach"));
    }
    if step.no_recheck {
        rules.push(words.word("no-recheck"));
    }
    if step.left_hand {
        rules.push(words.word("left-hand"));
    }
    if step.identity == Identity::Shown {
        rules.push(words.word("each-shown"));
    }
    html! {
        (pair(words, "source", text::or_none(words, step.source.as_deref(), "not-given")))
        @for (term, value) in plain {
            @if let Some(value) = value { (pair(words, term, text::full(value))) }
        }
        (pair(words, "layout", html! { (words.joined(rules.into_iter().map(Cow::into_owned))) }))
        @if !step.after.is_empty() {
            (pair(words, "after", html! {
                @for (place, group) in step.after.iter().enumerate() {
                    @if place > 0 { ", " }
                    (text::name(group))
                }
            }))
        }
    }
}

/// How each fastener ended, and its last pull.
fn endings(words: Words, step: &StepReport) -> Markup {
    html! {
        table {
            thead { tr {
                @for column in ["fastener", "ended", "last", "window"] {
                    th scope="col" { (words.word(column)) }
                }
            } }
            tbody {
                @for fastener in &step.fasteners {
                    tr {
                        th scope="row" { (text::name(&fastener.name)) }
                        (cell(words, "ended", shape::badge(words, fastener.ending)))
                        @match fastener.last_pull() {
                            Some((pull, verdict)) => {
                                (cell(words, "last", last(words, step, pull, verdict)))
                                (cell(words, "window", against(words, step, verdict)))
                            }
                            None => { td.none colspan="2" { (words.word("no-pull-on-record")) } }
                        }
                    }
                }
            }
        }
    }
}

fn last(words: Words, step: &StepReport, pull: &Pull, verdict: &Inferred) -> Markup {
    let known = if pull.measured.typed { "stated" } else { "measured" };
    let peak = words.peak(pull.measured.peak_nm, step.unit(), step.window(verdict.pass));
    html! { (text::torque(&peak)) " " (kind(words, known)) }
}

fn fasteners(words: Words, report: &Report, step: &StepReport) -> Markup {
    html! {
        table.pulls {
            colgroup {
                col.c-time; col.c-peak; col.c-window; col.c-pull; col.c-sure; col;
            }
            thead {
                tr.kinds {
                    th colspan="2" { (kind(words, "measured")) }
                    th colspan="4" { (kind(words, "inferred")) }
                }
                tr {
                    @for column in ["time", "peak", "window", "pull", "how-sure", "basis"] {
                        th scope="col" { (words.word(column)) }
                    }
                }
            }
            @for fastener in &step.fasteners { (fastener_rows(words, report, step, fastener)) }
        }
    }
}

fn fastener_rows(
    words: Words,
    report: &Report,
    step: &StepReport,
    fastener: &FastenerReport,
) -> Markup {
    let said = report.operator_said.iter();
    let said = said.filter(|mark| mark.fastener.as_ref() == Some(&fastener.name));
    let warnings = report.warnings.iter();
    let warnings = warnings.filter(|warning| warning.fastener.as_ref() == Some(&fastener.name));
    html! {
        tbody {
            tr.fastener {
                th colspan="6" scope="rowgroup" {
                    (text::name(&fastener.name)) " " (shape::badge(words, fastener.ending))
                    @if let Some(sure) = fastener.probability {
                        span.detail { " " (words.say("brought", &[("share", &words.confidence(sure))])) }
                    }
                }
            }
            @if fastener.pulls.is_empty() {
                tr { td.none colspan="6" { (words.word("no-pull-on-record")) } }
            }
            @for pull in &fastener.pulls { (pull_rows(words, step, pull)) }
            (trace::rows(words, step, &fastener.pulls))
            @for gone in &fastener.withdrawn { (aside(withdrawn(words, gone))) }
            @for mark in said { (aside(marked(words, mark))) }
            @for warning in warnings { (aside(warned(words, warning))) }
        }
    }
}

fn aside(text: Markup) -> Markup {
    html! { tr.aside { td colspan="6" { (text) } } }
}

fn marked(words: Words, mark: &MarkReport) -> Markup {
    let when = html! { (kind(words, "stated")) " " (mark.at.short) };
    let said = html! { (words.said(mark)) };
    let said = match mark.say {
        "skip" => named(words, said, text::personal(words, &mark.text)),
        _ => said,
    };
    named(words, when, said)
}

fn warned(words: Words, warning: &WarningReport) -> Markup {
    let when = html! { span.mark { "△ " } (warning.at.short) };
    let said = html! {
        (words.warning(warning.code))
        @if warning.counts { " " strong { "(" (words.word("still-counting")) ")" } }
    };
    named(words, when, said)
}

fn pull_rows(words: Words, step: &StepReport, pull: &Pull) -> Markup {
    let earlier = pull.inferred.split_last().map_or(&[][..], |(_, earlier)| earlier);
    html! {
        (pull_row(words, step, pull))
        @for verdict in earlier { (aside(replaced(words, step, verdict))) }
    }
}

/// A pull with the conclusion that stands.
fn pull_row(words: Words, step: &StepReport, pull: &Pull) -> Markup {
    let stands = pull.stands();
    html! {
        tr {
            (cell(words, "time", when(words, pull)))
            (cell(words, "peak", peak(words, step, pull)))
            @match stands {
                Some(verdict) => {
                    (cell(words, "window", against(words, step, verdict)))
                    (cell(words, "pull", act(words, verdict)))
                    (cell(words, "how-sure", html! { (words.confidence(verdict.confidence)) }))
                    (cell(words, "basis", html! { (words.bases(&verdict.basis)) }))
                }
                None => { td.none colspan="4" { (words.word("nothing-concluded")) } }
            }
        }
    }
}

fn peak(words: Words, step: &StepReport, pull: &Pull) -> Markup {
    let stands = pull.stands();
    let window = stands.and_then(|verdict| step.window(verdict.pass));
    let turned = pull.measured.rotation_deg.map(|turned| {
        let angle = format!("{}°", words.number(turned, 1));
        words.say("turned", &[("angle", &angle)])
    });
    let interval = stands.and_then(|verdict| verdict.interval_nm).map(|(low, high)| {
        let span = text::torque(&words.span(low, high, step.unit()));
        phrase(words, "interval", &[("span", span)])
    });
    html! {
        (text::torque(&words.peak(pull.measured.peak_nm, step.unit(), window)))
        @if let Some(turned) = turned { span.detail { " " (turned) } }
        @if let Some(interval) = interval { span.detail { " " (interval) } }
        @if let Some(certified) = pull.certified { (certificate(words, certified)) }
        @if let Some(moved) = pull.zero_moved_nm {
            span.detail { " " strong { (words.say("zero-moved", &[("moved", &words.signed(moved, 1))])) } }
        }
    }
}

/// What the pull was; whether that was found out later.
pub(super) fn act(words: Words, verdict: &Inferred) -> Markup {
    html! {
        (words.act(verdict.act))
        @if verdict.revised { " " strong { "(" (words.word("revised")) ")" } }
    }
}

/// What the certificate says of a pull; never more than that.
fn certificate(words: Words, certified: Certified) -> Markup {
    let uncertainty = words.number(certified.uncertainty_nm, 2);
    html! {
        span.detail {
            " " (words.say("by-certificate", &[("uncertainty", &uncertainty)]))
            @if certified.close_to_limit { ", " strong { (words.word("close-to-limit")) } }
        }
    }
}

pub(super) fn when(words: Words, pull: &Pull) -> Markup {
    let measured = &pull.measured;
    html! {
        (moment(&measured.at))
        @if let Some(error) = measured.at_error_us.filter(|&error| error >= 1_000_000) {
            " ±" (words.duration((f64::from(error) / 1e6).ceil()))
        }
        span.detail {
            @if measured.typed {
                " " (words.say("typed-number", &[("number", &measured.seq.to_string())]))
                " " (kind(words, "stated"))
            } @else {
                " " (reading(words, &measured.adapter, measured.seq))
            }
        }
    }
}

fn reading(words: Words, adapter: &str, number: u64) -> Markup {
    let number = html! { (number) };
    phrase(words, "reading-number", &[("adapter", text::name(adapter)), ("number", number)])
}

fn against(words: Words, step: &StepReport, verdict: &Inferred) -> Markup {
    let torque = words.torque(verdict.torque);
    html! {
        @match verdict.torque {
            TorqueVerdict::In => span.in { "✓ " (torque) },
            TorqueVerdict::Low => span.off { "▽ " (torque) },
            TorqueVerdict::High => span.off { "▲ " (torque) },
            TorqueVerdict::Na => (torque),
        }
        @if let Some(pass) = verdict.pass.filter(|_| step.passes.len() > 1) {
            span.detail { " " (words.say("pass-number", &[("pass", &pass.to_string())])) }
        }
    }
}

fn replaced(words: Words, step: &StepReport, verdict: &Inferred) -> Markup {
    phrase(
        words,
        "replaced",
        &[
            ("fastener", fastener(words, verdict.fastener.as_deref())),
            ("act", html! { (words.act(verdict.act)) }),
            ("verdict", against(words, step, verdict)),
            ("share", html! { (words.confidence(verdict.confidence)) }),
            ("basis", html! { (words.bases(&verdict.basis)) }),
        ],
    )
}

fn withdrawn(words: Words, gone: &Withdrawn) -> Markup {
    phrase(
        words,
        "withdrawn",
        &[
            ("when", html! { (gone.at.short) }),
            ("reading", reading(words, &gone.adapter, gone.seq)),
            ("fastener", fastener(words, gone.now.as_deref())),
        ],
    )
}

fn fastener(words: Words, name: Option<&str>) -> Markup {
    match name {
        Some(name) => text::name(name),
        None => html! { (words.word("no-fastener-of-plan")) },
    }
}
