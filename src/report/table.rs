//! The report as a table (RFC 4180): one row a pull, and one for each fastener that has none.
//!
//! For programs, so in English whatever the reader speaks. Numbers have a decimal point and no unit; the unit
//! stands in the name of the column. A text that a spreadsheet would take for a formula begins with an
//! apostrophe.

use crate::report::model::{FastenerReport, PassReport, Personal, Pull, Report, StepReport};
use crate::report::visible::one_line;
use crate::report::words::{Words, ending_name};
use csv::{Terminator, WriterBuilder};
use serde::Serialize;
use std::borrow::Cow;

/// A row, in the order of the columns.
#[derive(Debug, Serialize)]
struct Row {
    job: u32,
    job_uuid: String,
    /// `pull`, or `none`: the fastener has no pull on record.
    row: &'static str,
    fastener: String,
    title: String,
    ending: &'static str,
    ending_probability: Option<f64>,
    pass: Option<u32>,
    target_nm: Option<f64>,
    low_nm: Option<f64>,
    high_nm: Option<f64>,
    target_source: String,
    time_utc: String,
    time_local: String,
    /// `measured`, or `stated`: a person typed it.
    known: &'static str,
    adapter: String,
    adapter_serial: String,
    reading: Option<u64>,
    peak_nm: Option<f64>,
    interval_low_nm: Option<f64>,
    interval_high_nm: Option<f64>,
    rotation_deg: Option<f64>,
    duration_ms: Option<f64>,
    /// By how much the adapter's zero had moved.
    zero_moved_nm: Option<f64>,
    verdict: Cow<'static, str>,
    act: Cow<'static, str>,
    confidence: Option<f64>,
    basis: String,
    revised: Option<bool>,
    journal_entries: u64,
    journal_head: String,
    vin: String,
    plate: String,
}

/// The report as a table with a head.
#[must_use]
pub fn render(report: &Report) -> String {
    let mut table = WriterBuilder::new().terminator(Terminator::CRLF).from_writer(Vec::new());
    for step in &report.steps {
        for fastener in &step.fasteners {
            if fastener.pulls.is_empty() {
                put(&mut table, empty(report, Some((step, fastener))));
            }
            for pull in &fastener.pulls {
                put(&mut table, row(report, Some((step, fastener)), pull));
            }
        }
    }
    for pull in &report.unassigned {
        put(&mut table, row(report, None, pull));
    }
    let octets = table.into_inner().expect("memory takes every row; this is a bug");
    String::from_utf8(octets).expect("every cell is text; this is a bug")
}

fn put(table: &mut csv::Writer<Vec<u8>>, row: Row) {
    table.serialize(row).expect("a row has plain cells; this is a bug");
}

type Of<'a> = Option<(&'a StepReport, &'a FastenerReport)>;

/// A row of a fastener without a pull.
fn empty(report: &Report, of: Of<'_>) -> Row {
    let fastener = of.map(|(_, fastener)| fastener);
    let step = of.map(|(step, _)| step);
    Row {
        job: report.job.number,
        job_uuid: cell(&report.job.uuid),
        row: "none",
        fastener: cell(fastener.map_or("", |fastener| &fastener.name)),
        title: cell(step.and_then(|step| step.title.as_deref()).unwrap_or_default()),
        ending: fastener.map_or("", |fastener| ending_name(fastener.ending)),
        ending_probability: fastener.and_then(|fastener| fastener.probability),
        pass: None,
        target_nm: None,
        low_nm: None,
        high_nm: None,
        target_source: cell(step.and_then(|step| step.source.as_deref()).unwrap_or_default()),
        time_utc: String::new(),
        time_local: String::new(),
        known: "",
        adapter: String::new(),
        adapter_serial: String::new(),
        reading: None,
        peak_nm: None,
        interval_low_nm: None,
        interval_high_nm: None,
        rotation_deg: None,
        duration_ms: None,
        zero_moved_nm: None,
        verdict: Cow::Borrowed(""),
        act: Cow::Borrowed(""),
        confidence: None,
        basis: String::new(),
        revised: None,
        journal_entries: report.chain.length,
        journal_head: report.chain.head.clone(),
        vin: given(&report.vehicle.vin),
        plate: given(&report.vehicle.plate),
    }
}

fn row(report: &Report, of: Of<'_>, pull: &Pull) -> Row {
    let measured = &pull.measured;
    let stands = pull.stands();
    let pass = stands.and_then(|verdict| verdict.pass);
    let window = of.and_then(|(step, _)| passed(step, pass?)).and_then(|pass| pass.window.as_ref());
    let adapter = report.adapters.iter().find(|adapter| adapter.id == measured.adapter);
    let interval = stands.and_then(|verdict| verdict.interval_nm);
    Row {
        row: "pull",
        pass,
        target_nm: window.map(|window| window.target_nm),
        low_nm: window.map(|window| window.low_nm),
        high_nm: window.and_then(|window| window.high_nm),
        time_utc: cell(&measured.at.utc),
        time_local: cell(&measured.at.local),
        known: if measured.typed { "stated" } else { "measured" },
        adapter: cell(&measured.adapter),
        adapter_serial: cell(adapter.map_or("", |adapter| &adapter.serial)),
        reading: Some(measured.seq),
        peak_nm: Some(measured.peak_nm),
        interval_low_nm: interval.map(|(low, _)| low),
        interval_high_nm: interval.map(|(_, high)| high),
        rotation_deg: measured.rotation_deg,
        duration_ms: measured.duration_ms,
        zero_moved_nm: pull.zero_moved_nm,
        verdict: stands.map_or(Cow::Borrowed(""), |verdict| Words::ENGLISH.torque(verdict.torque)),
        act: stands.map_or(Cow::Borrowed(""), |verdict| Words::ENGLISH.act(verdict.act)),
        confidence: stands.map(|verdict| verdict.confidence),
        basis: stands.map_or_else(String::new, |verdict| Words::ENGLISH.bases(&verdict.basis)),
        revised: stands.map(|verdict| verdict.revised),
        ..empty(report, of)
    }
}

fn passed(step: &StepReport, pass: u32) -> Option<&PassReport> {
    step.passes.get(usize::try_from(pass).ok()?.checked_sub(1)?)
}

/// What was entered; nothing where it is gone, left out or was never there.
fn given(text: &Personal) -> String {
    match text {
        Personal::Given(text) => cell(text),
        Personal::NotGiven | Personal::Removed | Personal::LeftOut => String::new(),
    }
}

/// A text that no spreadsheet takes for a formula, on one line.
fn cell(text: &str) -> String {
    let text = one_line(text);
    let acts =
        text.trim_start().starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠', '|', '%']);
    if acts { format!("'{text}") } else { text }
}

#[cfg(test)]
mod tests {
    use super::cell;

    #[test]
    fn a_formula_becomes_text_and_text_stays() {
        for formula in ["=1+1", "+1", "-1", "@SUM(A1)", " =1", "\t=1", "＝1", "%0A=1", "|calc"] {
            assert!(cell(formula).starts_with('\''), "{formula}");
        }
        assert_eq!(cell("wheel/1"), "wheel/1");
        assert_eq!(cell("a\r\nb"), "a  b");
    }
}
