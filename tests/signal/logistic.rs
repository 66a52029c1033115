//! Fits logistic regressions with products of two inputs: Newton's method with a ridge.

use std::fmt::Write as _;

/// Weight of the ridge that holds the weights small, in pulls.
const RIDGE: f64 = 4.0;
const ROUNDS: usize = 40;
/// Likelihood, as a ln, that a further round must gain.
const LEAST_GAIN: f64 = 0.1;
/// Curvature below which an example only slows the search down: most pulls are plainly without fault.
const LEAST_BEND: f64 = 1e-3;
/// An accusation must be rare among those it does not fit: examples that are not so weigh up to so much
/// more, the more they look as if they were, and those that are so, but do not look it, this much less.
const ACCUSED: f64 = 20.0;
const HOPELESS: f64 = 0.3;
const HOPELESS_LN_ODDS: f64 = -2.0;
const RARE_ROUNDS: usize = 2;

/// One example: inputs, whether it is so, and its weight.
pub type Example<const N: usize> = ([f64; N], bool, f64);

/// A model as fitted.
pub struct Model<const N: usize> {
    prior: f64,
    middle: [f64; N],
    spread: [f64; N],
    reach: f64,
    products: bool,
    weights: Vec<f64>,
}

impl<const N: usize> Model<N> {
    pub fn ln_odds(&self, inputs: &[f64; N]) -> f64 {
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
pub fn fit<const N: usize>(
    products: bool,
    reach: f64,
    examples: impl Iterator<Item = Example<N>>,
) -> Model<N> {
    fit_all(products, reach, examples.collect(), 0)
}

/// The same, ranked for accusations that are rarely wrong.
pub fn fit_rare<const N: usize>(
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

/// `size` is how many inputs it has, as the text of the file calls it.
pub fn write<const N: usize>(text: &mut String, name: &str, size: &str, model: &Model<N>) {
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
        "\npub(super) const {name}: Fitted<{{ {size} }}> = Fitted {{\n prior_ln_odds: {:?},\n \
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
