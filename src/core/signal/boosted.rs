//! Probability from many inputs: boosted trees, in which every level asks one question.
//!
//! Trees of that kind (Kohavi, 1994: oblivious) need no branch and little text; boosting by Friedman,
//! Hastie and Tibshirani (2000). They are fitted by `cargo bench --bench evaluation -- fit` and kept as text.

mod answers;
mod grove;

use super::logistic::MOST_LN_ODDS;
use answers::{Answers, Questions};
use fearless_simd::Simd;
use grove::{DEPTH, Grove, LEAVES};

/// Leaves are written in thousandths of ln of odds.
const THOUSAND: f64 = 1_000.0;
/// After every grove, the rest are spared if the ln of the odds is below that: most pulls are plainly
/// without fault, and what is left cannot make any of them suspect.
const PLAIN_LN_ODDS: f64 = -6.0;
/// As many inputs as a question can name.
const INPUTS: usize = 1 << u8::BITS;

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Boosted {
    bias: f64,
    questions: Questions,
    groves: Vec<Grove>,
}

/// What trees are asked about. Half as precise as it is given, it takes half as long to be asked about.
#[derive(Debug, Clone, Copy)]
pub(super) struct Inputs([f32; INPUTS]);

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
        let mut all = Self([f32::NAN; INPUTS]);
        all.put(0, inputs);
        all
    }

    /// Puts these, in order, from this place on.
    pub fn put(&mut self, from: usize, inputs: &[f64]) {
        for (to, from) in self.0.iter_mut().skip(from).zip(inputs) {
            *to = *from as f32;
        }
    }
}

impl Boosted {
    fn new(bias: f64) -> Self {
        Self { bias, questions: Questions::default(), groves: Vec::new() }
    }

    /// One more tree, if there is room for its questions.
    fn plant(&mut self, questions: [(u8, f64); DEPTH], leaves: [i16; LEAVES]) -> Option<()> {
        let places = questions.map(|(input, above)| self.questions.place(input, above as f32));
        let [Some(first), Some(second), Some(third), Some(fourth)] = places else { return None };
        if self.groves.last().is_none_or(Grove::is_full) {
            self.groves.push(Grove::bare());
        }
        let grove = self.groves.last_mut()?;
        grove.plant([first, second, third, fourth], leaves, self.questions.count());
        Some(())
    }

    /// ln of the odds by each of these models.
    pub fn ln_odds<const N: usize>(
        simd: impl Simd,
        models: [&Self; N],
        inputs: &Inputs,
    ) -> [f64; N] {
        simd.vectorize(
            #[inline(always)]
            || Self::summed(simd, models, inputs),
        )
    }

    /// Answers cannot be read back as vectors as soon as they are there, and most models say enough with their first
    /// grove: so all are asked for it before any answers, and then those that are left for the rest.
    #[inline(always)]
    fn summed<const N: usize>(
        simd: impl Simd,
        models: [&Self; N],
        Inputs(inputs): &Inputs,
    ) -> [f64; N] {
        let mut answers = [const { Answers::none() }; N];
        let mut sums = [0; N];
        for (model, answers) in models.iter().zip(&mut answers) {
            if let Some(first) = model.groves.first() {
                answers.ask(simd, &model.questions, first.asked(), inputs);
            }
        }
        for ((model, answers), sum) in models.iter().zip(&answers).zip(&mut sums) {
            if let Some(first) = model.groves.first() {
                *sum = first.thousandths(simd, answers);
            }
        }
        for ((model, answers), sum) in models.iter().zip(&mut answers).zip(&sums) {
            if !model.is_plain(*sum) {
                answers.ask(simd, &model.questions, model.questions.count(), inputs);
            }
        }
        for ((model, answers), sum) in models.iter().zip(&answers).zip(&mut sums) {
            for grove in model.groves.iter().skip(1) {
                if model.is_plain(*sum) {
                    break;
                }
                *sum += grove.thousandths(simd, answers);
            }
        }
        let mut all = [0.0; N];
        for ((model, sum), ln_odds) in models.iter().zip(sums).zip(&mut all) {
            *ln_odds = model.with(sum).clamp(-MOST_LN_ODDS, MOST_LN_ODDS);
        }
        all
    }

    /// ln of the odds, where trees have given so many thousandths.
    fn with(&self, thousandths: i32) -> f64 {
        self.bias + f64::from(thousandths) / THOUSAND
    }

    fn is_plain(&self, thousandths: i32) -> bool {
        f64::from(thousandths) < (PLAIN_LN_ODDS - self.bias) * THOUSAND
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
            let leaves = leaves.ok_or(fault("sixteen whole numbers"))?;
            model.plant(asked, leaves).ok_or(fault("no more questions than there is room for"))?;
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
        let [ln_odds] = dispatch!(Level::new(), simd => Boosted::ln_odds(simd, [model], &inputs));
        ln_odds
    }

    #[test]
    fn trees_that_ask_much_add_up() {
        // Every input is as high as its number, and every second tree asks for more.
        let mut text = String::from("give 0\n");
        for tree in 0..400 {
            let (input, more) = (tree % 200, tree / 200);
            text += &format!("{input}>{} 0>1 0>1 0>1|", input + more - 1);
            text += "0 0 0 0 0 0 0 0 10 0 0 0 0 0 0 0\n";
        }
        let inputs: Vec<f64> = (0..200).map(f64::from).collect();
        let models = read(&text).unwrap();
        assert!((ln_odds(&models[0].1, &inputs) - 2.0).abs() < 1e-9);
    }

    #[test]
    fn no_more_is_asked_than_there_is_room_for() {
        let leaves = "0 ".repeat(16);
        let mut text = String::from("give 0\n");
        for input in 0..=255 {
            text += &format!("{input}>0 {input}>1 {input}>2 {input}>3|{leaves}\n");
        }
        assert!(read(&text).is_ok());
        text += &format!("0>4 0>5 0>6 0>7|{leaves}\n");
        assert!(read(&text).is_ok());
        text += &format!("0>4 0>5 0>6 0>8|{leaves}\n");
        let expected = "no more questions than there is room for";
        assert_eq!(read(&text).err(), Some(Fault { line: 259, expected }));
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
