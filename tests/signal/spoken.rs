//! How often it would be said that a fastener slipped or that its thread gives, by the probability from which it is said.
//!
//! `cargo bench --bench spoken` prints, for each such probability, of how many plain pulls in a thousand it would be said
//! (nothing is wrong with them), of how many in which something else is wrong, and of what share of those of which it is
//! true. The seeds are nobody else's: nothing was fitted on them. `core/tracker/policy` has the probabilities in use.
#![allow(clippy::unwrap_used, dead_code)]

mod generator;
mod reading;

use clampbook::core::signal::Flags;
use generator::session::Wishes;
use generator::{Act, Degree, Faults};
use reading::{Matched, compare_all};
use std::io::Write;
use std::ops::Range;

const SEEDS: Range<u64> = 30_001..31_201;
const LEVELS: [f64; 8] = [0.5, 0.7, 0.8, 0.9, 0.95, 0.98, 0.99, 0.995];

/// What may be said, its probability, and how far it is true.
type Kind = (&'static str, fn(&Flags) -> f64, fn(&Faults) -> Degree);

const KINDS: [Kind; 3] = [
    ("slipped", |flags| flags.slip, |faults| faults.slip),
    ("thread gives", |flags| flags.thread_damage, |faults| faults.thread_damage),
    ("stretches", |flags| flags.yielding, |faults| faults.yielding),
];

fn main() {
    let mut out = std::io::stdout().lock();
    for (title, rotation, wide) in [
        ("torque alone", false, false),
        ("with rotation", true, false),
        ("torque alone, wide ranges", false, true),
        ("with rotation, wide ranges", true, true),
    ] {
        let pulls = compare_all(SEEDS, Wishes { rotation, wide, ..Wishes::default() }).matched;
        let pulls: Vec<Matched> = pulls
            .into_iter()
            .filter(|one| one.truth.act != Act::Loosen && !one.truth.faint)
            .collect();
        writeln!(out, "{title}: {} pulls", pulls.len()).unwrap();
        for kind in &KINDS {
            table(&mut out, &pulls, kind);
        }
    }
}

fn table(out: &mut impl Write, pulls: &[Matched], (name, probability, degree): &Kind) {
    let share = |level: f64, among: &dyn Fn(&Matched) -> bool| {
        let all: Vec<&Matched> = pulls.iter().filter(|one| among(one)).collect();
        let said = all.iter().filter(|one| probability(&one.pull.flags) >= level).count();
        (said, all.len(), said as f64 / all.len().max(1) as f64)
    };
    for level in LEVELS {
        let (plain, of_plain, plain_share) = share(level, &|one| !one.truth.faults.odd);
        let (other, of_other, _) =
            share(level, &|one| one.truth.faults.odd && degree(&one.truth.faults) == Degree::None);
        let (told, of_true, recall) = share(level, &|one| degree(&one.truth.faults).is_full());
        writeln!(
            out,
            "  {name:<14} {level:<6} plain {plain}/{of_plain} ({:.2} in 1000)  other {other}/{of_other}  true {told}/{of_true} ({:.0} %)",
            plain_share * 1e3,
            recall * 1e2
        )
        .unwrap();
    }
}
