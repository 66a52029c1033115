//! Fits the weights of the probabilities on seeds that nothing is reported on.

use crate::generator::session::Wishes;
use crate::generator::{Act, Truth};
use crate::reading::{Matched, compare_all};
use crate::trees::Trees;
use clampbook::core::signal::inputs;
use std::fmt::Write as _;
use std::ops::Range;

/// Seeds that are fitted on, in the stated ranges and in wider ones: what nobody here has seen lies
/// beside any range. Those of the report, and those that anything is judged on, begin elsewhere.
pub const SEEDS: Range<u64> = 1..2_001;
pub const WIDE_SEEDS: Range<u64> = 1..1_201;
/// The same of evenings with many faulty joints, in both ranges: most faults are rare, and what is mistaken
/// for one is mostly another.
pub const TROUBLED_SEEDS: Range<u64> = 20_001..21_001;
/// Weight of the ridge that holds the weights small, in pulls.
const RIDGE: f64 = 4.0;
const ROUNDS: usize = 40;
/// Likelihood, as a ln, that a further round must gain.
const LEAST_GAIN: f64 = 0.1;
/// Curvature below which an example only slows the search down: most pulls are plainly without fault.
const LEAST_BEND: f64 = 1e-3;
/// Reach of the inputs: few spreads where hands differ, far where a fault is far from what is usual.
const FEW: f64 = 3.0;
const FAR: f64 = 8.0;
/// An accusation must be rare among those it does not fit: examples that are not so weigh up to so much
/// more, the more they look as if they were, and those that are so, but do not look it, this much less.
const ACCUSED: f64 = 20.0;
const HOPELESS: f64 = 0.3;
const HOPELESS_LN_ODDS: f64 = -2.0;
const RARE_ROUNDS: usize = 2;
/// Weight of pulls that are neither of a slack nor of a tight fastener, or are faulty.
const BETWEEN: f64 = 0.25;

/// One example: inputs, whether it is so, and its weight.
type Example<const N: usize> = ([f64; N], bool, f64);

/// A model as fitted.
struct Model<const N: usize> {
    prior: f64,
    middle: [f64; N],
    spread: [f64; N],
    reach: f64,
    products: bool,
    weights: Vec<f64>,
}

/// Pulls to fit on.
pub struct Pulls {
    pub still: Vec<Matched>,
    pub turning: Vec<Matched>,
    /// Of evenings with many faulty joints.
    pub troubled_still: Vec<Matched>,
    pub troubled_turning: Vec<Matched>,
}

impl Pulls {
    pub fn read(seeds: Range<u64>, wide_seeds: Range<u64>, troubled_seeds: Range<u64>) -> Self {
        let both_ranges = |seeds: &Range<u64>, wide_seeds: &Range<u64>, rotation, troubled| {
            let read = |seeds: &Range<u64>, wide| {
                compare_all(seeds.clone(), Wishes { rotation, wide, troubled }).matched
            };
            let mut all = read(seeds, false);
            all.extend(read(wide_seeds, true));
            all
        };
        let usual = |rotation| both_ranges(&seeds, &wide_seeds, rotation, false);
        let troubled = |rotation| both_ranges(&troubled_seeds, &troubled_seeds, rotation, true);
        Self {
            still: usual(false),
            turning: usual(true),
            troubled_still: troubled(false),
            troubled_turning: troubled(true),
        }
    }
}

/// The text of the file of weights. What pulls before seemed to be is judged by the weights in place:
/// it has settled when a second fit changes nothing.
/// `standing` and `stood` are what trees make of the same pulls.
pub fn weights(pulls: &Pulls, standing: &Trees, stood: &Trees) -> String {
    let (still, turning) = (&pulls.still, &pulls.turning);
    let both: Vec<Matched> = still.iter().chain(turning).copied().collect();
    let is_tight = |truth: &Truth| truth.act == Act::Tight;
    let acts = || both.iter().filter(tightened);
    let shape = fit(
        true,
        FEW,
        acts().map(|one| (inputs::shape(&one.pull), is_tight(&one.truth), clear(one))),
    );
    let tight_inputs =
        |one: &Matched| inputs::tight(&one.pull, shape.ln_odds(&inputs::shape(&one.pull)));
    let tight = fit_rare(
        true,
        FEW,
        acts().map(|one| (tight_inputs(one), is_tight(&one.truth), weight(one))),
    );
    let turned = fit(
        false,
        FEW,
        turning.iter().filter(tightened).filter_map(|one| {
            let ln_odds = stood.ln_odds(&inputs::stood(&one.pull));
            Some((inputs::turned(&one.pull, ln_odds)?, is_tight(&one.truth), weight(one)))
        }),
    );
    let stands =
        |one: &Matched| standing.ln_odds(&inputs::standing(&one.pull, &inputs::trace(&one.pull)));
    let standing_turned = fit(
        false,
        FEW,
        turning.iter().filter(tightened).filter_map(|one| {
            let given = inputs::turned(&one.pull, stands(one))?;
            Some((given, is_tight(&one.truth), weight(one)))
        }),
    );
    let trial = fit(
        true,
        FEW,
        both.iter().filter(|one| one.truth.act != Act::Loosen && usable(one)).map(|one| {
            let alone = stands(one);
            let with_turn =
                inputs::turned(&one.pull, alone).map(|given| standing_turned.ln_odds(&given));
            let ln_odds = with_turn.unwrap_or(alone);
            (inputs::trial(&one.pull, ln_odds), one.truth.act == Act::Trial, 1.0)
        }),
    );
    let mut text = String::from(HEAD);
    write(&mut text, "SHAPE", "SHAPE", &shape);
    write(&mut text, "TIGHT", "TIGHT", &tight);
    write(&mut text, "TIGHT_TURNED", "TURNED", &turned);
    write(&mut text, "STANDING_TURNED", "TURNED", &standing_turned);
    write(&mut text, "TRIAL", "TRIAL", &trial);
    let flag = |of: fn(&Truth) -> bool| {
        fit_rare(
            true,
            FAR,
            both.iter().map(move |one| (inputs::texture(&one.pull), of(&one.truth), 1.0)),
        )
    };
    write(&mut text, "SLIP", "TEXTURE", &flag(|truth| truth.faults.slip.is_full()));
    write(&mut text, "IMPACT", "TEXTURE", &flag(|truth| truth.faults.impact.is_full()));
    text
}

/// Pulls of which it is asked whether the fastener was already tight.
pub fn tightened(one: &&Matched) -> bool {
    matches!(one.truth.act, Act::Fresh | Act::Tight) && usable(one)
}

fn usable(one: &Matched) -> bool {
    !one.truth.faults.impact.is_full() && !one.truth.faint
}

/// What was begun between slack and tight is neither: it counts, but less.
pub fn weight(one: &Matched) -> f64 {
    clear(one).max(BETWEEN)
}

/// The same, but it does not count at all: torque over time shows no more of it than where it was begun.
fn clear(one: &Matched) -> f64 {
    let between = one.truth.act == Act::Fresh && one.truth.held > 0.7;
    if between || one.truth.faults.odd { 0.0 } else { 1.0 }
}

/// The weight of an example that has `own`, if what was fitted before gives it this ln of the odds.
pub fn rare(own: f64, so: bool, ln_odds: f64) -> f64 {
    own * match so {
        // What is neither has been weighed already.
        false if own < 1.0 => 1.0,
        false => 1.0 + ACCUSED / (1.0 + (-ln_odds).exp()),
        true if ln_odds < HOPELESS_LN_ODDS => HOPELESS,
        true => 1.0,
    }
}

const HEAD: &str = "\
//! Fitted weights: `cargo bench --bench evaluation -- fit` writes this file from generated pulls.
//!
//! Unit: ln of odds a spread of the input. Reason: those weights make the pulls of the fitting seeds
//! most probable, with a ridge against large ones. What each input means is in `inputs.rs`.

#![allow(clippy::approx_constant, reason = \"a weight may come near to pi by chance\")]

use super::inputs;
use super::logistic::Logistic;

/// A model, and the ln of the odds among the pulls that it was fitted on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fitted<const N: usize> {
    pub prior_ln_odds: f64,
    pub model: Logistic<N>,
}
";

impl<const N: usize> Model<N> {
    fn ln_odds(&self, inputs: &[f64; N]) -> f64 {
        dot(&self.weights, &self.terms(inputs)).clamp(-12.0, 12.0)
    }

    /// 1, the inputs, and their products.
    fn terms(&self, inputs: &[f64; N]) -> Vec<f64> {
        let taken: Vec<f64> = (0..N)
            .map(|i| ((inputs[i] - self.middle[i]) / self.spread[i]).clamp(-self.reach, self.reach))
            .collect();
        let mut terms = vec![1.0];
        terms.extend(&taken);
        for first in 0..if self.products { N } else { 0 } {
            terms.extend((first..N).map(|second| taken[first] * taken[second]));
        }
        terms
    }
}

/// Products, and spreads from the middle beyond which an input says no more.
fn fit<const N: usize>(
    products: bool,
    reach: f64,
    examples: impl Iterator<Item = Example<N>>,
) -> Model<N> {
    fit_all(products, reach, examples.collect(), 0)
}

/// The same, ranked for accusations that are rarely wrong.
fn fit_rare<const N: usize>(
    products: bool,
    reach: f64,
    examples: impl Iterator<Item = Example<N>>,
) -> Model<N> {
    fit_all(products, reach, examples.collect(), RARE_ROUNDS)
}

fn fit_all<const N: usize>(
    products: bool,
    reach: f64,
    mut examples: Vec<Example<N>>,
    rounds: usize,
) -> Model<N> {
    let count = examples.len() as f64;
    let mut model = Model {
        prior: 0.0,
        middle: [0.0; N],
        spread: [1.0; N],
        reach,
        products,
        weights: Vec::new(),
    };
    for i in 0..N {
        let mean = examples.iter().map(|(inputs, ..)| inputs[i]).sum::<f64>() / count;
        let square = examples.iter().map(|(inputs, ..)| (inputs[i] - mean).powi(2)).sum::<f64>();
        model.middle[i] = rounded(mean);
        model.spread[i] = rounded((square / count).sqrt().max(1e-3));
    }
    let so = examples.iter().filter(|(_, so, _)| *so).count() as f64;
    model.prior = rounded((so / (count - so)).ln());
    let terms: Vec<Vec<f64>> = examples.iter().map(|(inputs, ..)| model.terms(inputs)).collect();
    let mut weights = vec![0.0; terms[0].len()];
    weights[0] = model.prior;
    newton(&terms, &examples, &mut weights);
    let own: Vec<f64> = examples.iter().map(|(.., weight)| *weight).collect();
    for _ in 0..rounds {
        for ((example, terms), own) in examples.iter_mut().zip(&terms).zip(&own) {
            example.2 = rare(*own, example.1, dot(&weights, terms));
        }
        newton(&terms, &examples, &mut weights);
    }
    // Weighted examples rank well; what is stated must hold for all of them alike.
    if examples.iter().any(|(.., weight)| *weight != 1.0) {
        let scores: Vec<Vec<f64>> =
            terms.iter().map(|terms| vec![1.0, dot(&weights, terms)]).collect();
        let alike: Vec<Example<N>> =
            examples.iter().map(|(inputs, so, _)| (*inputs, *so, 1.0)).collect();
        let mut scale = vec![0.0, 1.0];
        newton(&scores, &alike, &mut scale);
        for weight in &mut weights {
            *weight *= scale[1];
        }
        weights[0] += scale[0];
    }
    model.weights = weights.into_iter().map(rounded).collect();
    model
}

/// Newton's method on the penalised likelihood, with steps halved until it grows.
fn newton<const N: usize>(terms: &[Vec<f64>], examples: &[Example<N>], weights: &mut Vec<f64>) {
    let size = weights.len();
    let likelihood = |weights: &[f64]| {
        let fits = terms.iter().zip(examples).map(|(terms, (_, so, weight))| {
            let score = dot(weights, terms);
            let against = if *so { -score } else { score };
            -weight * if against > 30.0 { against } else { against.exp().ln_1p() }
        });
        let ridge: f64 = weights[1..].iter().map(|one| one * one).sum();
        fits.sum::<f64>() - 0.5 * RIDGE * ridge
    };
    let mut reached = likelihood(weights);
    for _ in 0..ROUNDS {
        let mut slope = vec![0.0; size];
        let mut curve = vec![vec![0.0; size]; size];
        for (terms, (_, so, weight)) in terms.iter().zip(examples) {
            let p = 1.0 / (1.0 + (-dot(weights, terms)).exp());
            let off = weight * (f64::from(u8::from(*so)) - p);
            let bend = weight * p * (1.0 - p);
            for (slope, term) in slope.iter_mut().zip(terms) {
                *slope += off * term;
            }
            if bend < LEAST_BEND {
                continue;
            }
            for i in 0..size {
                let bent = bend * terms[i];
                for j in i..size {
                    curve[i][j] += bent * terms[j];
                }
            }
        }
        for i in 1..size {
            let (above, below) = curve.split_at_mut(i);
            for (j, row) in above.iter().enumerate() {
                below[0][j] = row[i];
            }
            slope[i] -= RIDGE * weights[i];
            below[0][i] += RIDGE;
        }
        let step = solve(curve, slope);
        let mut share = 1.0;
        let next = loop {
            let next: Vec<f64> = weights.iter().zip(&step).map(|(w, s)| w + s * share).collect();
            if share < 1e-4 || likelihood(&next) > reached {
                break next;
            }
            share *= 0.5;
        };
        let now = likelihood(&next);
        let grown = now - reached;
        if grown <= 0.0 {
            break;
        }
        (*weights, reached) = (next, now);
        if grown < LEAST_GAIN {
            break;
        }
    }
}

fn dot(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(a, b)| a * b).sum()
}

fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

/// Gaussian elimination with pivots.
fn solve(mut matrix: Vec<Vec<f64>>, mut right: Vec<f64>) -> Vec<f64> {
    let size = right.len();
    for column in 0..size {
        let pivot = (column..size)
            .max_by(|a, b| matrix[*a][column].abs().total_cmp(&matrix[*b][column].abs()))
            .unwrap_or(column);
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        for row in column + 1..size {
            let factor = matrix[row][column] / matrix[column][column];
            let (above, below) = matrix.split_at_mut(row);
            for (value, pivot) in below[0].iter_mut().zip(&above[column]).skip(column) {
                *value -= factor * pivot;
            }
            right[row] -= factor * right[column];
        }
    }
    for row in (0..size).rev() {
        let known: f64 = (row + 1..size).map(|k| matrix[row][k] * right[k]).sum();
        right[row] = (right[row] - known) / matrix[row][row];
    }
    right
}

fn write<const N: usize>(text: &mut String, name: &str, inputs: &str, model: &Model<N>) {
    let list = |values: &[f64]| {
        values.iter().map(|value| format!("{value:?}")).collect::<Vec<String>>().join(", ")
    };
    let mut products = String::new();
    let mut at = 1 + N;
    for first in 0..N {
        let mut row = vec![0.0; N];
        for one in row.iter_mut().skip(first) {
            *one = model.weights.get(at).copied().unwrap_or(0.0);
            at += 1;
        }
        let _ = write!(products, "[{}], ", list(&row));
    }
    let _ = write!(
        text,
        "\npub(super) const {name}: Fitted<{{ inputs::{inputs} }}> = Fitted {{\n prior_ln_odds: {:?},\n \
         model: Logistic {{\n middle: [{}],\n spread: [{}],\n reach: {:?},\n bias: {:?},\n linear: [{}],\n \
         product: [{products}],\n }},\n}};\n",
        model.prior,
        list(&model.middle),
        list(&model.spread),
        model.reach,
        model.weights[0],
        list(&model.weights[1..=N]),
    );
}
