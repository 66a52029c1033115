//! How soon a viewer is told of a torque that is over: from the sample's reaching the daemon to the event at the viewer,
//! while others listen and call, and the disk does not answer for two seconds at a time.
//!
//! `cargo bench --bench cue`
#![allow(clippy::unwrap_used, clippy::print_stdout)]

#[path = "../browser/recording.rs"]
#[allow(dead_code)]
mod recording;
#[path = "../suite/rig.rs"]
#[allow(dead_code)]
mod rig;

use crate::recording::{WHEEL, pulls};
use crate::rig::{Rig, Served};
use rusqlite::Connection;
use serde_json::Value;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

const PULLS: u32 = 40;
const LISTENERS: usize = 16;
const CALLERS: usize = 4;
/// For so long at a time nothing can be written.
const STALL: Duration = Duration::from_secs(2);

fn main() {
    let all: Vec<(f64, f64)> =
        (0..PULLS).map(|pull| (4.0 + 2.6 * f64::from(pull), 141.0)).collect();
    let rig = Rig::new()
        .file("plan.toml", WHEEL)
        .file("played.ndjson", pulls(&all))
        .run("job start plan.toml");
    let served = rig.serve(&["--adapter", "sim:played.ndjson,speed=1"]);
    let stop = AtomicBool::new(false);
    std::thread::scope(|scope| {
        for _ in 0..LISTENERS {
            let mut stream = served.stream("/v1/events");
            let stop = &stop;
            scope.spawn(move || while !stop.load(Ordering::Relaxed) && stream.next().is_some() {});
        }
        for _ in 0..CALLERS {
            scope.spawn(|| call(&served, &stop));
        }
        let journal = rig.path("journal.sqlite");
        let stops = &stop;
        scope.spawn(move || stall(&journal, stops));
        let mut told = listen(&served);
        stop.store(true, Ordering::Relaxed);
        told.sort_by(f64::total_cmp);
        let at = |share: f64| told[((told.len() - 1) as f64 * share) as usize];
        println!(
            "{} events in pulls that are over: median {:.1} ms, p99 {:.1} ms, longest {:.1} ms (goal: p99 below 50 ms)",
            told.len(),
            at(0.5),
            at(0.99),
            at(1.0)
        );
        // Those who listen end with the daemon.
        drop(std::process::Command::new("kill").arg(served.child.id().to_string()).status());
    });
}

/// Milliseconds from the moment of each torque that is over, when the adapter that is played says it, to here.
fn listen(served: &Served) -> Vec<f64> {
    let mut stream = served.stream("/v1/events");
    let mut told = Vec::new();
    let (mut over, mut ended) = (0, false);
    loop {
        let state = stream.next_state();
        let here = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_micros() as f64;
        let pull = &state["torque"][0]["pull"];
        let is_over = pull["over"] == Value::Bool(true);
        if is_over {
            told.push((here - state["torque"][0]["at"].as_f64().unwrap()) / 1000.0);
        }
        over += u32::from(is_over && ended);
        ended = !is_over;
        // The first began before anything was seen to end.
        if over >= PULLS - 1 && !is_over {
            return told;
        }
    }
}

fn call(served: &Served, stop: &AtomicBool) {
    while !stop.load(Ordering::Relaxed) {
        assert_eq!(served.get("/v1/jobs/1").0, 200);
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// Nobody else can write for a while, again and again.
fn stall(journal: &Path, stop: &AtomicBool) {
    let disk = Connection::open(journal).unwrap();
    disk.busy_timeout(Duration::from_secs(10)).unwrap();
    while !stop.load(Ordering::Relaxed) {
        disk.execute_batch("BEGIN IMMEDIATE").unwrap();
        std::thread::sleep(STALL);
        disk.execute_batch("ROLLBACK").unwrap();
        std::thread::sleep(Duration::from_millis(500));
    }
}
