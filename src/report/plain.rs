//! The report as plain text, for a terminal or a mail: what is open first.

use crate::core::event::Ending;
use crate::core::units::TorqueUnit;
use crate::report::model::{FastenerReport, Personal, Pull, Report, StepReport};
use crate::report::visible::one_line;
use crate::report::{Extent, number, words};
use std::fmt::Write as _;

/// Characters a line, unless a single word is longer.
const WIDTH: usize = 100;

/// The report. No line acts on a terminal, whatever stands in it.
#[must_use]
pub fn render(report: &Report, extent: Extent) -> String {
    let mut page = Page::default();
    face(report, &mut page);
    job(report, &mut page);
    for (index, step) in report.steps.iter().enumerate() {
        section(step, index, extent, &mut page);
    }
    if extent == Extent::Full {
        rest(report, &mut page);
    }
    if !report.not_known.is_empty() {
        page.head("What could not be known");
        report.not_known.iter().for_each(|sentence| page.item("-", sentence));
    }
    page.head("How a pull is judged");
    page.wrapped("", &report.decision_rule);
    page.head("Bear in mind");
    report.cautions.iter().for_each(|caution| page.item("-", caution));
    page.line("");
    page.wrapped(
        "",
        &format!(
            "Made {} by Clampbook {}. The journal then held {}; the last of them has the hash {}.",
            report.printed_at.short,
            report.software_version,
            words::count(report.chain.length, "entry", "entries"),
            report.chain.head
        ),
    );
    page.0
}

fn face(report: &Report, page: &mut Page) {
    let outcome = &report.outcome;
    let open = if report.job.closed.is_none() { ", job not closed yet" } else { "" };
    page.wrapped("", &format!("Job report {}, {}{open}", report.job.number, report.plan.name));
    page.line("");
    page.wrapped("", &outcome.headline.to_uppercase());
    for open in &outcome.open {
        let critical =
            if open.life_critical { "LIFE-CRITICAL, do not move the vehicle; " } else { "" };
        let title = open.title.as_ref().map_or_else(String::new, |title| format!(" ({title})"));
        page.item("!", &format!("{}{title}: {critical}{}", open.fastener, open.because.join("; ")));
    }
    for (ending, count) in [
        (Ending::Shown, outcome.shown),
        (Ending::Counted, outcome.counted),
        (Ending::Stated, outcome.stated),
    ] {
        if count > 0 {
            page.line(&format!("  {count} {}", words::ending(ending)));
        }
    }
    for hold in report.holds.iter().filter(|hold| !hold.confirmed) {
        page.item("!", &format!("not confirmed: {}: {}", hold.name, hold.text));
    }
    for recheck in &report.rechecks {
        page.item("↻", &format!("pull again: {}, {}", recheck.group, words::recheck(recheck)));
    }
    for warning in report.warnings.iter().filter(|warning| warning.counts) {
        let about = warning.fastener.as_deref().unwrap_or("the job");
        let code = words::warning(warning.code);
        page.item("△", &format!("still counts: {about}: {code}. {}", warning.text));
    }
}

fn job(report: &Report, page: &mut Page) {
    page.head("The job");
    let mut pair = |term: &str, value: &str| page.wrapped("", &format!("{term:<12} {value}"));
    for (term, text) in [
        ("Vehicle", &report.vehicle.text),
        ("VIN", &report.vehicle.vin),
        ("Operator", &report.job.operator),
    ] {
        pair(term, &format!("{} [stated]", words::personal(text, "not given")));
    }
    pair("Plan", &format!("{}, SHA-256 {}", report.plan.name, report.plan.sha256));
    pair("Started", &report.job.started.short);
    match &report.job.closed {
        Some(closed) => pair("Closed", &closed.short),
        None => pair("Closed", "not yet"),
    }
    if !matches!(report.job.open_reason, Personal::NotGiven) {
        pair("Left open", words::personal(&report.job.open_reason, ""));
    }
    if let Some(of) = &report.job.recheck_of {
        pair("Pulls again", &format!("what job {} tightened", of.number));
    }
    for adapter in &report.adapters {
        let accuracy = adapter.accuracy_pct.map_or_else(
            || "accuracy not on record".to_owned(),
            |share| format!("±{} % of reading", number::nearest(share, 2)),
        );
        pair("Adapter", &format!("{}, serial {}, {accuracy}", adapter.id, adapter.serial));
        match &adapter.certificate {
            None => pair("", "no calibration certificate on record"),
            Some(certificate) => pair(
                "",
                &format!(
                    "certificate {}, {}, {}, due {}, {}; method: {}",
                    certificate.number,
                    certificate.laboratory,
                    certificate.date,
                    certificate.due,
                    words::standing(certificate.standing),
                    certificate.method
                ),
            ),
        }
    }
}

fn section(step: &StepReport, index: usize, extent: Extent, page: &mut Page) {
    let title = step.title.as_deref().unwrap_or(&step.group);
    page.head(&format!("{}. {title}", index + 1));
    for pass in &step.passes {
        let target = match &pass.window {
            Some(window) => format!("{}, {}", window.window.target_text(), window.window),
            None => words::expectation(pass.expect).to_owned(),
        };
        page.wrapped("  ", &format!("pass {}, {}: {target}", pass.number, pass.name));
    }
    let source = step.source.as_deref().unwrap_or("not given");
    page.wrapped("  ", &format!("source of the values: {source}"));
    if let Some(position) = step.position {
        page.wrapped("  ", position);
    }
    for fastener in &step.fasteners {
        let sure = fastener.probability.map_or_else(String::new, |sure| {
            format!(", brought to its window: {} [inferred]", number::confidence(sure))
        });
        page.item("*", &format!("{}: {}{sure}", fastener.name, fastener.ending_words));
        pulls(step, fastener, extent, page);
    }
}

fn pulls(step: &StepReport, fastener: &FastenerReport, extent: Extent, page: &mut Page) {
    if fastener.pulls.is_empty() {
        page.line("      no pull on record");
    }
    let last = fastener.pulls.len().saturating_sub(1);
    let shown = match extent {
        Extent::Full => &fastener.pulls[..],
        Extent::Customer => &fastener.pulls[last..],
    };
    for pull in shown {
        page.wrapped("      ", &pull_line(step, pull));
    }
}

fn pull_line(step: &StepReport, pull: &Pull) -> String {
    let measured = &pull.measured;
    let known = if measured.typed { "stated" } else { "measured" };
    let stands = pull.stands();
    let window = stands.and_then(|verdict| step.window(verdict.pass));
    let peak = number::peak(measured.peak_nm, step.unit(), window);
    let mut line = format!("{}  {peak} [{known}]", measured.at.short);
    if let Some(verdict) = stands {
        if let Some((low, high)) = verdict.interval_nm {
            let _ = write!(line, ", 95 %: {}", number::span(low, high, step.unit()));
        }
        let _ = write!(line, ", {}", words::torque(verdict.torque));
        if let Some(pass) = verdict.pass.filter(|_| step.passes.len() > 1) {
            let _ = write!(line, " of pass {pass}");
        }
        let _ = write!(
            line,
            ", {} [inferred, {}, by {}]",
            words::act(verdict.act),
            number::confidence(verdict.confidence),
            words::bases(&verdict.basis)
        );
    }
    line
}

fn rest(report: &Report, page: &mut Page) {
    if !report.unassigned.is_empty() {
        page.head("Pulls that belong to no fastener");
        for pull in &report.unassigned {
            let peak = number::peak(pull.measured.peak_nm, TorqueUnit::NewtonMetre, None);
            page.item("*", &format!("{}  {peak}", pull.measured.at.short));
        }
    }
    page.head("What the operator said [stated]");
    for mark in &report.operator_said {
        let about = mark.fastener.as_deref().or(mark.hold.as_deref()).unwrap_or("");
        let text = words::personal(&mark.text, "");
        let origin = words::origin(mark.origin);
        page.item(
            "*",
            &format!("{}  {} {about} {text} ({origin})", mark.at.short, words::said(mark)),
        );
    }
    if !report.corrections.is_empty() {
        page.head("Corrected later [stated]");
        for correction in &report.corrections {
            let text = words::personal(&correction.text, "");
            page.item(
                "*",
                &format!(
                    "{}  about entry {}, {}: {text}",
                    correction.at.short, correction.corrects, correction.field
                ),
            );
        }
    }
    page.head("Warnings [inferred]");
    for warning in &report.warnings {
        let about = warning.fastener.as_deref().unwrap_or("the job");
        let now = if warning.counts { ", still counts" } else { "" };
        page.item(
            "△",
            &format!(
                "{}  {about}: {}{now}. {}",
                warning.at.short,
                words::warning(warning.code),
                warning.text
            ),
        );
    }
    if report.link_breaks.is_empty() && report.gaps.is_empty() {
        return;
    }
    page.head("The link");
    for spell in &report.link_breaks {
        let until = spell.until.as_ref().map_or("not back since", |until| &until.short);
        let state = words::link(spell.state);
        page.item("*", &format!("{} {state}: {} to {until}", spell.adapter, spell.from.short));
    }
    for gap in &report.gaps {
        page.item(
            "!",
            &format!("missing for good: readings {} to {} of {}", gap.first, gap.last, gap.adapter),
        );
    }
}

/// Text that is written line by line.
#[derive(Default)]
struct Page(String);

impl Page {
    fn line(&mut self, text: &str) {
        self.0.push_str(text.trim_end());
        self.0.push('\n');
    }

    fn head(&mut self, text: &str) {
        let text = one_line(text);
        let rule = "-".repeat(text.chars().count().min(WIDTH));
        self.line("");
        self.line(&text);
        self.line(&rule);
    }

    fn item(&mut self, mark: &str, text: &str) {
        self.filled(&format!("  {mark} "), "    ", text);
    }

    fn wrapped(&mut self, indent: &str, text: &str) {
        self.filled(indent, &format!("{indent}  "), text);
    }

    /// Words as many as fit a line; those behind the first begin with `hanging`.
    fn filled(&mut self, first: &str, hanging: &str, text: &str) {
        let text = one_line(text);
        let mut line = first.to_owned();
        let mut empty = true;
        for word in text.split(' ') {
            let length = line.chars().count() + 1 + word.chars().count();
            if length > WIDTH && !empty {
                self.line(&line);
                hanging.clone_into(&mut line);
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            line.push_str(word);
            empty = false;
        }
        self.line(&line);
    }
}
