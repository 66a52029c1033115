//! A session read by the library, and each pull found set against the truth.

use super::generator::Truth;
use super::generator::session::{Session, Wishes};
use clampbook::core::signal::{Block, Description, Found, PullFinder, Source};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;

/// What was found, set against what happened.
#[derive(Debug, Default)]
pub struct Reading {
    pub matched: Vec<Matched>,
    pub missed: Vec<Truth>,
    pub invented: Vec<Description>,
    pub samples: usize,
}

/// A pull found, and what it really was.
#[derive(Debug, Clone, Copy)]
pub struct Matched {
    pub truth: Truth,
    pub pull: Description,
    pub rate_hz: f64,
    pub quantum_nm: f64,
}

/// Reads many sessions, on every processor; in the order of their seeds.
pub fn compare_all(seeds: std::ops::Range<u64>, wishes: Wishes) -> Reading {
    let seeds: Vec<u64> = seeds.collect();
    let parts = std::thread::available_parallelism().map_or(1, usize::from);
    let read = |seeds: &[u64]| {
        let mut all = Reading::default();
        for seed in seeds {
            let session = Session::seeded(*seed, wishes);
            let samples = session.torque.len();
            all.join(Reading { samples, ..compare(&session) });
        }
        all
    };
    let mut all = Reading::default();
    std::thread::scope(|scope| {
        let parts = seeds.chunks(seeds.len().div_ceil(parts).max(1));
        let parts: Vec<_> = parts.map(|part| scope.spawn(move || read(part))).collect();
        for part in parts {
            all.join(part.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault)));
        }
    });
    all
}

impl Reading {
    fn join(&mut self, other: Self) {
        self.matched.extend(other.matched);
        self.missed.extend(other.missed);
        self.invented.extend(other.invented);
        self.samples += other.samples;
    }
}

/// Reads a whole session in blocks of `size` samples.
pub fn read(session: &Session, size: usize) -> Vec<Description> {
    let mut finder = PullFinder::new(source(session));
    let mut pulls = Vec::new();
    let mut note = |found| {
        if let Found::Pull(pull) = found {
            pulls.push(pull);
        }
    };
    let torque: Vec<f32> = session.torque.iter().map(|nm| *nm as f32).collect();
    let rate_hz = session.adapter.rate_hz;
    for (index, part) in torque.chunks(size).enumerate() {
        let first = index * size;
        let turned = session.turned.as_ref().map(|turned| {
            let before = first.checked_sub(1).map_or(0.0, |last| turned[last]);
            let part = &turned[first..first + part.len()];
            part.iter().map(|deg| deg - before).collect::<Vec<f64>>()
        });
        let block = Block {
            start: Stamp::from_seconds(first as f64 / rate_hz),
            rate_hz,
            torque: part,
            turned_deg: turned.as_deref(),
        };
        finder.feed(&block, &mut note);
    }
    finder.finish(&mut note);
    pulls
}

pub fn source(session: &Session) -> Source {
    Source {
        range_max: Some(Torque::from_nm(session.adapter.range_nm)),
        accuracy_pct: Some(session.adapter.accuracy_pct),
        wind_up_deg_per_nm: None,
    }
}

/// Reads a session and matches: a pull found is the true one that it overlaps most.
pub fn compare(session: &Session) -> Reading {
    let mut reading = Reading::default();
    let mut left = read(session, 1_000);
    for truth in &session.truths {
        let overlap = |pull: &Description| {
            pull.to.seconds().min(truth.to_s) - pull.from.seconds().max(truth.from_s)
        };
        let best = (0..left.len()).max_by(|a, b| overlap(&left[*a]).total_cmp(&overlap(&left[*b])));
        let least = 0.5 * (truth.to_s - truth.from_s);
        match best.filter(|index| overlap(&left[*index]) > least) {
            Some(index) => reading.matched.push(Matched {
                truth: *truth,
                pull: left.remove(index),
                rate_hz: session.adapter.rate_hz,
                quantum_nm: session.adapter.quantum_nm,
            }),
            None => reading.missed.push(*truth),
        }
    }
    reading.invented = left;
    reading
}
