//! Probability from many inputs: boosted trees, in which every level asks one question.
//!
//! Trees of that kind (Kohavi, 1994: oblivious) need no branch and little text; boosting by Friedman,
//! Hastie and Tibshirani (2000). They are fitted by `cargo bench --bench evaluation -- fit` and kept as text.

use super::logistic::MOST_LN_ODDS;

/// Questions a tree asks.
const DEPTH: usize = 4;
const LEAVES: usize = 1 << DEPTH;
/// Leaves are written in thousandths of ln of odds.
const THOUSAND: f64 = 1_000.0;
/// Every so many trees, the rest are spared if the ln of the odds is below that: most pulls are plainly
/// without fault, and what is left cannot make any of them suspect.
const ENOUGH: usize = 40;
const PLAIN_LN_ODDS: f64 = -7.0;

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Boosted {
    bias: f64,
    trees: Vec<Tree>,
}

#[derive(Debug, Clone, PartialEq)]
struct Tree {
    /// Input, and the value above which the answer is yes.
    asked: [(usize, f64); DEPTH],
    /// ln of odds for each row of answers, the first answer first.
    leaves: [f64; LEAVES],
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
        Self { bias: -MOST_LN_ODDS, trees: Vec::new() }
    }
}

impl Boosted {
    pub fn ln_odds(&self, inputs: &[f64]) -> f64 {
        let mut sum = self.bias;
        for (index, tree) in self.trees.iter().enumerate() {
            if index > 0 && index.is_multiple_of(ENOUGH) && sum < PLAIN_LN_ODDS {
                break;
            }
            let yes = |asked: &(usize, f64)| inputs.get(asked.0).is_some_and(|one| *one > asked.1);
            let leaf = tree.asked.iter().fold(0, |leaf, asked| 2 * leaf + usize::from(yes(asked)));
            sum += tree.leaves[leaf];
        }
        sum.clamp(-MOST_LN_ODDS, MOST_LN_ODDS)
    }

    pub fn probability(&self, inputs: &[f64]) -> f64 {
        1.0 / (1.0 + (-self.ln_odds(inputs)).exp())
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
            model.trees.push(Tree {
                asked: all(asked, question).ok_or(fault("four questions like 3>0.5"))?,
                leaves: all(leaves, leaf).ok_or(fault("sixteen whole numbers"))?,
            });
        } else {
            let named = line.split_once(' ');
            let named = named.and_then(|(name, bias)| Some((name, finite(bias)?)));
            let (name, bias) = named.ok_or(fault("a name and a number"))?;
            models.push((name, Boosted { bias, trees: Vec::new() }));
        }
    }
    Ok(models)
}

fn all<T, const N: usize>(text: &str, one: fn(&str) -> Option<T>) -> Option<[T; N]> {
    let all: Option<Vec<T>> = text.split_whitespace().map(one).collect();
    all?.try_into().ok()
}

fn question(text: &str) -> Option<(usize, f64)> {
    let (input, above) = text.split_once('>')?;
    Some((input.parse().ok()?, finite(above)?))
}

fn leaf(text: &str) -> Option<f64> {
    text.parse::<i32>().ok().map(|thousandths| f64::from(thousandths) / THOUSAND)
}

fn finite(text: &str) -> Option<f64> {
    text.trim().parse().ok().filter(|number: &f64| number.is_finite())
}

#[cfg(test)]
mod tests {
    use super::{Boosted, Fault, read};

    const TREE: &str = "0>1 1>2 0>3 2>-0.5|0 1 2 3 4 5 6 7 8 9 10 11 12 13 14 -15000";

    #[test]
    fn each_answer_leads_to_its_own_leaf() {
        let text = format!("# a remark\n\ngive -1.5\n{TREE}\n{TREE}\nother 0\n");
        let models = read(&text).unwrap();
        let [("give", give), ("other", other)] = models.as_slice() else { panic!("{models:?}") };
        let near = |inputs: &[f64], expected: f64| {
            assert!((give.ln_odds(inputs) - expected).abs() < 1e-9, "{inputs:?}");
        };
        near(&[0.0, 0.0, -1.0], -1.5);
        near(&[0.0, 0.0, 0.0], -1.5 + 0.002);
        near(&[2.0, 0.0, -1.0], -1.5 + 0.016);
        near(&[4.0, 2.5, -0.5], -1.5 + 0.028);
        near(&[4.0, 2.5, 0.0], -12.0);
        near(&[f64::NAN, f64::NAN, f64::NAN], -1.5);
        near(&[], -1.5);
        assert_eq!(other.probability(&[1.0]), 0.5);
        assert!(Boosted::default().probability(&[1.0]) < 1e-5);
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
