//! Whether a long history slows down what is asked of one job: the same journal with 50 jobs, which fill a page of
//! `job list`, and with 20 000, fifty pulls each, some with traces, with personal texts and with readings that belong
//! to no job, asked by the program itself.
//!
//! `cargo bench --bench history`; `-- short` with 2000. Goal: at most 1.5 times as long.
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::print_stderr)]

use clampbook::core::event::{
    AdapterInfo, Described, Draft, Event, Input, JobId, Mark, Origin, PersonalField, Reading,
    ReadingKey, Reports, Say, Trace, What,
};
use clampbook::core::plan::{Plan, parse};
use clampbook::core::signal::{Block, Found, PullFinder, Source};
use clampbook::core::time::Stamp;
use clampbook::core::tracker::Tracker;
use clampbook::core::units::Torque;
use clampbook::journal::Journal;
use std::path::Path;
use std::process::{Command, ExitCode};
use std::time::{Duration, Instant};

const PULLS: u32 = 50;
/// The trace is kept of one in so many.
const TRACED: u32 = 10;
const RUNS: usize = 15;
/// How many times as long a long history may take.
const GOAL: f64 = 1.5;
/// Jobs written at a time.
const BATCH: u32 = 50;

fn main() -> ExitCode {
    let mut missed = false;
    let short = std::env::args().any(|word| word == "short");
    let few = measure(50);
    let many = measure(if short { 2000 } else { 20_000 });
    for ((what, few), (_, many)) in few.iter().zip(&many) {
        let ratio = many.as_secs_f64() / few.as_secs_f64();
        println!(
            "{what:<10} {few:>10.1?} with few jobs, {many:>10.1?} with many: {ratio:.2} times"
        );
        missed |= ratio > GOAL;
    }
    if missed {
        eprintln!("the goal is missed: at most {GOAL} times as long");
        return ExitCode::FAILURE;
    }
    ExitCode::SUCCESS
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
    let (described, trace) = traced();
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
        drafts.push(Draft {
            personal: vec![
                (PersonalField::Vehicle, format!("Orvane Dray, the {job}th")),
                (PersonalField::Operator, "Ada".to_owned()),
            ],
            ..draft(0, Event::JobStarted { plan: plan.clone(), plan_hash, uuid })
        });
        let stray = |second: u32, sequence: u32| {
            let key = ReadingKey::Numbered { serial: "KB-0412".to_owned(), epoch: job, sequence };
            let event = Event::Reading {
                key,
                at: at(second),
                at_error_us: None,
                reading: reading(sequence),
            };
            Draft { job: None, ..draft(second, event) }
        };
        drafts.push(stray(5, PULLS + 1));
        drafts.push(draft(0, Event::Adapter(adapter())));
        for pull in 1..=PULLS {
            let reading = reading(pull);
            let key =
                ReadingKey::Numbered { serial: "KB-0412".to_owned(), epoch: job, sequence: pull };
            let event =
                Event::Reading { key: key.clone(), at: at(pull * 10), at_error_us: None, reading };
            drafts.push(draft(pull * 10, event));
            if pull % TRACED == 0 {
                let described = Described { seq: pull.into(), ..described.clone() };
                let event = Event::Described { key, at: at(pull * 10), described };
                let personal = vec![(PersonalField::Trace, trace.clone())];
                drafts.push(Draft { personal, ..draft(pull * 10, event) });
            }
            drafts.extend(
                verdicts[pull as usize - 1].iter().cloned().map(|event| draft(pull * 10, event)),
            );
        }
        let open_reason = Some(String::new());
        let note = Say::Note { text: String::new() };
        drafts.push(Draft {
            personal: vec![(PersonalField::Note, "seat looked fine".to_owned())],
            ..draft(890, Event::Mark(Mark { say: note, origin: Origin::CommandLine }))
        });
        drafts.push(draft(900, Event::JobClosed { open_reason, summary: summary.clone() }));
        drafts.push(stray(950, PULLS + 2));
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

/// What the trace of a pull shows, and the trace, packed.
fn traced() -> (Described, String) {
    const RATE_HZ: f64 = 200.0;
    let torque: Vec<Torque> = (0..320)
        .map(|sample| match f64::from(sample) / RATE_HZ {
            s if s < 0.3 => 0.0,
            s if s < 1.3 => 120.0 * (s - 0.3),
            s if s < 1.4 => 120.0 * (1.4 - s) / 0.1,
            _ => 0.0,
        })
        .map(Torque::from_nm)
        .collect();
    let mut found = None;
    let mut finder = PullFinder::new(Source::default());
    let mut note = |one| {
        if let Found::Pull(pull) = one {
            found = Some(pull);
        }
    };
    let nm: Vec<f32> = torque.iter().map(|torque| torque.nm() as f32).collect();
    let block = Block { start: Stamp(0), rate_hz: RATE_HZ, torque: &nm, turned_deg: None };
    finder.feed(&block, &mut note);
    finder.finish(&mut note);
    let described = Described {
        adapter: "KB-0412".to_owned(),
        seq: 0,
        description: found.expect("the trace has one pull").into(),
        rest: None,
    };
    let trace = Trace { start: Stamp(0), rate_hz: RATE_HZ, torque, turned_deg: None };
    (described, trace.pack())
}

fn adapter() -> AdapterInfo {
    AdapterInfo {
        overdue_since: None,
        certificate: None,
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
