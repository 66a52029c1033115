//! Whether a long history slows down what is asked of one job: the same journal with 20 jobs and with 20 000,
//! fifty pulls each, asked by the program itself.
//!
//! `cargo bench --bench history`; `-- short` with 2000. Goal: at most 1.5 times as long.
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::print_stderr)]

use clampbook::core::event::{
    AdapterInfo, Draft, Event, Input, JobId, Reading, ReadingKey, Reports, What,
};
use clampbook::core::plan::{Plan, parse};
use clampbook::core::time::Stamp;
use clampbook::core::tracker::Tracker;
use clampbook::core::units::Torque;
use clampbook::journal::Journal;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

const PULLS: u32 = 50;
const RUNS: usize = 15;
/// Jobs written at a time.
const BATCH: u32 = 50;

fn main() {
    let short = std::env::args().any(|word| word == "short");
    let few = measure(20);
    let many = measure(if short { 2000 } else { 20_000 });
    for ((what, few), (_, many)) in few.iter().zip(&many) {
        let ratio = many.as_secs_f64() / few.as_secs_f64();
        println!(
            "{what:<10} {few:>10.1?} with few jobs, {many:>10.1?} with many: {ratio:.2} times"
        );
    }
}

/// How long each command takes, the middle of several runs.
fn measure(jobs: u32) -> Vec<(&'static str, Duration)> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.sqlite");
    fill(&path, jobs);
    let job = (jobs / 2).to_string();
    let commands: [(&str, &[&str]); 4] = [
        ("job list", &["job", "list"]),
        ("job show", &["job", "show", &job]),
        ("the newest", &["job", "show"]),
        ("report", &["report", &job, "--html", "-"]),
    ];
    commands.map(|(what, args)| (what, middle(|| ask(folder.path(), args)))).into()
}

fn middle(what: impl Fn()) -> Duration {
    let mut times: Vec<Duration> = (0..RUNS)
        .map(|_| {
            let begun = Instant::now();
            what();
            begun.elapsed()
        })
        .collect();
    times.sort();
    times[RUNS / 2]
}

fn ask(folder: &Path, args: &[&str]) {
    let output = Command::new(env!("CARGO_BIN_EXE_clampbook"))
        .args(args)
        .current_dir(folder)
        .env_clear()
        .env("HOME", folder)
        .env("CLAMPBOOK_JOURNAL", "journal.sqlite")
        .output()
        .unwrap();
    // A job that is left open ends with 3.
    let status = output.status.code();
    assert!(matches!(status, Some(0 | 3)), "{}", String::from_utf8_lossy(&output.stderr));
}

/// Every job like the other: what was heard, what follows from it, and its end.
fn fill(path: &Path, jobs: u32) {
    let text = "plan = \"Wheels\"\nsource = \"invented\"\ntolerance = \"±10 %\"\n[joints.wheel]\n\
                ring = 25\ntarget = \"120 N·m\"\npasses = [\"60 N·m\", \"final\"]\n";
    let plan = parse(text).unwrap().plan;
    let (verdicts, summary) = concluded(&plan);
    let mut journal = Journal::open_writer(path).unwrap();
    let mut drafts = Vec::new();
    for job in 1..=jobs {
        let at = |second: u32| Stamp((i64::from(job) * 10_000 + i64::from(second)) * 1_000_000);
        let draft = |second: u32, event| Draft {
            at: at(second),
            job: Some(JobId(job)),
            event,
            personal: Vec::new(),
            raw: None,
        };
        let uuid = format!("00000000-0000-4000-8000-{job:012}");
        let plan_hash = "5e".repeat(32);
        drafts.push(draft(0, Event::JobStarted { plan: plan.clone(), plan_hash, uuid }));
        drafts.push(draft(0, Event::Adapter(adapter())));
        for pull in 1..=PULLS {
            let reading = reading(pull);
            let key =
                ReadingKey::Numbered { serial: "KB-0412".to_owned(), epoch: job, sequence: pull };
            let event = Event::Reading { key, at: at(pull * 10), at_error_us: None, reading };
            drafts.push(draft(pull * 10, event));
            drafts.extend(
                verdicts[pull as usize - 1].iter().cloned().map(|event| draft(pull * 10, event)),
            );
        }
        let open_reason = Some(String::new());
        drafts.push(draft(900, Event::JobClosed { open_reason, summary: summary.clone() }));
        if job % BATCH == 0 || job == jobs {
            journal.append(std::mem::take(&mut drafts)).unwrap();
        }
        if job % 2000 == 0 {
            eprintln!("{job} of {jobs} jobs are written");
        }
    }
}

/// What follows from each pull of a job; its times are those of the first.
fn concluded(plan: &Plan) -> (Vec<Vec<Event>>, clampbook::core::event::Summary) {
    use clampbook::core::event::Conclusion;
    let mut tracker = Tracker::new(plan.clone());
    tracker.step(Input { at: Stamp(0), what: What::Adapter(adapter()) });
    let mut all = Vec::new();
    for pull in 1..=PULLS {
        let at = Stamp((10_000 + i64::from(pull) * 10) * 1_000_000);
        let effects = tracker.step(Input { at, what: What::Reading(reading(pull)) });
        let events = effects.conclusions.into_iter().map(|conclusion| match conclusion {
            Conclusion::Verdict(verdict) => Event::Verdict(verdict),
            Conclusion::Warning(warning) => Event::Warning(warning),
        });
        all.push(events.collect());
    }
    (all, tracker.summary())
}

fn adapter() -> AdapterInfo {
    AdapterInfo {
        overdue_since: None,
        id: "KB-0412".to_owned(),
        serial: "KB-0412".to_owned(),
        drive: None,
        range: None,
        accuracy_pct: Some(1.5),
        reports: Reports { peak: true, ..Reports::default() },
    }
}

fn reading(pull: u32) -> Reading {
    let target = if pull <= PULLS / 2 { 60.0 } else { 120.0 };
    Reading {
        adapter: "KB-0412".to_owned(),
        seq: pull.into(),
        peak: Torque::from_nm(target + f64::from(pull % 7) / 4.0),
        rotation_deg: None,
        duration_ms: Some(700.0),
        description: None,
    }
}
