//! How long it takes to verify a journal, by its length.
//!
//! `cargo bench --bench audit`. Goal: a million entries in under five seconds.
#![allow(clippy::unwrap_used, clippy::print_stdout, clippy::print_stderr)]

use clampbook::core::event::{
    Act, Basis, Draft, Event, JobId, Reading, ReadingKey, TorqueVerdict, Verdict,
};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use clampbook::journal::{Journal, Reader};
use std::process::ExitCode;
use std::time::Instant;

/// What a million entries may take, seconds.
const GOAL_S: f64 = 5.0;
/// Entries added at a time.
const BATCH: u32 = 10_000;
/// Runs of which the best counts: what else the machine does only makes it longer.
const RUNS: usize = 3;

fn main() -> ExitCode {
    let mut missed = false;
    for entries in [100_000, 1_000_000] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("journal.sqlite");
        let begun = Instant::now();
        let mut journal = Journal::open_writer(&path).unwrap();
        for first in (0..entries / 2).step_by(BATCH as usize / 2) {
            let batch = (first..first + BATCH / 2).flat_map(pull).collect();
            journal.append(batch).unwrap();
            if first % 50_000 == 0 {
                eprintln!("{} of {entries} entries are written", first * 2);
            }
        }
        drop(journal);
        let wrote = begun.elapsed();
        let reader = Reader::open(&path).unwrap();
        let runs = (0..RUNS).map(|_| {
            let begun = Instant::now();
            let check = reader.verify_chain().unwrap();
            assert_eq!((check.fault, check.sound.length), (None, u64::from(entries)));
            begun.elapsed()
        });
        let best = runs.min().unwrap();
        println!(
            "{entries} entries: {:.2} s to verify, {:.2} µs each ({:.1} s to write)",
            best.as_secs_f64(),
            best.as_secs_f64() * 1e6 / f64::from(entries),
            wrote.as_secs_f64()
        );
        missed |= best.as_secs_f64() >= GOAL_S;
    }
    if missed {
        eprintln!("the goal is missed: under {GOAL_S} s");
        return ExitCode::FAILURE;
    }
    ExitCode::SUCCESS
}

/// A reading and what was concluded of it.
fn pull(number: u32) -> [Draft; 2] {
    let at = Stamp(1_931_274_000_000_000 + i64::from(number) * 7_000_000);
    let peak = Torque::from_nm(90.0 + f64::from(number % 1000) / 40.0);
    let job = Some(JobId(1 + number / 50));
    let reading = Event::Reading {
        key: ReadingKey::Numbered { serial: "KB-0412".to_owned(), epoch: 3, sequence: number },
        at,
        at_error_us: Some(20_000),
        reading: Reading {
            adapter: "KB-0412".to_owned(),
            seq: number.into(),
            peak,
            rotation_deg: Some(f64::from(number % 90)),
            duration_ms: Some(640.0),
            description: None,
        },
    };
    let verdict = Event::Verdict(Verdict {
        at,
        adapter: "KB-0412".to_owned(),
        seq: number.into(),
        step: Some("front-left-wheel".to_owned()),
        pass: Some(2),
        fastener: Some(format!("front-left-wheel/{}", 1 + number % 6)),
        confidence: 0.912_345,
        basis: vec![Basis::PlanOrder, Basis::Rotation, Basis::Torque],
        peak,
        interval: Some((Torque::from_nm(88.0), Torque::from_nm(92.0))),
        torque: TorqueVerdict::In,
        act: Act::Tighten,
        revised: false,
        surer: false,
    });
    let draft = |event, raw| Draft { at, job, event, personal: Vec::new(), raw };
    [draft(reading, Some(vec![7; 20])), draft(verdict, None)]
}
