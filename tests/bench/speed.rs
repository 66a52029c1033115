//! How many samples a second are read.
//!
//! `cargo bench --bench speed`. `-- samples FILE MIX` writes samples for another program to read, `-- time FILE`
//! reads those of a file and prints how long it took and what was found: `tests/bench/beside-scipy` uses both.
#![allow(clippy::unwrap_used)]

#[path = "../signal/generator/mod.rs"]
#[allow(dead_code)]
mod generator;

use clampbook::core::signal::{Block, Found, PullFinder, Source};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use criterion::{BatchSize, Criterion, Throughput};
use generator::session::{Session, Wishes};
use std::hint::black_box;
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};

const RATE_HZ: f64 = 500.0;
const RANGE_NM: f64 = 280.0;
/// Samples a block as it comes over the air, a tenth of a second, and as a whole array is read.
const BLOCK: usize = 50;
const WHOLE: usize = 10_000;
/// Samples of the side-by-side run.
const SAMPLES: usize = 4_000_000;
/// Times a file is read; the best counts, as for the other program.
const TURNS: usize = 7;

/// How pulls and rest are mixed: name, and seconds from pull to pull.
///
/// An evening is as it is generated, one fastener after the other. A job is some 25 pulls in the twenty
/// minutes that the adapter is in use. Loaded throughout is pull upon pull, with just the time between
/// them that makes them two.
const MIXES: [(&str, Option<f64>); 3] =
    [("evening", None), ("job", Some(48.0)), ("loaded", Some(0.0))];

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let after = |word: &str, places: usize| {
        let at = arguments.iter().position(|argument| argument == word)?;
        arguments.get(at + places)
    };
    if let Some(file) = after("samples", 1) {
        let mix = after("samples", 2).map_or(MIXES[0].0, String::as_str);
        write_samples(Path::new(file), mix);
    } else if let Some(file) = after("time", 1) {
        time_samples(Path::new(file));
    } else {
        let mut criterion = Criterion::default().configure_from_args();
        bench(&mut criterion);
        criterion.final_summary();
    }
}

fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("samples");
    for (name, every_s) in MIXES {
        let torque = mixed(every_s, SAMPLES / 10);
        group.throughput(Throughput::Elements(torque.len() as u64));
        for size in [BLOCK, WHOLE] {
            group.bench_function(format!("torque, {name}, blocks of {size}"), |bencher| {
                bencher.iter_batched(
                    || PullFinder::new(source()),
                    |mut finder| read(&mut finder, &torque, None, size).len(),
                    BatchSize::LargeInput,
                );
            });
        }
    }
    let session = sessions(true).next().unwrap();
    let torque: Vec<f32> = session.torque.iter().map(|nm| *nm as f32).collect();
    let steps = by_block(session.turned.as_deref().unwrap());
    group.throughput(Throughput::Elements(torque.len() as u64));
    group.bench_function("torque and rotation, evening", |bencher| {
        bencher.iter_batched(
            || PullFinder::new(source()),
            |mut finder| read(&mut finder, &torque, Some(&steps), BLOCK).len(),
            BatchSize::LargeInput,
        );
    });
    group.finish();
}

/// Evenings of the adapter that is read here.
fn sessions(rotation: bool) -> impl Iterator<Item = Session> {
    (1..).map(move |seed| Session::seeded(seed, Wishes { rotation, ..Wishes::default() })).filter(
        |session| session.adapter.rate_hz == RATE_HZ && session.adapter.range_nm == RANGE_NM,
    )
}

/// So many samples in this mix.
fn mixed(every_s: Option<f64>, count: usize) -> Vec<f32> {
    let mut all = Vec::new();
    for session in sessions(false) {
        match every_s {
            None => all.extend(session.torque.iter().filter(|nm| nm.is_finite())),
            Some(every_s) => all.extend(spaced(&session, every_s)),
        }
        if all.len() >= count {
            break;
        }
    }
    all.truncate(count);
    all.into_iter().map(|nm| nm as f32).collect()
}

/// The pulls of a session, one every so many seconds; between them, what the session has between its own.
fn spaced(session: &Session, every_s: f64) -> Vec<f64> {
    let place = |seconds: f64| ((seconds * RATE_HZ) as usize).min(session.torque.len());
    let pulls: Vec<(usize, usize)> = session
        .truths
        .iter()
        .map(|truth| (place((truth.from_s - 0.1).max(0.0)), place(truth.to_s + 0.2)))
        .collect();
    let rest = session.torque.iter().enumerate();
    let rest = rest.filter(|(at, nm)| {
        nm.is_finite() && pulls.iter().all(|(from, to)| !(*from..*to).contains(at))
    });
    let mut rest = rest.map(|(_, nm)| *nm).cycle();
    let mut all = Vec::new();
    for (from, to) in pulls.iter().copied() {
        let pull = session.torque.get(from..to).unwrap_or_default();
        all.extend(pull.iter().filter(|nm| nm.is_finite()));
        let gap = ((every_s * RATE_HZ) as usize).saturating_sub(pull.len());
        all.extend(rest.by_ref().take(gap));
    }
    all
}

fn source() -> Source {
    Source { range_max: Some(Torque::from_nm(RANGE_NM)), ..Source::default() }
}

fn by_block(turned: &[f64]) -> Vec<f64> {
    let before = |index: usize| (index / BLOCK * BLOCK).checked_sub(1).map_or(0.0, |at| turned[at]);
    turned.iter().enumerate().map(|(index, deg)| deg - before(index)).collect()
}

/// When each pull peaked, and how high.
fn read(
    finder: &mut PullFinder,
    torque: &[f32],
    steps: Option<&[f64]>,
    size: usize,
) -> Vec<(f64, f64)> {
    let mut pulls = Vec::new();
    let mut note = |found| {
        if let Found::Pull(pull) = found {
            pulls.push((pull.peak.at.seconds(), pull.peak.torque.nm()));
        }
    };
    for (index, part) in torque.chunks(size).enumerate() {
        let first = index * size;
        let block = Block {
            start: Stamp::from_seconds(first as f64 / RATE_HZ),
            rate_hz: RATE_HZ,
            torque: part,
            turned_deg: steps.map(|steps| &steps[first..first + part.len()]),
        };
        finder.feed(&block, &mut note);
    }
    finder.finish(&mut note);
    pulls
}

fn write_samples(file: &Path, mix: &str) {
    let (_, every_s) = MIXES.into_iter().find(|(name, _)| *name == mix).unwrap();
    let torque = mixed(every_s, SAMPLES);
    let octets: Vec<u8> = torque.iter().flat_map(|nm| f64::from(*nm).to_le_bytes()).collect();
    std::fs::write(file, octets).unwrap();
}

/// How long it takes to add the samples up: nothing that looks at each of them is faster.
fn summed(torque: &[f32]) -> Duration {
    let mut best = Duration::MAX;
    for _ in 0..TURNS {
        let began = Instant::now();
        let mut sums = [0.0; 16];
        for part in black_box(torque).as_chunks::<16>().0 {
            for (sum, torque) in sums.iter_mut().zip(part) {
                *sum += f64::from(*torque);
            }
        }
        black_box(sums);
        best = best.min(began.elapsed());
    }
    best
}

fn time_samples(file: &Path) {
    let octets = std::fs::read(file).unwrap();
    let torque: Vec<f32> = octets
        .chunks_exact(8)
        .map(|octets| f64::from_le_bytes(octets.try_into().unwrap()) as f32)
        .collect();
    let mut pulls = Vec::new();
    let seconds = [WHOLE, BLOCK].map(|size| {
        let mut best = Duration::MAX;
        for _ in 0..TURNS {
            let mut finder = PullFinder::new(source());
            let began = Instant::now();
            pulls = read(&mut finder, &torque, None, size);
            best = best.min(began.elapsed());
        }
        best.as_secs_f64()
    });
    let told = serde_json::json!({
        "samples": torque.len(), "whole_s": seconds[0], "blocks_s": seconds[1], "pulls": pulls,
        "sum_s": summed(&torque).as_secs_f64(),
    });
    writeln!(std::io::stdout().lock(), "{told}").unwrap();
}
