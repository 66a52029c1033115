//! How many samples a second are read.
//!
//! `cargo bench --bench speed`. `-- samples FILE` writes an evening's samples for another program to read,
//! `-- time FILE` reads those of a file and prints how long it took: `tests/bench/beside-scipy` uses both.
#![allow(clippy::unwrap_used)]

#[path = "../signal/generator/mod.rs"]
#[allow(dead_code)]
mod generator;

use clampbook::core::signal::{Block, Found, PullFinder, Source};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use criterion::{BatchSize, Criterion, Throughput};
use generator::session::{Session, Wishes};
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};

/// Samples a block: a tenth of a second at the fastest rate that is usual.
const BLOCK: usize = 50;
/// Samples of the side-by-side run.
const SAMPLES: usize = 4_000_000;
/// Times a file is read; the best counts, as for the other program.
const TURNS: usize = 5;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let after = |word: &str| {
        let at = arguments.iter().position(|argument| argument == word)?;
        arguments.get(at + 1).map(Path::new)
    };
    if let Some(file) = after("samples") {
        write_samples(file);
    } else if let Some(file) = after("time") {
        time_samples(file);
    } else {
        let mut criterion = Criterion::default().configure_from_args();
        bench(&mut criterion);
        criterion.final_summary();
    }
}

fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("samples");
    for (name, rotation) in [("torque", false), ("torque and rotation", true)] {
        let session = fast_session(rotation);
        let torque: Vec<Torque> = session.torque.iter().copied().map(Torque::from_nm).collect();
        let steps = session.turned.as_deref().map(by_block);
        group.throughput(Throughput::Elements(torque.len() as u64));
        group.bench_function(name, |bencher| {
            bencher.iter_batched(
                || PullFinder::new(source(&session)),
                |mut finder| read(&mut finder, &torque, steps.as_deref(), 500.0),
                BatchSize::LargeInput,
            );
        });
    }
    group.finish();
}

/// An evening at 500 Hz.
fn fast_session(rotation: bool) -> Session {
    (1..)
        .map(|seed| Session::seeded(seed, Wishes { rotation, wide: false }))
        .find(|session| session.adapter.rate_hz == 500.0)
        .unwrap()
}

fn source(session: &Session) -> Source {
    Source {
        range_max: Some(Torque::from_nm(session.adapter.range_nm)),
        accuracy_pct: Some(session.adapter.accuracy_pct),
        wind_up_deg_per_nm: None,
    }
}

fn by_block(turned: &[f64]) -> Vec<f64> {
    let before = |index: usize| (index / BLOCK * BLOCK).checked_sub(1).map_or(0.0, |at| turned[at]);
    turned.iter().enumerate().map(|(index, deg)| deg - before(index)).collect()
}

fn read(finder: &mut PullFinder, torque: &[Torque], steps: Option<&[f64]>, rate_hz: f64) -> usize {
    let mut pulls = 0;
    let mut note = |found| pulls += usize::from(matches!(found, Found::Pull(_)));
    for (index, part) in torque.chunks(BLOCK).enumerate() {
        let first = index * BLOCK;
        let block = Block {
            start: Stamp::from_seconds(first as f64 / rate_hz),
            rate_hz,
            torque: part,
            turned_deg: steps.map(|steps| &steps[first..first + part.len()]),
        };
        finder.feed(&block, &mut note);
    }
    finder.finish(&mut note);
    pulls
}

fn write_samples(file: &Path) {
    let mut octets = Vec::new();
    for seed in 1.. {
        let session = Session::seeded(seed, Wishes { rotation: false, wide: false });
        if session.adapter.rate_hz != 500.0 || session.adapter.range_nm != 280.0 {
            continue;
        }
        for nm in session.torque.iter().filter(|nm| nm.is_finite()) {
            octets.extend(nm.to_le_bytes());
        }
        if octets.len() >= SAMPLES * 8 {
            break;
        }
    }
    octets.truncate(SAMPLES * 8);
    std::fs::write(file, octets).unwrap();
}

fn time_samples(file: &Path) {
    let octets = std::fs::read(file).unwrap();
    let torque: Vec<Torque> = octets
        .chunks_exact(8)
        .map(|octets| Torque::from_nm(f64::from_le_bytes(octets.try_into().unwrap())))
        .collect();
    let source = Source { range_max: Some(Torque::from_nm(280.0)), ..Source::default() };
    let mut best = Duration::MAX;
    let mut pulls = 0;
    for _ in 0..TURNS {
        let mut finder = PullFinder::new(source);
        let began = Instant::now();
        pulls = read(&mut finder, &torque, None, 500.0);
        best = best.min(began.elapsed());
    }
    let seconds = best.as_secs_f64();
    let mut out = std::io::stdout().lock();
    writeln!(out, "{} {seconds:.6} {pulls}", torque.len()).unwrap();
}
