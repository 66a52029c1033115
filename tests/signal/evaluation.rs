//! How well pulls are read, on seeds that nothing was fitted on.
//!
//! `cargo bench --bench evaluation` prints every figure with its goal; with `-- bound`, also what a
//! reader could tell that knew hand and joint. `-- tuning` does the same on seeds that a change may be
//! judged on while it is made. `-- fit` fits weights and trees anew on other seeds still and writes them into the
//! sources; twice, for what pulls before seemed to be is judged by the weights in place. `-- fit trees` fits the
//! trees alone.
#![allow(clippy::unwrap_used)]

mod bound;
mod fit;
mod fit_trees;
mod generator;
#[allow(dead_code)]
mod logistic;
mod measure;
mod reading;
mod report;
mod trees;

use std::io::Write;

const WEIGHTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src/core/signal/weights.rs");
const TREES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src/core/signal/fitted.trees");

fn main() {
    let mut out = std::io::stdout().lock();
    let said = |word: &str| std::env::args().any(|argument| argument == word);
    if said("fit") {
        let pulls = fit::Pulls::read(fit::SEEDS, fit::WIDE_SEEDS, fit::TROUBLED_SEEDS);
        let (standing, stood) = (fit_trees::standing(&pulls), fit_trees::stood(&pulls));
        std::fs::write(TREES, fit_trees::text(&pulls, &standing, &stood)).unwrap();
        writeln!(out, "{TREES} is written").unwrap();
        if !said("trees") {
            std::fs::write(WEIGHTS, fit::weights(&pulls, &standing, &stood)).unwrap();
            writeln!(out, "{WEIGHTS} is written; run rustfmt, then evaluate").unwrap();
        }
        return;
    }
    report::write(&mut out, said("tuning"), said("bound")).unwrap();
}
