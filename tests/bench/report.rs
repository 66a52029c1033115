//! How long the report on a job with 200 fasteners takes, each pulled twice and with a trace of every pull.
//!
//! `cargo bench --bench report`; PDF, too, with `--features pdf`. Goals: HTML in under 0.3 s, PDF in under 3 s.
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::print_stderr)]

#[path = "../suite/report/job.rs"]
#[allow(dead_code)]
mod job;

use clampbook::core::event::{Described, Event, PersonalField, Trace};
use clampbook::core::language::Language;
use clampbook::core::signal::{Block, Found, PullFinder, Source};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use clampbook::report::{Extent, Report, html, json};
use job::{JOB, Job};
use std::process::ExitCode;
use std::time::Instant;

/// Goals, seconds.
const HTML_S: f64 = 0.3;
const PDF_S: f64 = 3.0;
/// Runs of which the middle one counts.
const RUNS: usize = 5;
const RATE_HZ: f64 = 500.0;

fn main() -> ExitCode {
    let mut held = true;
    for (what, job) in [("without traces", job::flanges()), ("with traces", traced(job::flanges()))]
    {
        println!("{what}:");
        time("put together", || job.report().steps.len());
        let report = job.report();
        held &=
            HTML_S > time("HTML", || html::render(&report, Extent::Full, Language::English).len());
        time("JSON", || json::render(&report).len());
        held &= printed(&report);
    }
    if !held {
        eprintln!("a goal is missed: HTML in under {HTML_S} s, PDF in under {PDF_S} s");
        return ExitCode::FAILURE;
    }
    ExitCode::SUCCESS
}

#[cfg(feature = "pdf")]
fn printed(report: &Report) -> bool {
    use clampbook::report::pdf;
    // What was set before is remembered within a process: every run has another time of printing.
    let mut moment = 0;
    let took = time("PDF", || {
        moment += 1;
        let mut report = report.clone();
        report.printed_at.utc = format!("2031-03-14T18:00:{moment:02}Z");
        report.printed_at.short = format!("2031-03-14 18:00:{moment:02}");
        pdf::render(&report, Extent::Full, Language::English, None).unwrap().len()
    });
    took < PDF_S
}

#[cfg(not(feature = "pdf"))]
fn printed(_: &Report) -> bool {
    println!("  PDF: left out; it is measured with --features pdf");
    true
}

fn time(what: &str, mut make: impl FnMut() -> usize) -> f64 {
    let mut octets = 0;
    let mut times: Vec<f64> = (0..RUNS)
        .map(|_| {
            let begun = Instant::now();
            octets = make();
            begun.elapsed().as_secs_f64()
        })
        .collect();
    let first = times[0];
    times.sort_by(f64::total_cmp);
    println!("  {what}: {:.3} s, the first {first:.3} s ({octets})", times[RUNS / 2]);
    times[RUNS / 2]
}

/// The same job with a trace of every pull.
fn traced(mut job: Job) -> Job {
    let readings: Vec<_> = job
        .entries
        .iter()
        .filter_map(|entry| match &entry.event {
            Event::Reading { key, at, reading, .. } => Some((key.clone(), *at, reading.clone())),
            _ => None,
        })
        .collect();
    for (key, at, reading) in readings {
        let trace = trace(at, reading.peak.nm());
        let mut description = None;
        let mut finder = PullFinder::new(Source::default());
        let mut note = |found| {
            if let Found::Pull(pull) = found {
                description = Some(pull);
            }
        };
        finder.feed(
            &Block {
                start: trace.start,
                rate_hz: RATE_HZ,
                torque: &trace.samples_nm(),
                turned_deg: None,
            },
            &mut note,
        );
        finder.finish(&mut note);
        let described = Described {
            adapter: reading.adapter,
            seq: reading.seq,
            description: description.expect("the trace has one pull").into(),
            rest: None,
        };
        let event = Event::Described { key, at, described };
        job = job.kept(Some(JOB), event, vec![(PersonalField::Trace, Some(trace.pack()))]);
    }
    job
}

/// A pull of a second and a half: run down, rise, release.
fn trace(at: Stamp, peak: f64) -> Trace {
    let torque = (0..900).map(|sample| {
        let nm = match f64::from(sample) / RATE_HZ {
            s if s < 0.2 => 0.0,
            s if s < 0.7 => 0.08 * peak * (s - 0.2) / 0.5,
            s if s < 1.5 => peak * (0.08 + 0.92 * (s - 0.7) / 0.8),
            s if s < 1.6 => peak * (1.6 - s) / 0.1,
            _ => 0.0,
        };
        Torque::from_nm(nm + 0.02 * (f64::from(sample) * 1.7).sin())
    });
    let start = Stamp(at.0 - 1_500_000);
    Trace { start, rate_hz: RATE_HZ, torque: torque.collect(), turned_deg: None }
}
