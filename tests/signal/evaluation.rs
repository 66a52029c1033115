//! How well pulls are read, on seeds that nothing was fitted on.
//!
//! `cargo bench --bench evaluation` prints every figure with its goal. With `-- fit` it fits the weights
//! anew on other seeds and writes them into the sources.
#![allow(clippy::unwrap_used)]

mod fit;
mod generator;
mod measure;
mod reading;
mod report;

use std::io::Write;

const WEIGHTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src/core/signal/weights.rs");

fn main() {
    let mut out = std::io::stdout().lock();
    if std::env::args().any(|argument| argument == "fit") {
        std::fs::write(WEIGHTS, fit::text()).unwrap();
        writeln!(out, "{WEIGHTS} is written; run rustfmt, then evaluate").unwrap();
        return;
    }
    report::write(&mut out).unwrap();
}
