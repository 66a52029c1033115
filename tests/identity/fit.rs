//! Fits what `core::tracker::evidence::trace` weighs a shape with, on jobs that nothing is judged on.
//!
//! Logistic regression (Newton's method; Hastie, Tibshirani and Friedman 2009, 4.4.1) of "was tight already"
//! against "was slack", both with the same total weight, so that the odds are the ratio of likelihoods.

use super::class::TRACE;
use super::job::Job;
use super::measure::quantile;
use super::tell;
use clampbook::core::event::{Act, What};
use clampbook::core::signal::{Description, inputs::upper_pace};
use std::collections::BTreeMap;
use std::io::{Result, Write};

/// Jobs that it is fitted on.
const SEEDS: std::ops::Range<u64> = 3_000_001..3_000_401;
/// How many pulls that turned an opinion of people in general is worth: as the tracker has it.
const OPINION_WORTH: f64 = 1.5;
/// What is fitted: even, and each unit of what the description told; even and quicker of a hand that is
/// familiar.
const WEIGHTS: usize = 4;
const NAMES: [&str; WEIGHTS] = ["told even", "told each", "familiar even", "familiar quicker"];
/// A fastener that held less than this share of the torque is slack, one that held more than that tight.
const SLACK: f64 = 0.4;
const TIGHT: f64 = 0.93;
/// Shares held whose shapes are looked at in between.
const BETWEEN: [f64; 7] = [0.4, 0.5, 0.6, 0.7, 0.8, 0.88, 0.93];
/// Beyond this a description tells no more.
const BOUNDS: (f64, f64) = (-7.0, 4.0);
const ROUNDS: usize = 30;

struct Row {
    inputs: [f64; WEIGHTS],
    held: f64,
    again: bool,
}

pub fn fit(out: &mut impl Write) -> Result<()> {
    let rows: Vec<Row> = SEEDS.flat_map(rows).collect();
    let tight: Vec<&Row> = rows.iter().filter(|row| row.again && row.held > TIGHT).collect();
    let slack: Vec<&Row> = rows.iter().filter(|row| !row.again && row.held < SLACK).collect();
    writeln!(out, "{} pulls on tight fasteners, {} on slack ones", tight.len(), slack.len())?;
    let weights = newton(&tight, &slack);
    for (name, weight) in NAMES.iter().zip(weights) {
        writeln!(out, "  {name}: {weight:.3}")?;
    }
    let ratio = |row: &&Row| ln_ratio(&weights, &row.inputs);
    let share = |rows: &[&Row], over: f64| {
        rows.iter().filter(|row| ratio(row) > over).count() as f64 / rows.len() as f64
    };
    for over in [-2.0, -1.0, 0.0, 1.0, 2.0, 3.0, 4.0] {
        let (found, wrong) = (share(&tight, over), share(&slack, over));
        writeln!(out, "  above {over}: {found:.3} of the tight, {wrong:.4} of the slack")?;
    }
    for pair in BETWEEN.windows(2) {
        let within = |row: &&Row| !row.again && (pair[0]..pair[1]).contains(&row.held);
        let between: Vec<&Row> = rows.iter().filter(within).collect();
        let looks = looks_tight(&between.iter().map(ratio).collect::<Vec<f64>>());
        writeln!(
            out,
            "  held {:.2} to {:.2}: {} pulls, {looks:.2} look tight",
            pair[0],
            pair[1],
            between.len()
        )?;
    }
    let stuck: Vec<&Row> = rows.iter().filter(|row| !row.again && row.held > TIGHT).collect();
    let looks = looks_tight(&stuck.iter().map(ratio).collect::<Vec<f64>>());
    writeln!(out, "  held more: {} pulls, {looks:.2} look tight", stuck.len())?;
    turns(out)
}

/// How far pulls turn, as ln of the ratio to what siblings before it led to expect of one that is slack:
/// what the constants of `core::tracker::evidence::rotation` were judged by.
fn turns(out: &mut impl Write) -> Result<()> {
    let (mut slack, mut tight) = (Vec::new(), Vec::new());
    for job in SEEDS.map(Job::seeded) {
        let mut usual: BTreeMap<(usize, usize), (f64, f64)> = BTreeMap::new();
        for (place, pull) in job.pulls.iter().enumerate() {
            let first = place == 0 || job.pulls[place - 1].effort != pull.effort;
            let alike = usual.entry((pull.group, pull.pass)).or_default();
            if !first || pull.act == Act::Loosen {
                continue;
            }
            let peak = pull.told.peak_nm.abs().max(0.1);
            let deg = pull.told.rotation_deg.abs();
            let again = pull.act == Act::Recheck;
            if alike.1 >= 2.0 {
                let expected = (alike.0 / alike.1).exp() * peak;
                let ratio = ((deg + 0.4) / (expected + 0.4)).ln();
                let into = if again { &mut tight } else { &mut slack };
                into.push(ratio);
            }
            if !again && pull.told.held < TIGHT {
                *alike = (alike.0 + (deg.max(0.1) / peak).ln(), alike.1 + 1.0);
            }
        }
    }
    for (name, mut ratios) in [("slack", slack), ("tight", tight)] {
        let shares = [0.005, 0.02, 0.1, 0.5, 0.9, 0.98, 0.995];
        let at = shares.map(|share| format!("{:.2}", quantile(&mut ratios, share)));
        writeln!(out, "  turned, {name}, {} pulls: {}", ratios.len(), at.join(" "))?;
    }
    Ok(())
}

fn rows(seed: u64) -> Vec<Row> {
    let job = Job::seeded(seed);
    let mut shapes: BTreeMap<u64, Description> = BTreeMap::new();
    for input in tell::inputs(&job, &TRACE) {
        match input.what {
            What::Reading(one) => shapes.extend(one.description.map(|shape| (one.seq, *shape))),
            What::Described(one) => {
                shapes.insert(one.seq, *one.description);
            }
            _ => {}
        }
    }
    let mut found = Vec::new();
    let (mut count, mut paces) = (0.0, 0.0);
    for (place, pull) in job.pulls.iter().enumerate() {
        let Some(shape) = shapes.get(&(place as u64 + 1)) else { continue };
        if pull.act == Act::Loosen {
            continue;
        }
        let ln_tight = shape.act.ln_tight_over_fresh.clamp(BOUNDS.0, BOUNDS.1);
        let pace = upper_pace(shape) - shape.peak.torque.nm().abs().max(0.1).ln();
        let familiar = count / (count + OPINION_WORTH);
        found.push(Row {
            inputs: [1.0, ln_tight, familiar, familiar * (paces / f64::max(count, 1.0) - pace)],
            held: pull.told.held,
            again: pull.act == Act::Recheck,
        });
        let first = place == 0 || job.pulls[place - 1].effort != pull.effort;
        if pull.act == Act::Tighten && first && pull.told.held < TIGHT {
            (count, paces) = (count + 1.0, paces + pace);
        }
    }
    found
}

fn ln_ratio(weights: &[f64; WEIGHTS], inputs: &[f64; WEIGHTS]) -> f64 {
    weights.iter().zip(inputs).map(|(weight, input)| weight * input).sum()
}

fn newton(tight: &[&Row], slack: &[&Row]) -> [f64; WEIGHTS] {
    let mut weights = [0.0; WEIGHTS];
    for _ in 0..ROUNDS {
        let mut slope = [0.0; WEIGHTS];
        let mut bend = [[0.0; WEIGHTS]; WEIGHTS];
        for (rows, so) in [(tight, 1.0), (slack, 0.0)] {
            let each = 1.0 / rows.len().max(1) as f64;
            for row in rows {
                let p = 1.0 / (1.0 + (-ln_ratio(&weights, &row.inputs)).exp());
                for (input, (slope, bend)) in row.inputs.iter().zip(slope.iter_mut().zip(&mut bend))
                {
                    *slope += each * (so - p) * input;
                    for (bend, other) in bend.iter_mut().zip(&row.inputs) {
                        *bend += each * p * (1.0 - p) * input * other;
                    }
                }
            }
        }
        for (one, row) in bend.iter_mut().enumerate() {
            row[one] += 1e-4;
            slope[one] -= 1e-4 * weights[one];
        }
        for (weight, step) in weights.iter_mut().zip(solve(bend, slope)) {
            *weight += step;
        }
    }
    weights
}

/// Gaussian elimination of a system that is positive definite.
fn solve(mut rows: [[f64; WEIGHTS]; WEIGHTS], mut right: [f64; WEIGHTS]) -> [f64; WEIGHTS] {
    for pivot in 0..WEIGHTS {
        for below in pivot + 1..WEIGHTS {
            let times = rows[below][pivot] / rows[pivot][pivot];
            let above = rows[pivot];
            for (value, above) in rows[below].iter_mut().zip(above) {
                *value -= times * above;
            }
            right[below] -= times * right[pivot];
        }
    }
    for pivot in (0..WEIGHTS).rev() {
        let known: f64 = (pivot + 1..WEIGHTS).map(|at| rows[pivot][at] * right[at]).sum();
        right[pivot] = (right[pivot] - known) / rows[pivot][pivot];
    }
    right
}

/// The share of these that look tight, where each looks slack or tight (expectation and maximisation).
fn looks_tight(ln_ratios: &[f64]) -> f64 {
    let mut share = 0.5;
    for _ in 0..100 {
        let each = ln_ratios.iter().map(|ln| {
            let tight = share * ln.clamp(-20.0, 20.0).exp();
            tight / (1.0 - share + tight)
        });
        share = each.sum::<f64>() / ln_ratios.len().max(1) as f64;
    }
    share
}
