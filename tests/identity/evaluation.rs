//! How well pulls find their fasteners, on generated jobs that nothing was fitted on.
//!
//! `cargo bench --bench identity` prints every figure with its goal and its 95 % interval. `-- short`
//! takes the fewer jobs that the figures in the tracker were judged by; `-- jobs N` no more than so many;
//! `-- only WORD` the classes with that word in their name; `-- seed N` that one job; `-- bound` prints
//! beside the figures what an idealised matcher tells; `-- kinds` splits them by kind of job; `-- wrong`
//! lists what went wrong, job by job. `-- fit` fits the weights of `looks.rs` anew and writes them.
#![allow(clippy::unwrap_used)]

#[path = "../signal/generator/mod.rs"]
#[allow(dead_code)]
mod generator;

#[path = "../signal/measure.rs"]
#[allow(dead_code)]
mod measure;

#[path = "../signal/logistic.rs"]
#[allow(dead_code)]
mod logistic;

mod class;
mod doing;
mod fit;
mod ideal;
mod job;
mod kind;
mod order;
mod person;
mod plan;
mod run;
mod score;
mod symmetry;
mod table;
mod tell;
mod work;

use class::{CLASSES, TRACE};
use ideal::Densities;
use std::io::Write;

/// Seeds that are reported on. Nothing was fitted or judged on them.
const REPORTED: std::ops::Range<u64> = 2_000_001..2_007_001;
const WEIGHTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src/core/tracker/looks_weights.rs");
/// Seeds to look at while anything is changed.
const LOOKED_AT: std::ops::Range<u64> = 1..3_001;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let has = |word: &str| arguments.iter().any(|argument| argument == word);
    let after = |word: &str| {
        let at = arguments.iter().position(|argument| argument == word)?;
        arguments.get(at + 1).cloned()
    };
    if has("fit") {
        std::fs::write(WEIGHTS, fit::weights(fit::SEEDS)).unwrap();
        return;
    }
    let seeds = if has("short") { LOOKED_AT } else { REPORTED };
    let jobs = after("jobs").and_then(|jobs| jobs.parse().ok()).unwrap_or(u64::MAX);
    let seeds = seeds.start..seeds.end.min(seeds.start.saturating_add(jobs));
    let one = after("seed").and_then(|seed| seed.parse::<u64>().ok());
    let seeds = one.map_or(seeds, |seed| seed..seed + 1);
    let only = after("only").unwrap_or_default();
    let classes: Vec<_> = CLASSES.iter().filter(|class| class.name.contains(&only)).collect();
    let mut out = std::io::stdout().lock();
    let densities = has("bound").then(|| Densities::learn(&TRACE));
    let told = run::all(seeds.clone(), &classes, densities.as_ref());
    writeln!(out, "seeds {seeds:?}\n").unwrap();
    table::mix(&mut out, seeds).unwrap();
    for (class, scores) in classes.iter().zip(&told) {
        table::class(&mut out, class, scores).unwrap();
        if has("kinds") {
            table::kinds(&mut out, scores).unwrap();
        }
        if has("wrong") {
            table::wrong(&mut out, scores).unwrap();
        }
    }
}
