//! One step: what was asked for, and every fastener with every pull.

use super::face::{kind, pair};
use super::{ring, shape, text, trace};
use crate::core::event::TorqueVerdict;
use crate::core::plan::{Identity, Pattern};
use crate::report::model::{
    Certified, FastenerReport, Inferred, PassReport, Pull, Report, StepReport, Withdrawn,
};
use crate::report::{Extent, number, words};
use maud::{Markup, html};

/// The step at `index`.
pub(super) fn section(report: &Report, index: usize, step: &StepReport, extent: Extent) -> Markup {
    html! {
        section.step {
            h2 {
                span.index { (index + 1) } " "
                (text::full(step.title.as_deref().unwrap_or(&step.group)))
                @if step.title.is_some() { " " span.group { (text::full(&step.group)) } }
            }
            @if step.life_critical { p.critical { "Life-critical joint" } }
            (passes(step))
            dl {
                (asked(step))
            }
            @for note in &step.notes { p.note { (text::full(note)) } }
            @if let Some(position) = step.position { p.position { (position) } }
            @if step.pattern == Pattern::Ring { (ring::drawing(step)) }
            @match extent {
                Extent::Full => (fasteners(report, step)),
                Extent::Customer => (endings(step)),
            }
        }
    }
}

fn passes(step: &StepReport) -> Markup {
    html! {
        table.passes {
            colgroup { col.c-pass; col.c-target; col.c-span; col.c-order; col; }
            thead { tr {
                th scope="col" { "Pass" } th scope="col" { "Target" } th scope="col" { "Window" }
                th scope="col" { "Order" } th scope="col" { "Holds" }
            } }
            tbody { @for pass in &step.passes { (pass_row(step, pass)) } }
        }
    }
}

fn pass_row(step: &StepReport, pass: &PassReport) -> Markup {
    let holds: Vec<&String> = step.holds.iter().chain(&pass.holds).collect();
    let order: Vec<String> = pass.order.iter().map(u16::to_string).collect();
    html! {
        tr {
            th scope="row" {
                (pass.number) " " (text::name(&pass.name))
                @if pass.check { " (check round)" }
            }
            @match &pass.window {
                Some(window) => {
                    td.target data-label="Target" { (text::torque(&window.window.target_text())) }
                    td data-label="Window" { (text::torque(&window.window.to_string())) }
                }
                None => {
                    td data-label="Target" { (words::expectation(pass.expect)) }
                    td data-label="Window" { "none" }
                }
            }
            td data-label="Order" {
                @if step.fasteners.len() == 1 { "one alone" }
                @else if pass.ordered { (order.join("-")) }
                @else { "any" }
            }
            td data-label="Holds" {
                @if holds.is_empty() { "none" }
                @for (place, hold) in holds.iter().enumerate() {
                    @if place > 0 { ", " }
                    (text::name(hold))
                }
            }
        }
    }
}

fn asked(step: &StepReport) -> Markup {
    let plain =
        [("Socket", &step.socket), ("Thread", &step.thread), ("Thread condition", &step.condition)];
    let mut rules = vec![words::pattern(step.pattern)];
    if step.turned_to_reach {
        rules.push("parts turned so that each comes to the hand");
    }
    if step.no_recheck {
        rules.push("not to be pulled again once finished");
    }
    if step.left_hand {
        rules.push("left-hand thread");
    }
    if step.identity == Identity::Shown {
        rules.push("each one to be shown, not only counted");
    }
    html! {
        (pair("Source of the values", "", text::or_none(step.source.as_deref(), "not given")))
        @for (term, value) in plain {
            @if let Some(value) = value { (pair(term, "", text::full(value))) }
        }
        (pair("Layout", "", html! { (rules.join("; ")) }))
        @if !step.after.is_empty() {
            (pair("After", "", html! {
                @for (place, group) in step.after.iter().enumerate() {
                    @if place > 0 { ", " }
                    (text::name(group))
                }
            }))
        }
    }
}

/// How each fastener ended, and its last pull.
fn endings(step: &StepReport) -> Markup {
    html! {
        table {
            thead { tr {
                th scope="col" { "Fastener" } th scope="col" { "Ended" }
                th scope="col" { "Last pull" } th scope="col" { "Window" }
            } }
            tbody {
                @for fastener in &step.fasteners {
                    tr {
                        th scope="row" { (text::name(&fastener.name)) }
                        td data-label="Ended" { (shape::badge(fastener.ending)) }
                        @match fastener.last_pull() {
                            Some((pull, verdict)) => {
                                td data-label="Last pull" {
                                    (text::torque(&number::peak(pull.measured.peak_nm, step.unit(), step.window(verdict.pass))))
                                    @if pull.measured.typed { " " (kind("stated")) } @else { " " (kind("measured")) }
                                }
                                td data-label="Window" { (against(step, verdict)) }
                            }
                            None => { td.none colspan="2" { "No pull on record." } }
                        }
                    }
                }
            }
        }
    }
}

fn fasteners(report: &Report, step: &StepReport) -> Markup {
    html! {
        table.pulls {
            colgroup {
                col.c-time; col.c-peak; col.c-window; col.c-pull; col.c-sure; col;
            }
            thead {
                tr.kinds {
                    th colspan="2" { (kind("measured")) }
                    th colspan="4" { (kind("inferred")) }
                }
                tr {
                    th scope="col" { "Time" } th scope="col" { "Peak" }
                    th scope="col" { "Window" } th scope="col" { "Pull" }
                    th scope="col" { "How sure" } th scope="col" { "Basis" }
                }
            }
            @for fastener in &step.fasteners { (fastener_rows(report, step, fastener)) }
        }
    }
}

fn fastener_rows(report: &Report, step: &StepReport, fastener: &FastenerReport) -> Markup {
    html! {
        tbody {
            tr.fastener {
                th colspan="6" scope="rowgroup" {
                    (text::name(&fastener.name)) " " (shape::badge(fastener.ending))
                    @if let Some(sure) = fastener.probability {
                        span.detail { " brought to its window: " (number::confidence(sure)) }
                    }
                }
            }
            @if fastener.pulls.is_empty() {
                tr { td.none colspan="6" { "No pull on record." } }
            }
            @for pull in &fastener.pulls { (pull_rows(step, pull)) }
            (trace::rows(step, &fastener.pulls))
            @for gone in &fastener.withdrawn { (withdrawn_row(gone)) }
            @for mark in report.operator_said.iter().filter(|mark| mark.fastener.as_ref() == Some(&fastener.name)) {
                tr.aside { td colspan="6" {
                    (kind("stated")) " " (mark.at.short) ": " (words::said(mark))
                    @if mark.say == "skip" { ": " (text::personal(&mark.text)) }
                } }
            }
            @for warning in report.warnings.iter().filter(|warning| warning.fastener.as_ref() == Some(&fastener.name)) {
                tr.aside { td colspan="6" {
                    span.mark { "△ " } (warning.at.short) ": " (words::warning(warning.code))
                    @if warning.counts { " " strong { "(still counts)" } }
                } }
            }
        }
    }
}

fn pull_rows(step: &StepReport, pull: &Pull) -> Markup {
    let earlier = pull.inferred.split_last().map_or(&[][..], |(_, earlier)| earlier);
    html! {
        (pull_row(step, pull))
        @for verdict in earlier { (earlier_row(step, verdict)) }
    }
}

/// A pull with the conclusion that stands. Also used where no step is known.
pub(super) fn pull_row(step: &StepReport, pull: &Pull) -> Markup {
    let stands = pull.stands();
    let window = stands.and_then(|verdict| step.window(verdict.pass));
    html! {
        tr {
            td data-label="Time" { (when(pull)) }
            td data-label="Peak" {
                (text::torque(&number::peak(pull.measured.peak_nm, step.unit(), window)))
                @if let Some(turned) = pull.measured.rotation_deg {
                    span.detail { " turned " (number::nearest(turned, 1)) "°" }
                }
                @if let Some((low, high)) = stands.and_then(|verdict| verdict.interval_nm) {
                    span.detail { " 95 %: " (text::torque(&number::span(low, high, step.unit()))) }
                }
                @if let Some(certified) = pull.certified { (certificate(certified)) }
            }
            @match stands {
                Some(verdict) => {
                    td data-label="Window" { (against(step, verdict)) }
                    td data-label="Pull" {
                        (words::act(verdict.act))
                        @if verdict.revised { " " strong { "(revised)" } }
                    }
                    td data-label="How sure" { (number::confidence(verdict.confidence)) }
                    td data-label="Basis" { (words::bases(&verdict.basis)) }
                }
                None => { td.none colspan="4" { "nothing concluded" } }
            }
        }
    }
}

/// What the certificate says of a pull; never more than that.
fn certificate(certified: Certified) -> Markup {
    html! {
        span.detail {
            " by its certificate ±" (number::nearest(certified.uncertainty_nm, 2)) " N·m"
            @if certified.close_to_limit { ", " strong { "close to a limit" } }
        }
    }
}

pub(super) fn when(pull: &Pull) -> Markup {
    let measured = &pull.measured;
    html! {
        time datetime=(measured.at.local) { (measured.at.short) }
        @if let Some(error) = measured.at_error_us.filter(|&error| error >= 1_000_000) {
            " ±" (number::duration((f64::from(error) / 1e6).ceil()))
        }
        span.detail {
            @if measured.typed { " typed no. " (measured.seq) " " (kind("stated")) }
            @else { " " (text::name(&measured.adapter)) " no. " (measured.seq) }
        }
    }
}

fn against(step: &StepReport, verdict: &Inferred) -> Markup {
    html! {
        @match verdict.torque {
            TorqueVerdict::In => span.in { "✓ " (words::torque(verdict.torque)) },
            TorqueVerdict::Low => span.off { "▽ " (words::torque(verdict.torque)) },
            TorqueVerdict::High => span.off { "▲ " (words::torque(verdict.torque)) },
            TorqueVerdict::Na => (words::torque(verdict.torque)),
        }
        @if let Some(pass) = verdict.pass.filter(|_| step.passes.len() > 1) {
            span.detail { " pass " (pass) }
        }
    }
}

fn earlier_row(step: &StepReport, verdict: &Inferred) -> Markup {
    html! {
        tr.aside { td colspan="6" {
            "Replaced: first taken for "
            @match &verdict.fastener {
                Some(fastener) => (text::name(fastener)),
                None => "no fastener of the plan",
            }
            ", " (words::act(verdict.act)) ", " (against(step, verdict))
            ", " (number::confidence(verdict.confidence)) ", because of " (words::bases(&verdict.basis)) "."
        } }
    }
}

fn withdrawn_row(gone: &Withdrawn) -> Markup {
    html! {
        tr.aside { td colspan="6" {
            "Revised: the pull of " (gone.at.short) " (" (text::name(&gone.adapter)) " no. " (gone.seq)
            ") was first taken for this one; it is now taken for "
            @match &gone.now {
                Some(fastener) => (text::name(fastener)),
                None => "no fastener of the plan",
            }
            "."
        } }
    }
}
