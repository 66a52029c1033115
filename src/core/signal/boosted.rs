//! Probability from many inputs: boosted trees, in which every level asks one question.
//!
//! Trees of that kind (Kohavi, 1994: oblivious) need no branch and little text; boosting by Friedman,
//! Hastie and Tibshirani (2000). They are fitted by `cargo bench --bench evaluation -- fit` and kept as text.

use super::logistic::MOST_LN_ODDS;
use fearless_simd::prelude::*;
use fearless_simd::{Simd, u64x8};

/// Questions a tree asks.
const DEPTH: usize = 4;
const LEAVES: usize = 1 << DEPTH;
/// Leaves are written in thousandths of ln of odds.
const THOUSAND: f64 = 1_000.0;
/// Trees that are asked side by side.
const TOGETHER: usize = 8;
/// Every so many groves, the rest are spared if the ln of the odds is below that: most pulls are plainly
/// without fault, and what is left cannot make any of them suspect.
const ENOUGH: usize = 40 / TOGETHER;
const PLAIN_LN_ODDS: f64 = -7.0;
/// As many inputs as a question can name.
const INPUTS: usize = 1 << u8::BITS;

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Boosted {
    bias: f64,
    trees: usize,
    groves: Vec<Grove>,
}

/// What trees are asked about.
#[derive(Debug, Clone, Copy)]
pub(super) struct Inputs([f64; INPUTS]);

/// Trees side by side, question by question; those that are missing say nothing.
#[derive(Debug, Clone, PartialEq)]
struct Grove {
    /// The value of the input above which the answer is yes.
    above: [[f64; TOGETHER]; DEPTH],
    inputs: [[u8; TOGETHER]; DEPTH],
    /// Thousandths of ln of odds for each row of answers, the first answer first.
    leaves: [[i16; LEAVES]; TOGETHER],
}

/// What is wrong with a text of trees.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("expected {expected} in line {line} of the trees")]
pub(super) struct Fault {
    line: usize,
    expected: &'static str,
}

/// Without trees, nothing is ever said to be so.
impl Default for Boosted {
    fn default() -> Self {
        Self::new(-MOST_LN_ODDS)
    }
}

impl Inputs {
    /// These, in order; nothing is above any value in the places after them.
    pub fn of(inputs: &[f64]) -> Self {
        let mut all = [f64::NAN; INPUTS];
        for (to, from) in all.iter_mut().zip(inputs) {
            *to = *from;
        }
        Self(all)
    }
}

impl Grove {
    const BARE: Self = Self {
        above: [[f64::INFINITY; TOGETHER]; DEPTH],
        inputs: [[0; TOGETHER]; DEPTH],
        leaves: [[0; LEAVES]; TOGETHER],
    };

    /// Thousandths of ln of odds of all of its trees.
    #[inline(always)]
    fn thousandths(&self, simd: impl Simd, Inputs(inputs): &Inputs) -> i32 {
        let mut leaf = u64x8::splat(simd, 0);
        for (above, asked) in self.above.iter().zip(&self.inputs) {
            let mut yes = [0; TOGETHER];
            for ((yes, above), input) in yes.iter_mut().zip(above).zip(asked) {
                *yes = u64::from(inputs[usize::from(*input)] > *above);
            }
            leaf = leaf + leaf + u64x8::load_array(simd, yes);
        }
        let leaf = leaf.to_array();
        let mut sum = 0;
        for (leaves, leaf) in self.leaves.iter().zip(leaf) {
            sum += i32::from(leaves[leaf as usize % LEAVES]);
        }
        sum
    }
}

impl Boosted {
    fn new(bias: f64) -> Self {
        Self { bias, trees: 0, groves: Vec::new() }
    }

    fn plant(&mut self, questions: [(u8, f64); DEPTH], leaves: [i16; LEAVES]) {
        let place = self.trees % TOGETHER;
        if place == 0 {
            self.groves.push(Grove::BARE);
        }
        let Some(grove) = self.groves.last_mut() else { return };
        for (level, (input, above)) in questions.into_iter().enumerate() {
            grove.inputs[level][place] = input;
            grove.above[level][place] = above;
        }
        grove.leaves[place] = leaves;
        self.trees += 1;
    }

    pub fn ln_odds(&self, simd: impl Simd, inputs: &Inputs) -> f64 {
        simd.vectorize(
            #[inline(always)]
            || self.summed(simd, inputs),
        )
    }

    #[inline(always)]
    fn summed(&self, simd: impl Simd, inputs: &Inputs) -> f64 {
        let ln_odds = |thousandths: i32| self.bias + f64::from(thousandths) / THOUSAND;
        let mut sum = 0;
        for groves in self.groves.chunks(ENOUGH) {
            for grove in groves {
                sum += grove.thousandths(simd, inputs);
            }
            if ln_odds(sum) < PLAIN_LN_ODDS {
                break;
            }
        }
        ln_odds(sum).clamp(-MOST_LN_ODDS, MOST_LN_ODDS)
    }

    pub fn probability(&self, simd: impl Simd, inputs: &Inputs) -> f64 {
        1.0 / (1.0 + (-self.ln_odds(simd, inputs)).exp())
    }
}

/// Names and models of a text, in order.
///
/// A line with a name and a bias begins a model; each line after it is a tree: questions `input>value`,
/// a bar, leaves. `#` begins a remark.
pub(super) fn read(text: &str) -> Result<Vec<(&str, Boosted)>, Fault> {
    let mut models: Vec<(&str, Boosted)> = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let fault = |expected| Fault { line: index + 1, expected };
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        if let Some((asked, leaves)) = line.split_once('|') {
            let (_, model) = models.last_mut().ok_or(fault("the name of a model"))?;
            let asked = all(asked, question).ok_or(fault("four questions like 3>0.5"))?;
            let leaves = all(leaves, |text| text.parse().ok());
            model.plant(asked, leaves.ok_or(fault("sixteen whole numbers"))?);
        } else {
            let named = line.split_once(' ');
            let named = named.and_then(|(name, bias)| Some((name, finite(bias)?)));
            let (name, bias) = named.ok_or(fault("a name and a number"))?;
            models.push((name, Boosted::new(bias)));
        }
    }
    Ok(models)
}

fn all<T, const N: usize>(text: &str, one: fn(&str) -> Option<T>) -> Option<[T; N]> {
    let all: Option<Vec<T>> = text.split_whitespace().map(one).collect();
    all?.try_into().ok()
}

fn question(text: &str) -> Option<(u8, f64)> {
    let (input, above) = text.split_once('>')?;
    Some((input.parse().ok()?, finite(above)?))
}

fn finite(text: &str) -> Option<f64> {
    text.trim().parse().ok().filter(|number: &f64| number.is_finite())
}

#[cfg(test)]
mod tests {
    use super::{Boosted, Fault, Inputs, read};
    use fearless_simd::{Level, dispatch};

    const TREE: &str = "0>1 1>2 0>3 2>-0.5|0 1 2 3 4 5 6 7 8 9 10 11 12 13 14 -15000";

    #[test]
    fn each_answer_leads_to_its_own_leaf() {
        let text = format!("# a remark\n\ngive -1.5\n{TREE}\n{TREE}\nother 0\n");
        let models = read(&text).unwrap();
        let [("give", give), ("other", other)] = models.as_slice() else { panic!("{models:?}") };
        let near = |inputs: &[f64], expected: f64| {
            let ln_odds = ln_odds(give, inputs);
            assert!((ln_odds - expected).abs() < 1e-9, "{inputs:?}");
        };
        near(&[0.0, 0.0, -1.0], -1.5);
        near(&[0.0, 0.0, 0.0], -1.5 + 0.002);
        near(&[2.0, 0.0, -1.0], -1.5 + 0.016);
        near(&[4.0, 2.5, -0.5], -1.5 + 0.028);
        near(&[4.0, 2.5, 0.0], -12.0);
        near(&[f64::NAN, f64::NAN, f64::NAN], -1.5);
        near(&[], -1.5);
        assert_eq!(ln_odds(other, &[1.0]), 0.0);
        assert!(ln_odds(&Boosted::default(), &[1.0]) < -11.0);
    }

    fn ln_odds(model: &Boosted, inputs: &[f64]) -> f64 {
        let inputs = Inputs::of(inputs);
        dispatch!(Level::new(), simd => model.ln_odds(simd, &inputs))
    }

    #[test]
    fn a_line_that_is_no_tree_is_told_with_its_place() {
        let fault = |text: &str| read(text).err();
        let at = |line, expected| Some(Fault { line, expected });
        assert_eq!(fault(TREE), at(1, "the name of a model"));
        assert_eq!(fault("give\n"), at(1, "a name and a number"));
        assert_eq!(fault("give inf\n"), at(1, "a name and a number"));
        let broken = |from, to| fault(&format!("give 0\n{}", TREE.replace(from, to)));
        assert_eq!(broken(" 2>-0.5", ""), at(2, "four questions like 3>0.5"));
        assert_eq!(broken("2>-0.5", "2>NaN"), at(2, "four questions like 3>0.5"));
        assert_eq!(broken("2>", "-2>"), at(2, "four questions like 3>0.5"));
        assert_eq!(broken("-15000", ""), at(2, "sixteen whole numbers"));
        assert_eq!(broken("-15000", "0.5"), at(2, "sixteen whole numbers"));
    }
}
